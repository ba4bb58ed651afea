"""What the rules about lines share: the way of each line with what it rests on, and what must be threaded."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from buildcheck.fit import tape
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Fact
from buildcheck.fit.lines import Route
from buildcheck.fit.passages import Way
from buildcheck.fit.places import device_opening, mount_facts, place_facts
from buildcheck.fit.tape import Tape, Threaded, each
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin


def laid_lines(context: Context) -> Iterator[tuple[str, Route]]:
    """The way of each line that has one, one by one."""
    yield from _one_by_one(context.view, context.routing.routes)


def all_lines(context: Context) -> Iterator[tuple[str, Route]]:
    """As `laid_lines`, and those whose end has no place yet, by their shortest possible way."""
    yield from _one_by_one(context.view, all_routes(context))


def _one_by_one(view: View, routes: Mapping[str, Route]) -> Iterator[tuple[str, Route]]:
    return ((name, routes[name]) for name in each_line(view, sorted(routes)))


def each_line(view: View, names: Iterable[str]) -> Iterator[str]:
    """Lines, one by one, each with its way looked at. The ways in all parts are the same for all: read once."""
    if tape.running() is None:
        yield from names
        return
    sought = tuple(filter(tape.is_sought, names))
    if sought:
        read_ways(view, ())
    for name in each(sought):
        tape.read(_size_facts(view, name))
        yield name


def read_ways(view: View, lines: Iterable[str]) -> None:
    """The ways of these lines were looked at: they rest on the ways in all parts, and on the lines themselves."""
    tape.read(_passages_facts(view))
    for line in lines:
        tape.read(_size_facts(view, line))


def _passages_facts(view: View) -> tuple[Fact, ...]:
    return view.layout.recall("passages-facts", lambda: _find_passages_facts(view))


def _find_passages_facts(view: View) -> tuple[Fact, ...]:
    """What is known of the ways in every part that could offer one."""
    return tuple(
        _passages_fact(spot)
        for spot in view.bike.main_spots() if spot.part.passages is not None
    )  # fmt: skip


def _passages_fact(spot: Fitted) -> Fact:
    names = tuple(passage.id for passage in spot.part.passages or ()) or ("none",)
    return Fact(spot.home, "passages", names, "", Origin.STATED, spot.written_at("passages"))


def _size_facts(view: View, line: str) -> tuple[Fact, ...]:
    return view.layout.recall(("line-facts", line), lambda: _find_size_facts(view, line))


def _find_size_facts(view: View, line: str) -> tuple[Fact, ...]:
    """What is known of the line's own thickness and bend, and of where the things at its ends sit."""
    spot = view.bike[line]
    ends = (view.bike.get(end) for end in (spot.start, spot.end))
    seats = (fact for end in ends if end is not None for fact in _seat_facts(view, end))
    return (view.word(line, "outer_mm"), view.word(line, "bend_radius_min_mm"), *seats)


def _seat_facts(view: View, rider: Fitted) -> Iterator[Fact]:
    """How a thing is mounted and on what; for one without a place, all that it could sit on or that sits there."""
    if not rider.part.mounts:  # the line leads to it wherever it is; one that could be mounted may lead elsewhere
        if rider.part.kind in view.standards.kinds_that_hang("accessory", "wiring"):
            yield from mount_facts(rider)
        return
    carrier = view.bike.get(rider.on)
    if carrier is not None and device_opening(view, rider.position) is not None:
        yield from (*mount_facts(rider), *place_facts(carrier))
        return
    families = {mount.type.partition(".")[0] for mount in rider.part.mounts}
    for spot in view.bike.main_spots():
        if any(place.type.partition(".")[0] in families for place in spot.part.places):
            yield from place_facts(spot)
        if any(mount.type.partition(".")[0] in families for mount in spot.part.mounts):
            yield from mount_facts(spot)


def all_routes(context: Context) -> dict[str, Route]:
    """The routes of all lines; a line whose end has no place yet by its shortest possible one."""
    return context.view.layout.recall("all-routes", lambda: _routes_of(context))


def _routes_of(context: Context) -> dict[str, Route]:
    routes = dict(context.routing.routes)
    for name, choices in context.routing.homeless.items():
        if choices:
            routes[name] = min(
                choices, key=lambda route: (sum(step.gap is not None for step in route.steps), route.length.least)
            )
    return routes


def must_be_threaded(context: Context, name: str) -> bool:
    """Does the change mean that this line goes through a closed bore anew?"""
    if context.before is None:
        tape.asked(Threaded(name))
        return False
    own = Tape()
    with tape.recording(own):
        threaded = _must_be_threaded(context, name)
    tape.add(own)
    tape.asked(Threaded(name, frozenset(own.facts)))
    return threaded


def _must_be_threaded(context: Context, name: str) -> bool:
    route = all_routes(context).get(name)
    if route is None:
        return False
    read_ways(context.view, (name,))
    closed = [way for way in route.ways if way.closed]
    if closed and context.first_changed(name, *(way.spot.home for way in closed)) is not None:
        return True
    return any(not _was_in(context, name, way) for way in closed)


def _was_in(context: Context, name: str, way: Way) -> bool:
    old = context.before.routing.routes.get(name) if context.before is not None else None
    return old is not None and any(way.id == other.id for other in old.ways)
