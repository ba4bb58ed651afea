"""The gears of a report as a table, at most 80 columns wide."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby, islice

from buildcheck.model.quantities import Interval
from buildcheck.model.report import Gear, Gears
from buildcheck.report.lines import WIDTH, TextLine, head

_LABEL = 8
_Column = tuple[Interval | None, int | None]


def gear_lines(gears: Gears) -> Iterator[TextLine]:
    """The gears before and after, if the change alters them: lines for each ring, a column for each sprocket."""
    if gears.before == gears.after:
        return
    yield from head("Gears")
    yield TextLine("Metres on the road for one turn of the cranks, and the gain ratio.")
    for title, table in (("Before", gears.before), ("After", gears.after)):
        yield TextLine(f"{title}:" if table else f"{title}: none", "strong")
        columns = {(gear.sprocket_teeth, gear.hub_gear): None for gear in table}
        width = 1 + max((len(text) for gear in table for text in _cells(gear)), default=0)
        for some in _batches(columns, max(1, (WIDTH - _LABEL) // max(width, 1))):
            yield from _ring_lines([gear for gear in table if (gear.sprocket_teeth, gear.hub_gear) in some], width)


def _batches(columns: Iterable[_Column], size: int) -> Iterator[tuple[_Column, ...]]:
    rest = iter(columns)
    while batch := tuple(islice(rest, size)):
        yield batch


def _ring_lines(table: list[Gear], width: int) -> Iterator[TextLine]:
    for number, (ring, group) in enumerate(groupby(table, key=lambda gear: gear.ring_teeth)):
        cells = [_cells(gear) for gear in group]
        rows = zip(("sprocket", "hub gear", f"ring {_teeth(ring)}", "gain"), zip(*cells, strict=True), strict=True)
        for row, (label, texts) in enumerate(rows):
            if (row > 1 or number == 0) and any(texts):
                yield TextLine(f"{label:<{_LABEL}}" + "".join(f"{cell:>{width}}" for cell in texts))


def _cells(gear: Gear) -> tuple[str, str, str, str]:
    hub = "" if gear.hub_gear is None else str(gear.hub_gear)
    return _teeth(gear.sprocket_teeth), hub, _rounded(gear.development_m, 2), _rounded(gear.gain_ratio, 1)


def _teeth(size: Interval | None) -> str:
    return "?" if size is None else str(size)


def _rounded(value: Interval | None, digits: int) -> str:
    if value is None:
        return "?"
    low, high = f"{value.low:.{digits}f}", f"{value.high:.{digits}f}"
    return low if low == high else f"{low}..{high}"
