"""What is wrong with a file someone wrote, and exactly where."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

Stage = Literal["syntax", "schema", "meaning"]

_LONGEST_SHOWN = 60
_MOST_WORDS = 8  # as many as are read before one looks elsewhere: our choice
# Control characters, and what breaks lines or turns the direction of writing without being seen.
_UPSETTING = re.compile("[\x00-\x1f\x7f-\x9f\u2028-\u202e\u2066-\u2069]")


# As messages name the argument of `buildcheck parts fits`; options are named as they are typed.
TYPED_POSITION = "POSITION"


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
        # What was typed is in sight: there is no line to look up.
        if self.place.file.startswith("--") or self.place.file == TYPED_POSITION:
            return f"{self.place.file}: {self.text}"
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


def words_there_are(word: str, known: Mapping[str, Sequence[str]]) -> str:
    """`; there are a (also A), b and 3 more`, the nearest first: words with the names that the trade has for them."""
    if not known:
        return ""

    def nearness(item: tuple[str, Sequence[str]]) -> tuple[float, str]:
        own, others = item
        near = max(difflib.SequenceMatcher(None, word.casefold(), name.casefold()).ratio() for name in (own, *others))
        return -near, own

    ordered = sorted(known.items(), key=nearness)
    told = [f"{own} (also {', '.join(also[:2])})" if also else own for own, also in ordered[:_MOST_WORDS]]
    more = len(ordered) - len(told)
    return f"; there are {', '.join(told)}{f' and {more} more' if more else ''}"


def _shape(word: str) -> str:
    return word.casefold().replace("_", "-")
