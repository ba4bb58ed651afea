"""The passage graph as one line sees it: which steps are open to it, and the cheapest way over them."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from heapq import heappop, heappush
from itertools import count, islice
from math import inf
from typing import NamedTuple

from buildcheck.fit.facts import Answer, Fact, Test
from buildcheck.fit.passages import Edge, Passages, Way, way_length, ways_token
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin

# Weights of the search for the cheapest way: an uncertain passage is worse than any certain way round, and a
# passage that is not there is worse than any uncertain one. A passage of unknown length weighs as much as
# 10 m: no bicycle has a longer one.
_LONGEST_MM, _UNCERTAIN_MM, _BLOCKED_MM = 1e4, 1e6, 1e9
# By so much at least a way must be shorter than the others to be the cheapest for sure: less than is measured.
_LEAST_MM = 1e-3


class WayStep(NamedTuple):
    """One passage on a line's way, or the gap where a part offers none, with the answer for this line."""

    way: Way | None
    gap: str | None
    bore: Test
    bend: Test
    carried: bool = True

    def part(self, view: View) -> str:
        """The position of the part that offers the passage, or does not."""
        if self.gap is not None:
            return view.bike[self.gap].home
        return self.way.spot.home if self.way is not None else ""

    @property
    def open_to_line(self) -> Test:
        """Can the line take this step? A tight bend is told, but closes no way: its figures are too weak."""
        return self.bore


_NO, _YES = Test(Answer.NO, ()), Test(Answer.YES, ())


def step_for(view: View, line: Fitted, way: Way | None, gap: str | None) -> WayStep:
    """What one edge of the passage graph means for one line."""
    if way is None:
        assert gap is not None
        spot = view.bike[gap]
        fact = Fact(spot.home, "passages", ("none that leads on",), "", *_origin(spot))
        return WayStep(None, gap, Test(Answer.NO, (fact,)), _YES)
    kind = line.part.kind
    if not way.known:
        unknown = Fact(way.spot.home, "passages", None, "", *_origin(way.spot))
        return WayStep(way, gap, Test(Answer.UNKNOWN, (unknown,)), _YES)
    if kind not in way.passage.carries:
        carries = way.fact("carries", way.passage.carries, "")
        return WayStep(way, None, Test(Answer.NO, (carries,)), _YES, carried=False)
    bore = way.holds((view.amount(line.position, "outer_mm"),))
    bend = _YES
    if not way.passage.straight and way.closed:
        bend = way.bend_radius().at_least(view.amount(line.position, "bend_radius_min_mm"))
    return WayStep(way, None, bore, bend)


def _origin(spot: Fitted) -> tuple[Origin, str]:
    return Origin.STATED, spot.written_at("passages")


def fact_keys(view: View, spot: Fitted, attributes: Iterable[str]) -> tuple[Hashable, ...]:
    """What a report could tell apart in these facts: the same for two parts that do not differ in them."""
    facts = (view.fact(spot, attribute) for attribute in attributes)
    return tuple((fact.held, fact.origin, fact.where) for fact in facts)


def line_key(view: View, line: Fitted) -> object:
    """Stands for all that the way of a line depends on in the line itself, but for the openings at its ends."""
    sizes = fact_keys(view, line, ("outer_mm", "bend_radius_min_mm"))
    seen = (line.position, line.home, type(line.part), line.part.kind, line.start, line.end, *sizes)
    return view.memo.recall(("line", seen), object)


class Light(NamedTuple):
    """Of the edges between two openings only the lightest: from opening to opening, with its weight.

    `exact` says that ways which are certain and ways which are possible have the same weights.
    """

    edges: dict[str, dict[str, tuple[float, Edge]]]
    exact: bool


class Door(NamedTuple):
    """A step that may be open to a line: is that in doubt, and the bore that the line then lies in, with its name."""

    step: WayStep
    doubtful: bool
    bore: tuple[str, Way] | None


def _door(step: WayStep) -> Door:
    way = step.way
    bore = (way.id, way) if way is not None and way.closed and way.known else None
    return Door(step, not step.open_to_line.is_yes, bore)


class OpenWay(NamedTuple):
    """A way of a line: its steps, the bores it lies in with their names, and how many of the steps are in doubt."""

    steps: tuple[WayStep, ...]
    bores: tuple[tuple[str, Way], ...]
    doubts: int


def way_over(steps: Iterable[WayStep]) -> OpenWay:
    """The way over these steps."""
    return _way_through([_door(step) for step in steps])


def _way_through(doors: Sequence[Door]) -> OpenWay:
    bores = tuple(door.bore for door in doors if door.bore is not None)
    return OpenWay(tuple(door.step for door in doors), bores, sum(door.doubtful for door in doors))


class LineGraph:
    """The passage graph as one line sees it. Lines of one kind and thickness see the same weights.

    `layout` stands for the parts that give lines a way.
    """

    def __init__(self, view: View, passages: Passages, line: Fitted, layout: Hashable) -> None:
        self.view, self.passages, self.line = view, passages, line
        outer = view.amount(line.position, "outer_mm")
        self.sort = (line.part.kind, outer.least, outer.most)
        self.layout, self.key = layout, line_key(view, line)
        self.edges = view.memo.recall(("edges", layout), lambda: passages.edges)
        self.light = self._light(certain=True)
        self._first_open: dict[tuple[str, str, int], tuple[OpenWay, ...]] = {}

    def _light(self, certain: bool) -> Light:
        key = ("light", self.sort, certain, self.layout)
        return self.view.memo.recall(key, lambda: self._lightest(certain))

    def _lightest(self, certain: bool) -> Light:
        """For a certain way an edge weighs what it takes at most, for a possible way what it takes at least."""
        weights = self._weights()
        exact = all(least == most for least, most in weights)
        return Light(self._lightest_of((most if certain else least for least, most in weights)), exact)

    def _lightest_of(self, weights: Iterable[float]) -> dict[str, dict[str, tuple[float, Edge]]]:
        light: dict[str, dict[str, tuple[float, Edge]]] = {name: {} for name in self.passages.openings}
        for edge, weight in zip(self.edges, weights, strict=True):
            old = light[edge.u].get(edge.v)
            if old is None or (weight, edge.key) < (old[0], old[1].key):
                light[edge.u][edge.v] = light[edge.v][edge.u] = (weight, edge)
        return light

    def _weights(self) -> list[tuple[float, float]]:
        """The weights of all edges, in their order."""
        key = ("weights", self.sort, self.layout)
        return self.view.memo.recall(key, lambda: [self._weight(edge) for edge in self.edges])

    def _weight(self, edge: Edge) -> tuple[float, float]:
        way = edge.way
        part = ways_token(self.view, way.spot) if way is not None else None
        # A passage along the stack is as long as the spacers under the stem make it.
        stack = self.layout if way is not None and way.passage.along_stack else None
        name = ("weight", self.sort, edge.key, part, stack)
        return self.view.memo.recall(name, lambda: self._weigh(edge))

    def _weigh(self, edge: Edge) -> tuple[float, float]:
        """The weight of an edge in a possible way, and in a certain one."""
        step = self.step(edge)
        low = high = 0.0
        if step.way is not None and step.way.known:
            length = way_length(self.view, step.way)
            low, high = min(length.least, _LONGEST_MM), min(length.most, _LONGEST_MM)
        if step.open_to_line.is_no:
            weight = low + _BLOCKED_MM * (self.view.row(edge.gap).way_rank if edge.gap is not None else 1)
            return weight, weight
        return low, high if step.open_to_line.is_yes else low + _UNCERTAIN_MM

    def step(self, edge: Edge) -> WayStep:
        """What one edge means for this line; the same part and the same line give the same answer."""
        way, gap = edge.way, edge.gap
        spot = way.spot if way is not None else self.view.bike[gap or ""]
        key = ("step", self.key, gap, ways_token(self.view, spot), way.passage.id if way is not None else "")
        return self.view.memo.recall(key, lambda: step_for(self.view, self.line, way, gap))

    def cheapest(self, start: str, end: str) -> list[WayStep] | None:
        """The steps of the cheapest certain way, or None where not even gaps join the two openings."""
        return self._steps(self.light, start, end)

    def shortest_possible(self, start: str, end: str) -> list[WayStep] | None:
        """The steps of the shortest way that is not known to be closed; None where that is the cheapest for sure."""
        return None if self.light.exact else self._steps(self._light(certain=False), start, end)

    def ways(self) -> Iterator[Way]:
        """All passages of the bike."""
        return (edge.way for edge in self.edges if edge.way is not None)

    def is_cheapest_for_sure(self, start: str, end: str, steps: Sequence[WayStep]) -> bool:
        """Are these the steps of the cheapest way, too, if they take the most they may and all others the least?"""
        own = {(step.way.id if step.way is not None else "", step.gap) for step in steps}
        weights = []
        for edge, (least, most) in zip(self.edges, self._weights(), strict=True):
            on_it = (edge.way.id if edge.way is not None else "", edge.gap) in own
            weights.append(most + _LEAST_MM if on_it else least)
        return self._steps(Light(self._lightest_of(weights), False), start, end) == list(steps)

    def _steps(self, light: Light, start: str, end: str) -> list[WayStep] | None:
        if start not in light.edges or end not in light.edges:
            return None
        edges = _shortest(light.edges, start, end)
        return None if edges is None else [self.step(edge) for edge in edges]

    @cached_property
    def _doors(self) -> tuple[tuple[Edge, Door], ...]:
        """The edges that are not known to be closed to this line."""
        doors = ((edge, _door(self.step(edge))) for edge in self.edges)
        return tuple((edge, door) for edge, door in doors if not door.step.open_to_line.is_no)

    def first_open(self, start: str, end: str, most: int) -> tuple[OpenWay, ...]:
        """The first of `all_open`, kept for those who ask again."""
        key = start, end, most
        if key not in self._first_open:
            self._first_open[key] = tuple(islice(self.all_open(start, end), most))
        return self._first_open[key]

    def all_open(self, start: str, end: str) -> Iterator[OpenWay]:
        """Every simple way that is not known to be blocked, those that are certainly open first."""
        doors: _Doors = {}
        for edge, door in self._doors:
            if not door.doubtful:
                _open(doors, edge, door)
        yield from _simple_ways(doors, start, end)
        doubtful = [(edge, door) for edge, door in self._doors if door.doubtful]
        if doubtful:
            for edge, door in doubtful:
                _open(doors, edge, door)
            yield from (way for way in _simple_ways(doors, start, end) if way.doubts)


def _shortest(edges: Mapping[str, Mapping[str, tuple[float, Edge]]], start: str, end: str) -> list[Edge] | None:
    """The edges of the shortest way, by Dijkstra's algorithm; of ways of one length the one that is found first.

    networkx has it too, and takes several times as long for a graph of some twenty openings, which a search for
    remedies asks for thousands of times.
    """
    order = count()
    came: dict[str, tuple[str, Edge]] = {}
    least = {start: 0.0}
    done: set[str] = set()
    todo = [(0.0, next(order), start)]
    while todo:
        length, _, node = heappop(todo)
        if node == end:
            return _way_back(came, start, end)
        if node in done:
            continue
        done.add(node)
        for other, (weight, edge) in edges[node].items():
            total = length + weight
            if other not in done and total < least.get(other, inf):
                least[other] = total
                came[other] = node, edge
                heappush(todo, (total, next(order), other))
    return None


def _way_back(came: Mapping[str, tuple[str, Edge]], start: str, end: str) -> list[Edge]:
    found: list[Edge] = []
    while end != start:
        end, edge = came[end]
        found.append(edge)
    return found[::-1]


# From an opening to each next one, with the steps between the two.
_Doors = dict[str, dict[str, list[Door]]]


def _open(doors: _Doors, edge: Edge, door: Door) -> None:
    between = doors.setdefault(edge.u, {}).setdefault(edge.v, [])
    between.append(door)
    doors.setdefault(edge.v, {})[edge.u] = between


def _simple_ways(doors: _Doors, start: str, end: str) -> Iterator[OpenWay]:
    """Every way that comes to no opening twice: networkx has this too, and is much slower on so small a graph."""
    if start in doors and end in doors:
        yield from _further(doors, {start}, [], start, end)


def _further(doors: _Doors, seen: set[str], so_far: list[Door], node: str, end: str) -> Iterator[OpenWay]:
    if node == end:
        yield _way_through(so_far)
        return
    for other, between in doors[node].items():
        if other in seen:
            continue
        seen.add(other)
        for door in between:
            so_far.append(door)
            yield from _further(doors, seen, so_far, other, end)
            so_far.pop()
        seen.discard(other)
