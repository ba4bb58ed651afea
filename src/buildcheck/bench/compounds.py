"""What the joints that a job makes, or only opens again, take between their sides: beside what its operations name."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildcheck.bench.opened import Done, opened_places
from buildcheck.bench.torques import touches_of
from buildcheck.fit.contacts import ANTI_SEIZE, CARBON_PASTE, Touch, compound_between, materials
from buildcheck.fit.context import Context
from buildcheck.model.report import ConsumableUse

# What is bought for it, with the amount that one joint takes: our choice. Grease is told by the operations.
TAKES = {
    CARBON_PASTE: ("carbon assembly paste", 1.0, "g"),
    ANTI_SEIZE: (ANTI_SEIZE, 1.0, "g"),
    "thread-locker": ("medium threadlocker", 0.2, "ml"),
}


def compounds_of(context: Context, operations: Iterable[Done]) -> tuple[ConsumableUse, ...]:
    """The compounds, once for each joint that one of these operations opens or closes."""
    found = []
    for touch in dict.fromkeys(_opened(context, operations)):
        one, other, _ = materials(context.view, touch)
        compound, _ = compound_between(touch.row, (one or "", other or ""))
        if compound in TAKES:
            found.append(ConsumableUse(*TAKES[compound]))
    return tuple(found)


def _opened(context: Context, operations: Iterable[Done]) -> Iterator[Touch]:
    view = context.view
    for place in opened_places(context, list(operations), view.standards.fasteners):
        if not place.doubts:
            yield from (touch for touch in touches_of(view, place.spot, place.row) if touch.row.how is not None)
