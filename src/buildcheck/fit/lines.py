"""The way of each line over the passages: where it runs, what stands in it, how long it has to be."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Mapping
from dataclasses import dataclass, field
from functools import partial
from itertools import islice, product
from math import inf
from typing import NamedTuple

from buildcheck.fit.facts import Amount, Test
from buildcheck.fit.line_graph import LineGraph, Step
from buildcheck.fit.passages import Way, build_passages, way_length
from buildcheck.fit.places import device_opening, free_places
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted

LINE_KINDS = ("hose", "housing", "wire")
# Beyond this many ways of laying the lines the search for a packing gives up and says so.
_MOST_LAYOUTS = 400


class Route(NamedTuple):
    """The way of one line, certain where one is certainly open.

    `length` is what this way takes; `least` what the shortest way takes that is not known to be closed, so
    that a line shorter than it is too short whatever is still to be found out.
    """

    line: Fitted
    start: str
    end: str
    steps: tuple[Step, ...]
    length: Amount
    least: Amount
    other_layouts_unknown: bool = False

    @property
    def needed(self) -> Amount:
        """The length that the line must have: at least by any way, at most by this one if it is certainly open."""
        certain = all(step.open_to_line.yes for step in self.steps)
        high = self.length.high if certain else inf
        return Amount(min(self.least.low, self.length.low), high, (*self.length.facts, *self.least.facts))

    @property
    def ways(self) -> tuple[Way, ...]:
        """The passages on it."""
        return tuple(step.way for step in self.steps if step.way is not None)

    @property
    def blocked(self) -> bool:
        """True where no way at all is open to the line."""
        return any(step.open_to_line.no for step in self.steps)


@dataclass(frozen=True, slots=True)
class Routing:
    """All lines of a bike. `homeless` are lines with an end at a thing that has no place to live."""

    routes: dict[str, Route] = field(default_factory=dict)
    disconnected: tuple[Fitted, ...] = ()
    homeless: dict[str, tuple[Route, ...]] = field(default_factory=dict)


def _route(view: View, graph: LineGraph, start: str, end: str, steps: list[Step]) -> Route:
    possible = graph.shortest_possible(start, end)
    length = _length(view, steps)
    least = _length(view, possible) if possible is not None else length
    return Route(graph.line, start, end, tuple(steps), length, least)


def _length(view: View, steps: list[Step]) -> Amount:
    """What a way takes; a part of which nobody knows whether it has a way may take any length.

    Through a part that has no way a line would need at least the part's height in the stack.
    """
    length = Amount(0.0, 0.0)
    for step in steps:
        if step.way is None or not step.way.known:
            low = _height(view, step.gap) if step.gap is not None else Amount(0.0, 0.0)
            length = length + Amount(low.low, inf, (*low.facts, *step.bore.facts))
        else:
            length = length + way_length(view, step.way)
    return length


def _height(view: View, position: str) -> Amount:
    for attribute in ("height_mm", "stack_mm"):
        if view.row(position).stacked and position != "stem" and view.has(position, attribute):
            return view.amount(position, attribute)
    return Amount(0.0, 0.0)


def _openings(view: View, position: str | None) -> list[str]:
    opening = None if position is None else device_opening(view, position)
    if opening is not None:
        return [opening]
    spot = view.bike.get(position)
    if spot is None:
        return []
    return sorted({place.opening for _, place in free_places(view, spot) if place.opening is not None})


def find_routes(view: View) -> Routing:
    """Lay every line, then see that those which share a bore fit through it together."""
    lines = sorted(view.of_kind(LINE_KINDS), key=lambda spot: spot.position)
    ends = {line.position: (_openings(view, line.start), _openings(view, line.end)) for line in lines}
    homeless = {line.position for line in lines if not (_has_place(view, line.start) and _has_place(view, line.end))}
    bearers = carriers(view)
    layout = tuple(sorted((spot.position, id(spot.part), spot.on or "") for spot in bearers))
    laid = tuple(
        (line.position, id(line.part), *map(tuple, ends[line.position]), line.position in homeless) for line in lines
    )
    held = [spot.part for spot in (*bearers, *lines)]
    return view.memo.recall(("routing", layout, laid), held, lambda: _find_routes(view, lines, ends, homeless, layout))


def _has_place(view: View, position: str | None) -> bool:
    return position is None or device_opening(view, position) is not None


Ends = dict[str, tuple[list[str], list[str]]]


def _find_routes(view: View, lines: list[Fitted], all_ends: Ends, homeless: set[str], layout: Hashable) -> Routing:
    passages = view.memo.recall(("passages", layout), None, lambda: build_passages(view))
    routing, lost = Routing({}, (), {}), []
    graphs = {line.position: partial(LineGraph, view, passages, line, layout) for line in lines}
    for line in lines:
        starts, ends = all_ends[line.position]
        key = ("routes", line.position, id(line.part), tuple(starts), tuple(ends), layout)
        make = partial(_between, view, graphs[line.position], starts, ends)
        found = view.memo.recall(key, line.part, make)
        if line.position in homeless and starts and ends:
            routing.homeless[line.position] = found
        elif found:
            routing.routes[line.position] = found[0]
        elif starts and ends:
            lost.append(line)
    _lay_together(view, routing, graphs)
    return Routing(routing.routes, tuple(lost), routing.homeless)


LineGraphs = Mapping[str, Callable[[], LineGraph]]


def _between(view: View, make: Callable[[], LineGraph], starts: list[str], ends: list[str]) -> tuple[Route, ...]:
    """The cheapest way for each pair of openings that the line's ends may come to sit at."""
    graph = make()
    ways = ((start, end, graph.cheapest(start, end)) for start, end in product(starts, ends))
    return tuple(_route(view, graph, start, end, steps) for start, end, steps in ways if steps is not None)


def carriers(view: View) -> list[Fitted]:
    """The parts that give lines a way, or could."""
    return [spot for spot in view.bike.fitted.values() if spot.part.passages or view.row(spot.position).ways]


def shared_bores(routes: dict[str, Route]) -> list[tuple[Way, list[Fitted]]]:
    """Each closed passage with the lines in it, where there are two or more."""
    inside: dict[str, tuple[Way, list[Fitted]]] = {}
    for _, route in sorted(routes.items()):
        for way in route.ways:
            if way.closed and way.known:
                inside.setdefault(way.id, (way, []))[1].append(route.line)
    return [pair for _, pair in sorted(inside.items()) if len(pair[1]) > 1]


def bore_test(view: View, way: Way, lines: list[Fitted]) -> Test:
    """Do these lines fit through one bore together?"""
    parts = [way.spot.part, *(line.part for line in lines)]
    key = ("bore", way.id, *((line.position, id(line.part)) for line in lines), id(way.spot.part))
    return view.memo.recall(
        key, parts, lambda: way.holds(tuple(view.amount(line.position, "outer_mm") for line in lines))
    )


def _crowding(view: View, routes: dict[str, Route]) -> tuple[int, int, frozenset[str]]:
    """How many shared bores are certainly too full, how many may be, and the lines in them."""
    tests = [(bore_test(view, way, lines), lines) for way, lines in shared_bores(routes)]
    full = [lines for test, lines in tests if test.no]
    doubtful = [lines for test, lines in tests if not test.no and not test.yes]
    return len(full), len(doubtful), frozenset(line.position for lines in (*full, *doubtful) for line in lines)


def _lay_together(view: View, routing: Routing, graphs: LineGraphs) -> None:
    """Where shared bores are too full, look for a layout in which all lines pass.

    All lines that could come to lie beside the crowded ones are laid again with them. The layout with the
    fewest full bores is kept, then the one with the fewest in doubt; if there are too many layouts to try
    them all, the routes say so, and what does not pass is then not proven.
    """
    best = _crowding(view, routing.routes)
    if not (best[0] or best[1]):
        return
    choices = _choices(routing, graphs, best[2])
    tried = 0
    kept = dict(routing.routes)
    for layout in product(*choices.values()):
        tried += 1
        if tried > _MOST_LAYOUTS or best[:2] == (0, 0):
            break
        trial = dict(routing.routes)
        for name, steps in zip(choices, layout, strict=True):
            old = routing.routes[name]
            trial[name] = old._replace(steps=tuple(steps), length=_length(view, steps))
        rank = _crowding(view, trial)
        if rank[:2] < best[:2]:
            best, kept = rank, trial
    if best[0] and tried > _MOST_LAYOUTS:
        kept = {name: route._replace(other_layouts_unknown=True) for name, route in kept.items()}
    routing.routes.update(kept)


def _choices(routing: Routing, graphs: LineGraphs, crowded: frozenset[str]) -> dict[str, list[list[Step]]]:
    """The open ways of the crowded lines, and of all lines that could share a bore with one of them."""
    every = {
        name: list(islice(graphs[name]().all_open(route.start, route.end), _MOST_LAYOUTS))
        for name, route in routing.routes.items() if not route.blocked
    }  # fmt: skip
    bores = {
        name: {step.way.id for steps in ways for step in steps if step.way is not None and step.way.closed}
        for name, ways in every.items()
    }
    together = {name for name in crowded if name in every}
    while more := {n for n in every if n not in together and any(bores[n] & bores[other] for other in together)}:
        together |= more
    return {name: every[name] for name in sorted(together)}
