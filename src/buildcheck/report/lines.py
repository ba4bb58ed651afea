"""Lines of text that all reports are made of: 80 columns, readable without colour."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import NamedTuple

WIDTH = 80


class TextLine(NamedTuple):
    """One line of the report with the name of its style."""

    text: str
    style: str = "plain"


def wrapped(text: str, indent: int = 0, hang: int | None = None, style: str = "plain") -> Iterator[TextLine]:
    """A paragraph, its first line indented by `indent` and the others by `hang`."""
    first, later = " " * indent, " " * (indent if hang is None else hang)
    for row in textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=later, break_long_words=False, break_on_hyphens=False
    ):
        yield TextLine(row, style)


def head(text: str) -> Iterator[TextLine]:
    """A heading with a blank line before it."""
    yield TextLine("")
    yield TextLine(text, "head")
    yield TextLine("-" * len(text), "head")


def money(value: float | None) -> str:
    """A price in words."""
    return "price unknown" if value is None else f"EUR {value:.2f}"


def hours(minutes: float) -> str:
    """A time in words."""
    whole, rest = divmod(round(minutes), 60)
    return f"{whole} h {rest:02d} min"
