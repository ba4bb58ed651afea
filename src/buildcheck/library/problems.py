"""What is wrong with a file someone wrote, and exactly where."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

Stage = Literal["syntax", "schema", "meaning"]

_LONGEST_SHOWN = 60
# Control characters, and what breaks lines or turns the direction of writing without being seen.
_UPSETTING = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


@dataclass(frozen=True, slots=True)
class FileLine:
    """A point in a file; line and column count from 1."""

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.at_line}:{self.column}"

    @property
    def at_line(self) -> str:
        """The file and the line."""
        return f"{self.file}:{self.line}"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing that is wrong, at one place."""

    place: FileLine
    text: str
    stage: Stage

    def __str__(self) -> str:
        return f"{self.place}: {self.stage}: {self.text}"


class InputError(Exception):
    """A file cannot be used; carries every problem found in it."""

    problems: tuple[Problem, ...]

    def __init__(self, problems: Iterable[Problem]) -> None:
        self.problems = tuple(problems)
        super().__init__(self.problems)  # so that the error survives pickling

    def __str__(self) -> str:
        return "\n".join(printable(str(problem)) for problem in self.problems)


def shown(text: str) -> str:
    """The text in double quotes, shortened, with nothing that could upset a terminal or split a line."""
    if len(text) > _LONGEST_SHOWN:
        text = text[: _LONGEST_SHOWN - 1] + "…"
    escaped = "".join("\\" + char if char in '"\\' else char for char in text)
    return f'"{printable(escaped)}"'


def printable(text: str) -> str:
    """The text with every character that could upset a terminal, or split a line, written as an escape."""
    return text if text.isprintable() else "".join(c if c.isprintable() else ascii(c)[1:-1] for c in text)


def harmless(text: str, kept: str = "\n\t") -> str:
    """The text with every character that could upset a terminal, but for those that are `kept`, as an escape."""
    return _UPSETTING.sub(lambda found: found[0] if found[0] in kept else ascii(found[0])[1:-1], text)


def did_you_mean(word: str, known: Iterable[str]) -> str:
    """` — did you mean "x"?` for the nearest known word, or nothing when none is near."""
    by_shape: dict[str, str] = {}
    for candidate in sorted(known):  # sorted, so that the answer does not depend on the order of a set
        if candidate != word:
            by_shape.setdefault(_shape(candidate), candidate)
    near = difflib.get_close_matches(_shape(word), by_shape, n=1, cutoff=0.6)
    return f" — did you mean {shown(by_shape[near[0]])}?" if near else ""


def _shape(word: str) -> str:
    return word.casefold().replace("_", "-")
