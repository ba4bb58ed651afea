"""Lines that have to be threaded through a part whichever way they take: the search need not learn way by way."""

from __future__ import annotations

from buildcheck.candidates.features import WaysAtOpening, ways_at
from buildcheck.fit.context import Context
from buildcheck.fit.places import device_opening
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.remedies import CHANGED, Explanation, Features

_NOTHING: Features = frozenset()
# What `ways_at` tells of a part through which a line at that opening has to be threaded.
_TO_THREAD = ("closed", "unknown")


def forced_through(context: Context, line: Fitted, *, is_new: bool = False) -> Explanation | None:
    """What is enough for a line to be threaded through a changed part at one of its ends; None if nothing is.

    A new line is led through any part there, changed or not.

    Where all the ways at an opening are closed ones of changed parts, the line goes through one of these, or has
    no way at all and blocks. A part of which nobody knows its ways may have a closed one anywhere.
    """
    key = ("forced", line.position, is_new)
    return context.view.local.recall(key, lambda: _forced_through(context, line, is_new))


def _forced_through(context: Context, line: Fitted, is_new: bool) -> Explanation | None:
    for end, other in ((line.start, line.end), (line.end, line.start)):
        opening = None if end is None else device_opening(context.view, end)
        if end is None or other is None or opening is None:
            continue
        ways = [(at.position, way) for at in _that_may_lead(context) if (way := ways_at(at.part, opening)) != "none"]
        if ways and all(way in _TO_THREAD and (is_new or at in context.changed) for at, way in ways):
            return _needs(context, line, opening, [at for at, _ in ways], (end, other))
    return None


def _needs(context: Context, line: Fitted, opening: str, through: list[str], ends: tuple[str, str]) -> Explanation:
    at: Features = frozenset({WaysAtOpening(opening)})
    spots = (spot.position for spot in _that_may_lead(context))
    needs: dict[str, Features] = dict.fromkeys([*empty_ways(context.view), *spots], at)
    needs.update(dict.fromkeys(through, at | {CHANGED}))
    for end in ends:
        for position in _home(context, end):
            needs[position] = needs.get(position, _NOTHING) | {"mounts", "places"}
    needs[line.position] = needs.get(line.position, _NOTHING) | {CHANGED}
    return needs


def empty_ways(view: View) -> list[str]:
    """The empty positions at which a part could give lines a way."""
    rows = [row for row in view.standards.positions.values() if row.ways]
    names = (view.free_name(row.id) if row.many else row.id for row in rows)
    return [name for name in names if name not in view.bike]


def _that_may_lead(context: Context) -> tuple[Fitted, ...]:
    """The parts that could give lines a way where they are."""
    return context.view.local.recall("may lead", lambda: _that_may_lead_anew(context))


def _that_may_lead_anew(context: Context) -> tuple[Fitted, ...]:
    homes = {spot.home for name, spot in context.bike.fitted.items() if context.view.row(name).ways}
    return tuple(spot for spot in context.bike.main_spots() if spot.part.passages or spot.home in homes)


def _home(context: Context, end: str) -> list[str]:
    """The part at which a line ends, and the one that carries it, where it must have a place."""
    spot = context.bike.get(end)
    if spot is None:
        return []
    carrier = context.bike.get(spot.on) if spot.part.mounts else None
    return [spot.home] if carrier is None else [spot.home, carrier.home]
