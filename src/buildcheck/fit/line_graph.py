"""The passage graph as one line sees it: which steps are open to it, and the cheapest way over them."""

from __future__ import annotations

from collections.abc import Hashable, Iterator, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

import networkx as nx

from buildcheck.fit.facts import Answer, Fact, Test
from buildcheck.fit.passages import Way, way_length
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin

# Weights of the search for the cheapest way: an uncertain passage is worse than any certain way round, and a
# passage that is not there is worse than any uncertain one. A passage of unknown length weighs as much as
# 10 m: no bicycle has a longer one.
_LONGEST_MM, _UNCERTAIN_MM, _BLOCKED_MM = 1e4, 1e6, 1e9
# By so much at least a way must be shorter than the others to be the cheapest for sure: less than is measured.
_LEAST_MM = 1e-3


class Step(NamedTuple):
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


def step_for(view: View, line: Fitted, way: Way | None, gap: str | None) -> Step:
    """What one edge of the passage graph means for one line."""
    if way is None:
        assert gap is not None
        spot = view.bike[gap]
        fact = Fact(spot.home, "passages", ("none that leads on",), "", *_origin(spot))
        return Step(None, gap, Test(Answer.NO, (fact,)), _YES)
    kind = line.part.kind
    if not way.known:
        unknown = Fact(way.spot.home, "passages", None, "", *_origin(way.spot))
        return Step(way, gap, Test(Answer.UNKNOWN, (unknown,)), _YES)
    if kind not in way.passage.carries:
        carries = way.fact("carries", way.passage.carries, "")
        return Step(way, None, Test(Answer.NO, (carries,)), _YES, carried=False)
    bore = way.holds((view.amount(line.position, "outer_mm"),))
    bend = _YES
    if not way.passage.straight and way.closed:
        bend = way.bend_radius().at_least(view.amount(line.position, "bend_radius_min_mm"))
    return Step(way, None, bore, bend)


def _origin(spot: Fitted) -> tuple[Origin, str]:
    return Origin.STATED, spot.written_at("passages")


class LineGraph:
    """The passage graph as one line sees it. Lines of one kind and thickness see the same weights."""

    def __init__(self, view: View, passages: nx.MultiGraph[str], line: Fitted, layout: Hashable) -> None:
        self.view, self.passages, self.line = view, passages, line
        outer = view.amount(line.position, "outer_mm")
        self.sort = (line.part.kind, outer.least, outer.most)
        self.layout = layout
        self.light = self._light(certain=True)

    def _light(self, certain: bool) -> nx.Graph[str]:
        key = ("light", self.sort, certain, self.layout)
        return self.view.memo.recall(key, None, lambda: self._lightest(certain))

    def _lightest(self, certain: bool) -> nx.Graph[str]:
        """Of the edges between two openings only the lightest, with its weight and its key.

        For a certain way an edge weighs what it takes at most, for a possible way what it takes at least.
        The graph's `exact` says that the two are the same.
        """
        light: nx.Graph[str] = nx.Graph(exact=True)
        light.add_nodes_from(self.passages)
        for u, v, key, data in self.passages.edges(keys=True, data=True):
            least, most = self._weight(key, data)
            if least != most:
                light.graph["exact"] = False
            weight = most if certain else least
            old = light.get_edge_data(u, v)
            if old is None or (weight, key) < (old["weight"], old["key"]):
                light.add_edge(u, v, weight=weight, key=key)
        return light

    def _weight(self, key: str, data: dict[str, Any]) -> tuple[float, float]:
        way = data.get("way")
        part = way.spot.part if way is not None else None
        # A passage along the stack is as long as the spacers under the stem make it.
        stack = self.layout if way is not None and way.passage.along_stack else None
        name = ("weight", self.sort, key, id(part), stack)
        return self.view.memo.recall(name, part, lambda: self._weigh(data))

    def _weigh(self, data: dict[str, Any]) -> tuple[float, float]:
        """The weight of an edge in a possible way, and in a certain one."""
        step = self.step(data)
        low = high = 0.0
        if step.way is not None and step.way.known:
            length = way_length(self.view, step.way)
            low, high = min(length.least, _LONGEST_MM), min(length.most, _LONGEST_MM)
        if step.open_to_line.is_no:
            weight = low + _BLOCKED_MM * (self.view.row(data["gap"]).way_rank if "gap" in data else 1)
            return weight, weight
        return low, high if step.open_to_line.is_yes else low + _UNCERTAIN_MM

    def step(self, data: dict[str, Any]) -> Step:
        """What one edge means for this line; the same part and the same line give the same answer."""
        way, gap = data.get("way"), data.get("gap")
        spot = way.spot if way is not None else self.view.bike[gap or ""]
        part = spot.part
        key = ("step", self.line.home, id(self.line.part), gap, spot.home, id(part), way.id if way is not None else "")
        return self.view.memo.recall(key, (self.line.part, part), lambda: step_for(self.view, self.line, way, gap))

    def cheapest(self, start: str, end: str) -> list[Step] | None:
        """The steps of the cheapest certain way, or None where not even gaps join the two openings."""
        return self._steps(self.light, start, end)

    def shortest_possible(self, start: str, end: str) -> list[Step] | None:
        """The steps of the shortest way that is not known to be closed; None where that is the cheapest for sure."""
        return None if self.light.graph["exact"] else self._steps(self._light(certain=False), start, end)

    def ways(self) -> Iterator[Way]:
        """All passages of the bike."""
        return (data["way"] for *_, data in self.passages.edges(data=True) if data.get("way") is not None)

    def is_cheapest_for_sure(self, start: str, end: str, steps: Sequence[Step]) -> bool:
        """Are these the steps of the cheapest way, too, if they take the most they may and all others the least?"""
        own = {(step.way.id if step.way is not None else "", step.gap) for step in steps}
        light: nx.Graph[str] = nx.Graph()
        for u, v, key, data in self.passages.edges(keys=True, data=True):
            way, (least, most) = data.get("way"), self._weight(key, data)
            on_it = (way.id if way is not None else "", data.get("gap")) in own
            weight = most + _LEAST_MM if on_it else least
            old = light.get_edge_data(u, v)
            if old is None or weight < old["weight"]:
                light.add_edge(u, v, weight=weight, key=key)
        return self._steps(light, start, end) == list(steps)

    def _steps(self, light: nx.Graph[str], start: str, end: str) -> list[Step] | None:
        if start not in light or end not in light:
            return None
        try:
            nodes = nx.dijkstra_path(light, start, end)
        except nx.NetworkXNoPath:
            return None
        return [self.step(self.passages.edges[u, v, light.edges[u, v]["key"]]) for u, v in pairwise(nodes)]

    def all_open(self, start: str, end: str) -> Iterator[list[Step]]:
        """Every simple way that is not known to be blocked, those that are certainly open first."""
        sure: nx.MultiGraph[str] = nx.MultiGraph()
        doubtful: list[tuple[str, str, str, Step]] = []
        for u, v, key, data in self.passages.edges(keys=True, data=True):
            step = self.step(data)
            if step.open_to_line.is_yes:
                sure.add_edge(u, v, key=key, step=step)
            elif not step.open_to_line.is_no:
                doubtful.append((u, v, key, step))
        yield from _simple_ways(sure, start, end)
        if doubtful:
            for u, v, key, step in doubtful:
                sure.add_edge(u, v, key=key, step=step)
            ways = _simple_ways(sure, start, end)
            yield from (steps for steps in ways if not all(step.open_to_line.is_yes for step in steps))


def _simple_ways(graph: nx.MultiGraph[str], start: str, end: str) -> Iterator[list[Step]]:
    if start in graph and end in graph:
        paths: Iterator[list[Any]] = nx.all_simple_edge_paths(graph, start, end)
        for path in paths:
            yield [graph[u][v][key]["step"] for u, v, key in path]
