"""A text of so many lines at most: each section in several forms, and what is made shorter first."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from buildcheck.library.problems import printable
from buildcheck.report.lines import WIDTH, TextLine

MOST_LINES = 30
ALL = "--all"


def within_budget(forms: Mapping[str, Sequence[Sequence[TextLine]]], order: Sequence[str]) -> list[TextLine]:
    """The sections one below the other, in the order of `forms`, at most MOST_LINES in all.

    Each is given in forms from the whole one to the shortest. `order` names the sections as often as one of them may
    be made shorter by one form, the least important first; if that is not enough, all go to their shortest, which
    have to have room together.
    """
    at, steps = dict.fromkeys(forms, 0), [*order, *(name for name in forms for _ in forms[name])]
    for name in steps:
        if _length(forms, at) <= MOST_LINES:
            break
        at[name] = min(at[name] + 1, len(forms[name]) - 1)
    # A form may have been shorter than was needed: the room that is left goes to what was made shorter last.
    for name in reversed(steps):
        while at[name] and _length(forms, {**at, name: at[name] - 1}) <= MOST_LINES:
            at[name] -= 1
    return [line for name, form in at.items() for line in forms[name][form]]


def _length(forms: Mapping[str, Sequence[Sequence[TextLine]]], at: Mapping[str, int]) -> int:
    return sum(len(forms[name][form]) for name, form in at.items())


def paragraph(
    text: str, indent: int = 0, hang: int | None = None, most: int = 99, style: str = "plain"
) -> list[TextLine]:
    """A paragraph of at most `most` lines of 80 columns, whatever is in it; one that is cut ends with `…`."""
    words, rows = [printable(word) for word in text.split()], [""]
    later = indent if hang is None else hang
    for word in words:
        room = WIDTH - (indent if len(rows) == 1 else later)
        if rows[-1] and len(rows[-1]) + 1 + len(word) <= room:
            rows[-1] = f"{rows[-1]} {word}"
            continue
        if rows[-1]:
            rows.append("")
        while len(word) > WIDTH - later:  # an id longer than a line
            rows[-1], word = word[: WIDTH - max(indent, later)], word[WIDTH - max(indent, later) :]
            rows.append("")
        rows[-1] = word
    if len(rows) > most:
        rows = rows[:most]
        room = WIDTH - (indent if most == 1 else later)
        rows[-1] = _cut(rows[-1], room)
    margins = [" " * indent, *([" " * later] * (len(rows) - 1))]
    return [TextLine(f"{margin}{row}", style) for margin, row in zip(margins, rows, strict=True)]


def _cut(row: str, room: int) -> str:
    """A row that ends with `…`, at a word where one ends near."""
    if len(row) + 2 <= room:
        return f"{row} …"
    row = row[: room - 2]
    return f"{row.rpartition(' ')[0] or row} …"


def headed(title: str, lines: Sequence[TextLine]) -> list[TextLine]:
    """A section with a blank line and its title above it; nothing where it has no lines."""
    return [TextLine(""), TextLine(title, "head"), *lines] if lines else []


def listed(
    items: Sequence[str], title: str, shape: tuple[int, int], what: str, *, hang: int = 2, beside: int = 0
) -> list[TextLine]:
    """A list below its title: of so many items at most and of so many lines each at most, which is its `shape`.

    What finds no room is counted in a last line, with `beside` things that were never among the items.
    """
    most_items, most_lines = shape
    some = items[:most_items]
    lines = [line for item in some for line in paragraph(item, 0, hang, most_lines)]
    left = len(items) - len(some) + beside
    if left:
        lines += paragraph(f"… {left} more {what if left == 1 else plural(what)}: {ALL}")
    return headed(title, lines) if title else lines


def plural(what: str) -> str:
    """More than one of a thing whose name has no other plural than with an s."""
    return what if what.startswith("to ") else f"{what}s"


def numbered(number: int, what: str) -> str:
    """`1 cause`, `4 causes`."""
    return f"{number} {what if number == 1 else plural(what)}"
