"""The ways for lines: openings are nodes, passages are edges.

Beside the passages that the fitted parts have, the graph holds the ways that another part in the same
position could offer (`gap` edges, from the standards' positions). A line that finds no way over real
passages shows by the gaps on its cheapest way which parts stand in it. A part of which nobody knows what ways
it has may lead from any opening to any other: it is a node of its own, joined to all of them in doubt.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Set
from math import inf, pi, sqrt
from typing import NamedTuple

from buildcheck.fit.facts import Amount, Answer, Fact, Test, amount_of
from buildcheck.fit.graphs import reached
from buildcheck.fit.support import spacers_below_stem
from buildcheck.fit.view import Same, View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin
from buildcheck.model.parts import Bore, Passage
from buildcheck.trade.packing import packs_in_irregular, packs_in_round, packs_in_slot

BELOW, ABOVE = "@below", "@above"
_UNKNOWN_BORE = Bore.model_construct(
    shape="irregular", diameter_mm=None, width_mm=None, height_mm=None, inscribed_mm=None, area_mm2=None
)


class Way(NamedTuple):
    """One passage of one fitted part; `known` is False where nobody knows whether it has a way at all."""

    spot: Fitted
    passage: Passage
    known: bool = True

    @property
    def id(self) -> str:
        """Position and passage, the name of the edge."""
        return f"{self.spot.home}.{self.passage.id}"

    @property
    def closed(self) -> bool:
        """True for a bore that a line has to be threaded through."""
        return self.passage.bore.shape != "open"

    def fact(self, attribute: str, value: object, unit: str = "mm") -> Fact:
        """A size of this passage as a fact."""
        origin = Origin.MEASURED if "passages" in self.spot.measured else Origin.STATED
        where = self.spot.written_at("passages")
        return Fact(self.spot.home, f"passages.{self.passage.id}.{attribute}", value, unit, origin, where)

    def size(self, attribute: str) -> Amount:
        """A size of the bore."""
        return amount_of(self.fact(f"bore.{attribute}", getattr(self.passage.bore, attribute)))

    def bend_radius(self) -> Amount:
        """The tightest bend on the way in mm."""
        return amount_of(self.fact("bend_radius_mm", self.passage.bend_radius_mm))

    def holds(self, outers: tuple[Amount, ...]) -> Test:
        """Do all these lines fit through side by side? Thickest lines decide a yes, thinnest a no."""
        facts = tuple(fact for outer in outers for fact in outer.facts)
        bore = self.passage.bore
        if bore.shape == "open":
            return Test(Answer.YES, facts)
        names = {
            "round": ("diameter_mm",),
            "slot": ("width_mm", "height_mm"),
            "irregular": ("inscribed_mm", "area_mm2"),
        }
        sizes = tuple(self.size(name) for name in names[bore.shape])
        facts += tuple(fact for size in sizes for fact in size.facts)
        if not all(outer.bounded for outer in outers):
            return Test(Answer.UNKNOWN, facts)
        thick, thin = [outer.most for outer in outers], [outer.least for outer in outers]
        if _packs(bore.shape, thick, [size.least for size in sizes]) is True:
            return Test(Answer.YES, facts)
        if _packs(bore.shape, thin, [size.most for size in sizes]) is False:
            return Test(Answer.NO, facts)
        return Test(Answer.UNKNOWN, facts)


def ways_token(view: View, spot: Fitted) -> object:
    """Stands for the ways of a part where it sits, one for all parts that do not differ in these.

    Most parts that the search tries are copies of one part of which less is known.
    """
    token = spot.kept.get("(ways)")
    if token is None:
        seen = (spot.home, Same(spot.part.passages), "passages" in spot.measured, spot.written_at("passages"))
        token = spot.kept["(ways)"] = view.memo.recall(("ways of", seen), object)
    return token


class Edge(NamedTuple):
    """One passage between two openings, or the gap where a part offers none; its key tells it from others there."""

    u: str
    v: str
    key: str
    way: Way | None = None
    gap: str | None = None


class Passages:
    """Openings and the edges between them, each in the order in which they were added."""

    def __init__(self) -> None:
        self._edges: dict[str, dict[str, list[Edge]]] = {}

    @property
    def openings(self) -> Set[str]:
        """All of them, in their order."""
        return self._edges.keys()

    @property
    def edges(self) -> list[Edge]:
        """Each once, by the opening that comes first, then by the other one."""
        place = {name: index for index, name in enumerate(self._edges)}
        return [
            edge for name, others in self._edges.items() for other, edges in others.items()
            if place[name] <= place[other] for edge in edges
        ]  # fmt: skip

    def add_opening(self, name: str) -> None:
        """An opening that may have no edge."""
        self._edges.setdefault(name, {})

    def add(self, edge: Edge) -> None:
        """An edge, and the openings at its ends."""
        self.add_opening(edge.u)
        self.add_opening(edge.v)
        for name, other in {(edge.u, edge.v), (edge.v, edge.u)}:
            self._edges[name].setdefault(other, []).append(edge)

    def reached_from(self, opening: str) -> set[str]:
        """All other openings that edges lead to from one."""
        return reached(self._edges, opening) - {opening}


def _packs(shape: str, outers: list[float], sizes: list[float]) -> bool | None:
    if sizes[0] == 0 or (shape == "slot" and sizes[1] == 0):
        return None  # nothing known of the bore; a bore of no size is no passage
    if sizes[0] == inf or (shape == "slot" and sizes[1] == inf):
        return None
    if shape == "round":
        return packs_in_round(outers, sizes[0])
    if shape == "slot":
        return packs_in_slot(outers, max(sizes), min(sizes))
    area = sizes[1] if 0 < sizes[1] < inf else None
    # The rod cannot be thicker than the area has room for, even if the two ends of intervals say so.
    rod = sizes[0] if area is None else min(sizes[0], sqrt(4 * area / pi))
    return packs_in_irregular(outers, rod, area)


def _opening(view: View, spot: Fitted, name: str) -> str:
    """The node of an opening; faces of the stack are named after the part below the face."""
    if name == ABOVE:
        return f"top-of:{spot.home}"
    if name == BELOW:
        own = view.bike.get("stem") if view.bike.get("stem") and view.bike["stem"].home == spot.home else spot
        return f"top-of:{own.on if own is not None and own.on is not None else spot.home}"
    return name


def unknown_carriers(view: View) -> list[Fitted]:
    """The parts that could give lines a way, and nobody knows which. A one-piece bar is the stem as well."""
    spots = view.bike.fitted.items()
    homes = {spot.home for name, spot in spots if spot.part.passages is None and view.row(name).ways}
    return [view.bike[home] for home in sorted(homes)]


def build_passages(view: View, ends: Iterable[str] = ()) -> Passages:
    """All ways on a bike. An edge has a `way` for a passage, a `gap` (a position) for one not there or not known.

    `ends` are the openings that lines begin and end at; a part whose ways are not known could lead there.
    """
    graph = Passages()
    for spot in view.bike.main_spots():
        _add_passages(graph, view, spot)
    for name, spot in view.bike.fitted.items():
        for start, end in view.row(name).ways:
            ends_of = _opening(view, spot, start), _opening(view, spot, end)
            for opening in ends_of:
                graph.add_opening(opening)
            if spot.part.passages is not None:
                graph.add(Edge(*ends_of, f"{name}:{start}:{end}", gap=name))
    _add_unknown(graph, unknown_carriers(view), ends)
    return graph


def _add_unknown(graph: Passages, spots: list[Fitted], ends: Iterable[str]) -> None:
    openings = sorted({*graph.openings, *ends}) if spots else []
    for spot in spots:
        passage = Passage.model_construct(
            id="not-known", start="", end="", bore=_UNKNOWN_BORE, length_mm=None, bend_radius_mm=None,
            straight=False, steering_slack_mm=None, along_stack=False,
        )  # fmt: skip
        hub, way = f"in:{spot.home}", Way(spot, passage, known=False)
        for opening in openings:
            graph.add(Edge(hub, opening, f"{hub}:{opening}", way, spot.home))


def _add_passages(graph: Passages, view: View, spot: Fitted) -> None:
    for passage in spot.part.passages or ():
        way = Way(spot, passage)
        graph.add(Edge(_opening(view, spot, passage.start), _opening(view, spot, passage.end), way.id, way))


SLACK = "slack for steering"


def way_lengths(view: View, way: Way) -> Iterator[tuple[str, Amount]]:
    """What adds up to the length of line that this passage takes, each with its name."""
    yield f"{way.spot.home} {way.passage.id}", amount_of(way.fact("length_mm", way.passage.length_mm))
    if "steering_slack_mm" in way.passage.model_fields_set:  # none if left out, anything if unknown
        yield SLACK, amount_of(way.fact("steering_slack_mm", way.passage.steering_slack_mm))
    if way.passage.along_stack:
        for spacer in spacers_below_stem(view):
            yield spacer, view.amount(spacer, "height_mm")


def way_length(view: View, way: Way) -> Amount:
    """Length of line that this passage takes up, with the slack for steering and the spacers it runs along."""
    return sum((length for _, length in way_lengths(view, way)), Amount(0.0, 0.0))
