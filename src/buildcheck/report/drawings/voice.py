"""What stands on a drawing in words: labels, positions and sizes in the reader's language."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from buildcheck.model.levels import Level
from buildcheck.model.pictures import Span

Say = Callable[[str], str]
Name = Callable[[str], str]


@dataclass(frozen=True)
class Voice:
    """Every visible word goes through here.

    `say` gives the words of a label, with placeholders in braces; `name` those of a position; `word` a word of a
    vocabulary in the reader's language.
    """

    say: Say
    name: Name
    word: Name = str

    def tell(self, label: str, **values: object) -> str:
        """The words of `drawing-` + label with its placeholders filled in."""
        return self.say(f"drawing-{label}").format(**values)

    def level(self, level: Level | None) -> str:
        """A level, or that nothing was found."""
        return self.tell("level-none" if level is None else f"level-{level.value}")

    def position(self, position: str, row: str) -> str:
        """A position; one without a row in the standards by its id."""
        return self.name(position) if row else position.replace("-", " ")

    def size(self, span: Span, unit: bool = True) -> str:
        """A size in mm as far as it is known."""
        if span.unknown:
            return self.tell("unknown")
        if span.low_mm is None:
            text = self.tell("at-most", size=self.number(span.high_mm))
        elif span.high_mm is None:
            text = self.tell("at-least", size=self.number(span.low_mm))
        elif span.exact_mm is None:
            text = self.tell("from-to", low=self.number(span.low_mm), high=self.number(span.high_mm))
        else:
            text = self.number(span.exact_mm)
        return f"{text} mm" if unit else text

    def number(self, value: float | None) -> str:
        """A number with at most one decimal, with the language's own sign before it."""
        text = f"{round(value or 0.0, 1):g}"
        return text.replace(".", self.tell("decimal-sign"))
