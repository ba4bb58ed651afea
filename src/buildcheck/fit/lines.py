"""The way of each line over the passages: where it runs, what stands in it, how long it has to be."""

from __future__ import annotations

from collections.abc import Callable, Collection, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property, partial
from itertools import islice, product
from math import inf
from typing import NamedTuple

from buildcheck.fit import tape
from buildcheck.fit.facts import Amount, Test
from buildcheck.fit.line_graph import LineGraph, OpenWay, WayStep, fact_keys, line_key, way_over
from buildcheck.fit.passages import Passages, Way, build_passages, way_length, way_lengths, ways_token
from buildcheck.fit.places import device_opening, free_places
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.parts.lines import Line

LINE_KINDS = tuple(kind for kind, record in PART_KINDS.items() if issubclass(record, Line))
# How much of the stack a part takes, whichever of them it has.
_HEIGHTS = ("height_mm", "stack_mm")
# Beyond this many ways of laying the lines the search for a packing gives up and says so.
_MOST_LAYOUTS = 400


@dataclass(frozen=True, eq=False)
class Route:
    """The way of one line: of those that are certainly open the one that takes least at most.

    `cheapest` are the steps of that way; `steps` those of the way that the line takes beside the others. Its lengths
    are worked out for whoever asks: most trials of the search for remedies lay all lines to look at one.
    """

    line: Fitted
    start: str
    end: str
    steps: tuple[WayStep, ...]
    cheapest: tuple[WayStep, ...]
    graph: LineGraph
    other_layouts_unknown: bool = False

    @cached_property
    def length(self) -> Amount:
        """What this way takes."""
        return _length(self.graph.view, self.steps)

    @cached_property
    def possible(self) -> tuple[WayStep, ...]:
        """The shortest way that is not known to be closed."""
        with tape.recording(None):
            shortest = self.graph.shortest_possible(self.start, self.end)
        return tuple(shortest) if shortest else self.cheapest

    @cached_property
    def least(self) -> Amount:
        """What that takes: a line shorter than it is too short whatever is still to be found out."""
        return self.length if self.possible is self.steps else _length(self.graph.view, self.possible)

    @cached_property
    def needed(self) -> Amount:
        """The length that the line must have: at least by any way, at most by this one if it is certainly open."""
        doubts = [step.bore for step in (*self.steps, *self.possible) if not step.open_to_line.is_yes]
        high = self.length.most if self.certain else inf
        facts = (*self.length.facts, *self.least.facts, *(fact for test in doubts for fact in test.facts))
        return Amount(min(self.least.least, self.length.least), high, facts)

    @cached_property
    def certain(self) -> bool:
        """True where every step is certainly open."""
        return all(step.open_to_line.is_yes for step in self.steps)

    @cached_property
    def ways(self) -> tuple[Way, ...]:
        """The passages on it."""
        return tuple(step.way for step in self.steps if step.way is not None)

    @cached_property
    def blocked(self) -> bool:
        """True where no way at all is open to the line."""
        return any(step.open_to_line.is_no for step in self.steps)


@dataclass(frozen=True, slots=True)
class Routing:
    """All lines of a bike. `homeless` are lines with an end at a thing that has no place to live."""

    routes: dict[str, Route] = field(default_factory=dict)
    disconnected: tuple[Fitted, ...] = ()
    homeless: dict[str, tuple[Route, ...]] = field(default_factory=dict)


def _route(graph: LineGraph, start: str, end: str, steps: Iterable[WayStep]) -> Route:
    cheapest = tuple(steps)
    return Route(graph.line, start, end, cheapest, cheapest, graph)


def other_ways(route: Route) -> Iterator[tuple[Way, ...]]:
    """The passages on every other way that is not known to be closed; no more of them than are tried as layouts."""
    for way in islice(route.graph.all_open(route.start, route.end), _MOST_LAYOUTS + 1):
        if way.steps != route.steps:
            yield tuple(step.way for step in way.steps if step.way is not None)


def _length(view: View, steps: Iterable[WayStep]) -> Amount:
    with tape.recording(None):  # what the way of a line rests on is told with the line, not by who asks first
        return sum((_step_length(view, step) for step in steps), Amount(0.0, 0.0))


def _step_length(view: View, step: WayStep) -> Amount:
    """What a step takes; a part of which nobody knows whether it has a way may take any length.

    Through a part that has no way a line would need at least the part's height in the stack.
    """
    if step.way is not None and step.way.known:
        return way_length(view, step.way)
    low = _height(view, step.gap) if step.gap is not None else Amount(0.0, 0.0)
    return Amount(low.least, inf, (*low.facts, *step.bore.facts))


def lengths_along(view: View, steps: Iterable[WayStep]) -> dict[str, Amount]:
    """What each passage on a way takes of the line, in the order in which the line meets them."""
    found: dict[str, Amount] = {}
    for step in steps:
        if step.way is not None and step.way.known:
            named = list(way_lengths(view, step.way))
        else:
            part, low = step.part(view), _height(view, step.gap) if step.gap is not None else Amount(0.0, 0.0)
            named = [(part, Amount(low.least, inf, low.facts))]
        for name, length in named:
            found[name] = found.get(name, Amount(0.0, 0.0)) + length
    return found


def _height(view: View, position: str) -> Amount:
    for attribute in _HEIGHTS:
        if view.row(position).stacked and position != "stem" and view.has(position, attribute):
            return view.amount(position, attribute)
    return Amount(0.0, 0.0)


class _LineEnd(NamedTuple):
    """The openings at which one end of a line may come to sit; has the thing there a place to live?"""

    openings: tuple[str, ...]
    has_place: bool


def _line_end(view: View, position: str | None) -> _LineEnd:
    if position is None:
        return _LineEnd((), True)
    opening = device_opening(view, position)
    if opening is not None:
        return _LineEnd((opening,), True)
    spot = view.bike.get(position)
    if spot is None:
        return _LineEnd((), False)
    return _LineEnd(tuple(sorted({at.opening for _, at in free_places(view, spot) if at.opening is not None})), False)


def openings_of(view: View, position: str | None) -> tuple[str, ...]:
    """The openings at which a line's end may come to sit."""
    return _line_end(view, position).openings


def find_routes(view: View) -> Routing:
    """Lay every line, then see that those which share a bore fit through it together."""
    lines = sorted(view.of_kind(LINE_KINDS), key=lambda spot: spot.position)
    both = [(line.position, _line_end(view, line.start), _line_end(view, line.end)) for line in lines]
    ends = {name: (start.openings, end.openings) for name, start, end in both}
    homeless = {name for name, start, end in both if not (start.has_place and end.has_place)}
    bearers = carriers(view)
    seen: Hashable = tuple(sorted(_as_lines_see(view, spot) for spot in bearers))
    reached: frozenset[str] = frozenset()
    if any(spot.part.passages is None for spot in bearers):  # they could lead to any end of a line
        reached = frozenset(opening for pair in ends.values() for side in pair for opening in side)
    layout = view.memo.recall(("ways", seen, reached), object)
    keys = [line_key(view, line) for line in lines]
    laid = tuple(
        (key, *ends[line.position], line.position in homeless)
        for line, key in zip(lines, keys, strict=True)
    )
    make = partial(_find_routes, view, list(zip(lines, keys, strict=True)), ends, homeless, (layout, reached))
    return view.memo.recall(("routing", layout, laid), make)


def _as_lines_see(view: View, spot: Fitted) -> tuple[Hashable, ...]:
    """All that the ways of lines depend on in a part that could give one; its position, the first, is unique."""
    sizes = fact_keys(view, spot, _HEIGHTS) if view.row(spot.position).stacked else ()
    return (spot.position, spot.on or "", type(spot.part), ways_token(view, spot), *sizes)


Ends = dict[str, tuple[tuple[str, ...], tuple[str, ...]]]


def _find_routes(
    view: View, lines: list[tuple[Fitted, object]], all_ends: Ends, homeless: set[str],
    on: tuple[Hashable, frozenset[str]],
) -> Routing:  # fmt: skip
    """The routes of lines, each given with its key."""
    layout, reached = on
    passages = view.memo.recall(("passages", layout), lambda: build_passages(view, reached))
    routing, lost = Routing({}, (), {}), []
    graphs = {line.position: partial(_graph, view, passages, line, key, layout) for line, key in lines}
    for line, own in lines:
        starts, ends = all_ends[line.position]
        key = ("routes", own, starts, ends, layout)
        make = partial(_between, graphs[line.position], starts, ends)
        found = view.memo.recall(key, make)
        if line.position in homeless and starts and ends:
            routing.homeless[line.position] = found
        elif found:
            routing.routes[line.position] = found[0]
        elif starts and ends:
            lost.append(line)
    _lay_together(view, routing, graphs)
    return Routing(routing.routes, tuple(lost), routing.homeless)


def _graph(view: View, passages: Passages, line: Fitted, key: object, layout: Hashable) -> LineGraph:
    return view.memo.recall(("line-graph", key, layout), lambda: LineGraph(view, passages, line, layout))


LineGraphs = Mapping[str, Callable[[], LineGraph]]


def _between(make: Callable[[], LineGraph], starts: Iterable[str], ends: Iterable[str]) -> tuple[Route, ...]:
    """The cheapest way for each pair of openings that the line's ends may come to sit at."""
    graph = make()
    ways = ((start, end, graph.cheapest(start, end)) for start, end in product(starts, ends))
    return tuple(_route(graph, start, end, steps) for start, end, steps in ways if steps is not None)


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
    outers = ((line.position, fact_keys(view, line, ("outer_mm",))) for line in lines)
    key = ("bore", way.passage.id, ways_token(view, way.spot), *outers)
    return view.memo.recall(
        key, lambda: way.holds(tuple(view.amount(line.position, "outer_mm") for line in lines))
    )


def laid_for_sure(view: View, routing: Routing, names: Collection[str]) -> bool:
    """Would these lines take the same way whatever is still to be found out about the lengths of passages?

    Each must be the cheapest for sure. If others may go elsewhere, there must be room for these in every bore: lines
    that crowd a bore are laid again, and any other with them.
    """
    routes = routing.routes
    unsure = {
        name for name, route in routes.items()
        if not route.graph.is_cheapest_for_sure(route.start, route.end, route.steps)
    }  # fmt: skip
    if not unsure.union(routing.homeless).isdisjoint(names):
        return False
    bores = {
        way.id: way for name in sorted(unsure)[:1] for way in routes[name].graph.ways() if way.closed and way.known
    }
    return all(_has_room(view, way, routes, unsure) for way in bores.values())


def _has_room(view: View, way: Way, routes: Mapping[str, Route], anywhere: Collection[str]) -> bool:
    """Do the lines that lie in a bore fit through it together with those that may go anywhere?"""
    lines = [
        route.line for name, route in routes.items()
        if any(each.id == way.id for each in route.ways)
        or (name in anywhere and route.line.part.kind in way.passage.carries)
    ]  # fmt: skip
    return len(lines) < 2 or bore_test(view, way, lines).is_yes


class _Lie(NamedTuple):
    """One way that a line could lie."""

    line: Fitted
    way: OpenWay


class _Crowding(NamedTuple):
    """How many shared bores are certainly too full, how many bores and steps are in doubt, the lines in these bores."""

    full: int
    doubts: int
    lines: frozenset[str]


class _Bores:
    """Says how crowded the bores are where lines lie so or so; what was asked before is known."""

    def __init__(self, view: View) -> None:
        self.view = view
        self._known: dict[tuple[str, ...], Test] = {}

    def crowding(self, lies: Iterable[_Lie]) -> _Crowding:
        """How crowded they are if all lines lie so, given in the order of their positions."""
        inside: dict[str, tuple[Way, list[Fitted]]] = {}
        doubts = 0
        for lie in lies:
            doubts += lie.way.doubts
            for name, way in lie.way.bores:
                inside.setdefault(name, (way, []))[1].append(lie.line)
        full = 0
        crowded: set[str] = set()
        for way, lines in inside.values():
            test = self._test(way, lines) if len(lines) > 1 else None
            if test is None or test.is_yes:
                continue
            full, doubts = (full + 1, doubts) if test.is_no else (full, doubts + 1)
            crowded.update(line.position for line in lines)
        return _Crowding(full, doubts, frozenset(crowded))

    def _test(self, way: Way, lines: list[Fitted]) -> Test:
        key = (way.id, *(line.position for line in lines))
        test = self._known.get(key)
        if test is None:
            test = self._known[key] = bore_test(self.view, way, lines)
        return test


def _lay_together(view: View, routing: Routing, graphs: LineGraphs) -> None:
    """Where shared bores are too full, look for a layout in which all lines pass.

    All lines that could come to lie beside the crowded ones are laid again with them. The layout with the
    fewest full bores is kept, then the one with the fewest in doubt; if there are too many layouts to try
    them all, the routes say so, and what does not pass is then not proven.
    """
    bores = _Bores(view)
    lies = {name: _Lie(route.line, way_over(route.steps)) for name, route in sorted(routing.routes.items())}
    best = bores.crowding(lies.values())
    if not best.lines:
        return
    choices = _choices(routing, graphs, best.lines)
    tried = 0
    kept: tuple[_Lie, ...] = ()
    for layout in product(*choices.values()):
        tried += 1
        if tried > _MOST_LAYOUTS or best[:2] == (0, 0):
            break
        rank = bores.crowding({**lies, **dict(zip(choices, layout, strict=True))}.values())
        if rank[:2] < best[:2]:
            best, kept = rank, layout
    for name, lie in zip(choices, kept, strict=False):  # none where nothing is better than what there was
        route = routing.routes[name]
        routing.routes[name] = replace(route, steps=lie.way.steps)
    if best.full and tried > _MOST_LAYOUTS:
        routing.routes.update({n: replace(r, other_layouts_unknown=True) for n, r in routing.routes.items()})


def _choices(routing: Routing, graphs: LineGraphs, crowded: frozenset[str]) -> dict[str, list[_Lie]]:
    """The open ways of the crowded lines, and of all lines that could share a bore with one of them."""
    every = {
        name: [
            _Lie(route.line, way)
            for way in graphs[name]().first_open(route.start, route.end, _MOST_LAYOUTS + 1)
        ]
        for name, route in routing.routes.items() if not route.blocked
    }  # fmt: skip
    bores = {name: {bore for lie in lies for bore, _ in lie.way.bores} for name, lies in every.items()}
    together = {name for name in crowded if name in every}
    while more := {n for n in every if n not in together and any(bores[n] & bores[other] for other in together)}:
        together |= more
    return {name: every[name] for name in sorted(together)}
