"""The way of each line over the passages: where it runs, what stands in it, how long it has to be."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial
from itertools import islice, pairwise, product
from math import inf
from typing import Any

import networkx as nx

from buildcheck.fit.facts import Amount, Answer, Fact, Test, amount_of
from buildcheck.fit.passages import Way, build_passages, way_length
from buildcheck.fit.places import device_opening, free_places
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin

LINE_KINDS = ("hose", "housing", "wire")
# Weights of the search for the cheapest way: an uncertain passage is worse than any certain way round
# (no bicycle line is 100 m long), and a passage that is not there is worse than any uncertain one.
_UNCERTAIN_MM, _BLOCKED_MM = 1e5, 1e9
# Beyond this many ways of laying the lines the search for a packing gives up and says so.
_MOST_LAYOUTS = 400


@dataclass(frozen=True, slots=True)
class Step:
    """One passage on a line's way, or the gap where a part offers none, with the answer for this line."""

    way: Way | None
    gap: str | None
    bore: Test
    bend: Test

    @property
    def open_to_line(self) -> Test:
        """Can the line take this step? A tight bend is told, but closes no way: its figures are too weak."""
        return self.bore


@dataclass(frozen=True, slots=True)
class Route:
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


_NO, _YES = Test(Answer.NO, ()), Test(Answer.YES, ())


def step_for(view: View, line: Fitted, way: Way | None, gap: str | None) -> Step:
    """What one edge of the passage graph means for one line."""
    if way is None:
        assert gap is not None
        spot = view.bike[gap]
        fact = Fact(spot.home, "passages", ("none that leads on",), "", *_origin(spot))
        return Step(None, gap, Test(Answer.NO, (fact,)), _YES)
    kind = getattr(line.part, "kind")
    if not way.known:
        unknown = Fact(way.spot.home, "passages", None, "", *_origin(way.spot))
        return Step(way, gap, Test(Answer.UNKNOWN, (unknown,)), _YES)
    if kind not in way.passage.carries:
        carries = way.fact("carries", way.passage.carries, "")
        return Step(way, None, Test(Answer.NO, (carries,)), _YES)
    bore = way.holds((view.amount(line.position, "outer_mm"),))
    bend = _YES
    if not way.passage.straight and way.closed:
        radius = amount_of(way.fact("bend_radius_mm", way.passage.bend_radius_mm))
        bend = radius.at_least(view.amount(line.position, "bend_radius_min_mm"))
    return Step(way, None, bore, bend)


def _origin(spot: Fitted) -> tuple[Origin, str]:
    return Origin.STATED, spot.where.get("passages") or spot.where.get("", "")


class _LineGraph:
    """The passage graph as one line sees it. Lines of one kind and thickness see the same weights."""

    def __init__(self, view: View, passages: nx.MultiGraph[str], line: Fitted, layout: Hashable) -> None:
        self.view, self.passages, self.line = view, passages, line
        outer = view.amount(line.position, "outer_mm")
        self.sort = (getattr(line.part, "kind"), outer.low, outer.high)
        self.light = self._light(_UNCERTAIN_MM, layout)
        self.layout = layout

    def _light(self, doubt_mm: float, layout: Hashable) -> nx.Graph[str]:
        key = ("light", self.sort, doubt_mm, layout)
        return self.view.memo.recall(key, None, lambda: self._lightest(doubt_mm))

    def _lightest(self, doubt_mm: float) -> nx.Graph[str]:
        """Of the edges between two openings only the lightest, with its weight and its key."""
        light: nx.Graph[str] = nx.Graph(doubtful=False)
        light.add_nodes_from(self.passages)
        for u, v, key, data in self.passages.edges(keys=True, data=True):
            weight, doubtful = self._weight(key, data)
            if doubtful:
                weight += doubt_mm
                light.graph["doubtful"] = True
            old = light.get_edge_data(u, v)
            if old is None or (weight, key) < (old["weight"], old["key"]):
                light.add_edge(u, v, weight=weight, key=key)
        return light

    def _weight(self, key: str, data: dict[str, Any]) -> tuple[float, bool]:
        way = data.get("way")
        part = way.spot.part if way is not None else None
        name = ("weight", self.sort, key, id(part))
        return self.view.memo.recall(name, part, lambda: self._weigh(data))

    def _weigh(self, data: dict[str, Any]) -> tuple[float, bool]:
        """The weight of an edge, and whether it is in doubt."""
        step = self.step(data)
        answer = step.open_to_line.answer
        length = step.way.passage.length_mm if step.way is not None else None
        weight = length.low if length is not None else 0.0
        if answer is Answer.NO:
            return weight + _BLOCKED_MM * (self.view.row(data["gap"]).way_rank if "gap" in data else 1), False
        return weight, answer is Answer.UNKNOWN

    def step(self, data: dict[str, Any]) -> Step:
        """What one edge means for this line; the same part and the same line give the same answer."""
        way, gap = data.get("way"), data.get("gap")
        part = way.spot.part if way is not None else None
        key = ("step", self.line.home, id(self.line.part), gap, id(part), way.id if way is not None else "")
        return self.view.memo.recall(key, (self.line.part, part), lambda: step_for(self.view, self.line, way, gap))

    def cheapest(self, start: str, end: str) -> list[Step] | None:
        """The steps of the cheapest certain way, or None where not even gaps join the two openings."""
        return self._steps(self.light, start, end)

    def shortest_possible(self, start: str, end: str) -> list[Step] | None:
        """The steps of the shortest way that is not known to be closed; None where no step is in doubt."""
        return self._steps(self._light(0.0, self.layout), start, end) if self.light.graph["doubtful"] else None

    def _steps(self, light: nx.Graph[str], start: str, end: str) -> list[Step] | None:
        if start not in light or end not in light:
            return None
        try:
            nodes = nx.dijkstra_path(light, start, end)
        except nx.NetworkXNoPath:
            return None
        return [self.step(self.passages.edges[u, v, light.edges[u, v]["key"]]) for u, v in pairwise(nodes)]

    def all_open(self, start: str, end: str) -> Iterator[list[Step]]:
        """Every simple way that is not known to be blocked."""
        graph: nx.MultiGraph[str] = nx.MultiGraph()
        for u, v, key, data in self.passages.edges(keys=True, data=True):
            step = self.step(data)
            if not step.open_to_line.no:
                graph.add_edge(u, v, key=key, step=step)
        if start in graph and end in graph:
            paths: Iterator[list[Any]] = nx.all_simple_edge_paths(graph, start, end)
            for path in paths:
                yield [graph[u][v][key]["step"] for u, v, key in path]


def _route(view: View, graph: _LineGraph, start: str, end: str, steps: list[Step]) -> Route:
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
    laid = tuple((line.position, id(line.part), *map(tuple, ends[line.position]), line.position in homeless) for line in lines)
    held = [spot.part for spot in (*bearers, *lines)]
    return view.memo.recall(("routing", layout, laid), held, lambda: _find_routes(view, lines, ends, homeless, layout))


def _has_place(view: View, position: str | None) -> bool:
    return position is None or device_opening(view, position) is not None


Ends = dict[str, tuple[list[str], list[str]]]


def _find_routes(view: View, lines: list[Fitted], all_ends: Ends, homeless: set[str], layout: Hashable) -> Routing:
    passages = view.memo.recall(("passages", layout), None, lambda: build_passages(view))
    routing, lost = Routing({}, (), {}), []
    graphs = {line.position: partial(_LineGraph, view, passages, line, layout) for line in lines}
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


LineGraphs = Mapping[str, Callable[[], _LineGraph]]


def _between(view: View, make: Callable[[], _LineGraph], starts: list[str], ends: list[str]) -> tuple[Route, ...]:
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
    return view.memo.recall(key, parts, lambda: way.holds(tuple(view.amount(line.position, "outer_mm") for line in lines)))


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
            trial[name] = replace(old, steps=tuple(steps), length=_length(view, steps))
        rank = _crowding(view, trial)
        if rank[:2] < best[:2]:
            best, kept = rank, trial
    if best[0] and tried > _MOST_LAYOUTS:
        kept = {name: replace(route, other_layouts_unknown=True) for name, route in kept.items()}
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


def threading(view: View, route: Route) -> tuple[Test, tuple[str, ...]]:
    """Can the line be threaded through its closed bores, and which ends must be cut for it?

    Bores on the lever's side of some point are passed by the lever end, the others by the far end; without
    cutting if any such point will do. Returns the test and the ends (`start`, `end`) that must be cut.
    """
    key = ("threading", route.line.home, id(route.line.part), id(route))
    return view.memo.recall(key, (route.line.part, route), lambda: _thread(view, route))


def _thread(view: View, route: Route) -> tuple[Test, tuple[str, ...]]:
    bores = [way for way in route.ways if way.closed and way.known]
    position = route.line.position
    for cuts in ((), ("start",), ("end",), ("start", "end")):
        tests = [_passes(view, position, bores, point, cuts) for point in range(len(bores) + 1)]
        best = min(tests, key=lambda test: (test.no, not test.yes))
        if not best.no:
            return best, cuts
    return _passes(view, position, bores, 0, ("start", "end")), ("start", "end")


def _passes(view: View, position: str, bores: list[Way], point: int, cuts: tuple[str, ...]) -> Test:
    result = _YES
    for index, way in enumerate(bores):
        end = "start" if index < point else "end"
        size = view.amount(position, f"{end}_fitting_mm")
        if end in cuts:
            cuttable = view.word(position, f"{end}_cuttable")
            if cuttable.value is not True:
                return Test(Answer.UNKNOWN if cuttable.value is None else Answer.NO, (cuttable, *size.facts))
            size = view.amount(position, "outer_mm")
        result = result.both(way.holds((size,)))
    return result
