"""The precedence network of activities: which has to be done before which, by phase, by name, by place on the bike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence, Set

from buildcheck.fit.context import Build, Context
from buildcheck.fit.graphs import reached
from buildcheck.work.activities import Activity
from buildcheck.work.disturbances import hiders, holders
from buildcheck.work.schedule import Wait

PHASES = ("strip", "prepare", "fit", "lines", "settings", "test", "finish")
# Everything of an earlier phase is done before these begin: what is set and tested is there, tape hides it.
_BARRIERS = ("settings", "test", "finish")


def rank_of(activity: Activity) -> tuple[int, str, str]:
    """What goes first of what could: by phase, then by place and name."""
    return PHASES.index(activity.operation.phase), activity.position or "", activity.operation.id


Order = Mapping[str, Set[str]]


def precedence_network(activities: Sequence[Activity], context: Context) -> Order:
    """For each operation those that must be done before it."""
    on_bike = {activity.position for activity in activities}
    strip = _reach(order_of_parts(context.before), on_bike) if context.before is not None else set()
    fit = _reach(order_of_parts(context), on_bike)
    return {
        second.id: {
            first.id for first in activities if first.id != second.id and _before(first, second, strip, fit)
        }
        for second in activities
    }  # fmt: skip


Pairs = set[tuple[str | None, str | None]]


def _reach(graph: Order, positions: set[str | None]) -> Pairs:
    """Each pair of these positions of which the second must still be on while the first is."""
    return {(name, other) for name in positions if name is not None for other in reached(graph, name) & positions}


def _before(first: Activity, second: Activity, strip: Pairs, fit: Pairs) -> bool:
    """Must `first` be done before `second`? By phase at the barriers, by name, by place on the bike."""
    if first.operation.id in second.operation.proven_by and _meet(first, second):
        return True
    a, b = PHASES.index(first.operation.phase), PHASES.index(second.operation.phase)
    if a != b:
        same_place = first.position is not None and first.position == second.position
        barrier = second.operation.phase in _BARRIERS or first.operation.phase == "strip"
        named = first.operation.id in second.operation.after and _meet(first, second)
        return a < b and (same_place or barrier or named or (second.position, first.position) in fit)
    if first.operation.id in second.operation.after and _meet(first, second):
        return True
    if first.operation.leads != second.operation.leads and first.position == second.position is not None:
        return first.operation.leads
    if first.operation.phase == "strip":
        return (first.position, second.position) in strip
    return first.operation.phase == "fit" and (second.position, first.position) in fit


def _meet(first: Activity, second: Activity) -> bool:
    """Are both about one position, or one of them about the whole job?"""
    return first.position == second.position or None in (first.position, second.position)


def straight_before(earlier: Order, name: str) -> set[str]:
    """What must be done right before an operation, of all that must be done before it."""
    return set(earlier[name]).difference(*(earlier[other] for other in earlier[name]))


def waits_of(earlier: Order, by_id: Mapping[str, Activity]) -> dict[str, Wait]:
    """What has to stand before others may begin, of which is known what all has to be done before them."""
    found = {}
    for name, activity in by_id.items():
        if activity.operation.waits_min:
            later = (by_id[other] for other in earlier if name in earlier[other])
            waiting = frozenset(other.id for other in later if other.operation.id in activity.operation.waited_by)
            found[name] = Wait(activity.operation.waits_min, waiting)
    return found


def order_of_parts(build: Build) -> Order:
    """For each part those that must be on while it is: its support, what it holds, what its line runs through.

    Stripping follows these steps, fitting goes against them. A one-piece part is one node.
    """
    fitted = build.bike.fitted
    needs: dict[str, set[str]] = {name: set() for name in fitted}
    for name, spot in fitted.items():
        if spot.on is not None and spot.on in fitted:
            needs[name].add(spot.on)
    for name in fitted:
        for holder in holders(build, name):
            needs[name].discard(holder)  # the wheel comes out first, then the rotor off the wheel
            needs[holder].add(name)
        for row_id in build.view.row(name).also_on:
            needs[name].update(build.view.of_row(row_id))
    for name, route in build.routing.routes.items():
        needs[name].update(end for end in (route.line.start, route.line.end) if end is not None and end in fitted)
        needs[name].update(way.spot.home for way in route.ways)
        for end in (route.line.start, route.line.end):
            for hider in hiders(build, end) if end is not None and end in fitted else ():
                needs[hider].add(name)  # it is plugged in before that goes on
    whole: dict[str, set[str]] = {}
    for name, others in needs.items():
        whole.setdefault(fitted[name].home, set()).update(fitted[other].home for other in others)
    reach = {name: reached(whole, name) for name in whole}
    # What holds each other has no order of its own.
    return {name: {other for other in others if name not in reach[other]} for name, others in whole.items()}


