"""Routes are the cheapest ways, found again here by looking at every simple way; shared bores hold all lines."""

from __future__ import annotations

from itertools import product
from math import inf
from typing import Any

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.facts import Answer
from buildcheck.fit.line_graph import Edge, LineGraph
from buildcheck.fit.lines import Route, Routing, bore_test, find_routes, laid_for_sure, shared_bores
from buildcheck.fit.passages import Way, build_passages, way_length
from buildcheck.fit.threading import threading
from buildcheck.fit.view import Memo, View
from fit.make import fitted, part, view
from laws.bench import catalogue

NODES = ["lever-left", "front-caliper", "a", "b", "c"]
OPEN = {"shape": "open"}


def passage(name: str, start: str, end: str, length: Any = 100, bore: Any = OPEN, **more: Any) -> dict[str, Any]:
    return {"id": name, "start": start, "end": end, "length_mm": length, "bore": bore, **more}


def bike_with(passages: list[dict[str, Any]], *outers: Any, **line: Any) -> View:
    """A frame with these passages, and lines of these thicknesses from the left lever to the front caliper."""
    spots = [fitted("frame", part("frame", passages=passages)), fitted("lever-left", part("lever", hand="left")),
             fitted("front-caliper", part("caliper"))]  # fmt: skip
    names = ["front-brake-line", "front-shift-line", "rear-shift-line"]
    for name, outer in zip(names, outers, strict=False):
        spots.append(fitted(name, part("housing", outer_mm=outer, **line), start="lever-left", end="front-caliper"))
    return view(spots)


@st.composite
def passages(draw: st.DrawFn, most: int = 7) -> list[dict[str, Any]]:
    rows = []
    for index in range(draw(st.integers(1, most))):
        start, end = draw(st.permutations(NODES))[:2]
        low = draw(st.integers(1, 300))
        length = draw(st.sampled_from([low, f"{low}..{low + 50}", "unknown"]))
        bore = draw(
            st.sampled_from(
                [OPEN, {"shape": "round", "diameter_mm": 4}, {"shape": "round", "diameter_mm": 9}, {"shape": "round"}]
            )
        )
        slack = draw(st.sampled_from([{}, {"steering_slack_mm": 30}, {"steering_slack_mm": 200}]))
        rows.append(passage(f"p{index}", start, end, length, bore, **slack))
    return rows


def simple_ways(of: View) -> list[list[Way]]:
    """Every way from lever to caliper over real passages."""
    edges = [(edge.u, edge.v, edge.key, {"way": edge.way}) for edge in build_passages(of).edges if edge.way is not None]
    graph: nx.MultiGraph[str] = nx.MultiGraph(edges)
    if NODES[0] not in graph or NODES[1] not in graph:
        return []
    return [[graph.edges[edge]["way"] for edge in path] for path in nx.all_simple_edge_paths(graph, NODES[0], NODES[1])]


def length_of(of: View, ways: list[Way]) -> tuple[float, float]:
    amounts = [way_length(of, way) for way in ways]
    return sum(amount.low for amount in amounts), sum(amount.high for amount in amounts)


def answers(of: View, ways: list[Way]) -> set[str]:
    return {way.holds((of.amount("front-brake-line", "outer_mm"),)).answer.value for way in ways}


@given(rows=passages())
def test_a_route_is_the_best_of_all_simple_ways(rows: list[dict[str, Any]]) -> None:
    of = bike_with(rows, 5)
    routing = find_routes(of)
    every = simple_ways(of)
    certain = [ways for ways in every if answers(of, ways) == {"yes"}]
    possible = [ways for ways in every if "no" not in answers(of, ways)]
    if not possible:
        assert "front-brake-line" not in routing.routes or routing.routes["front-brake-line"].blocked
        return
    route = routing.routes["front-brake-line"]
    assert not route.blocked
    assert list(route.ways) in possible
    if certain:
        assert list(route.ways) in certain, "a certain way goes before a doubtful one"
        assert length_of(of, list(route.ways))[1] == min(length_of(of, ways)[1] for ways in certain)
        assert route.needed.high == min(length_of(of, ways)[1] for ways in certain)
    # whatever is still to be found out, the line needs no less than the shortest way that may be open
    assert route.needed.low == min(length_of(of, ways)[0] for ways in possible)
    assert route.needed.high >= min(length_of(of, ways)[1] for ways in possible)


def all_fit(of: View, routes: dict[str, Route]) -> bool:
    return all(bore_test(of, way, lines).yes for way, lines in shared_bores(routes))


@given(
    bores=st.lists(st.sampled_from([5.0, 6.0, 9.0, 11.0, 13.0]), min_size=1, max_size=3),
    outers=st.lists(st.sampled_from([4.0, 5.0]), min_size=2, max_size=3),
)
def test_lines_are_laid_so_that_all_pass_if_any_layout_does(bores: list[float], outers: list[float]) -> None:
    rows = [
        passage(f"p{index}", *NODES[:2], 100 + index, {"shape": "round", "diameter_mm": bore})
        for index, bore in enumerate(bores)
    ]
    of = bike_with(rows, *outers)
    routing: Routing = find_routes(of)
    ways = simple_ways(of)
    names = sorted(spot.position for spot in of.of_kind(("housing",)))

    def fits(layout: tuple[list[Way], ...]) -> bool:
        inside: dict[str, tuple[Way, list[Any]]] = {}
        for name, chosen in zip(names, layout, strict=True):
            inside.setdefault(chosen[0].id, (chosen[0], []))[1].append(of.bike[name])
        return all(bore_test(of, way, lines).yes for way, lines in inside.values())

    if any(fits(layout) for layout in product(ways, repeat=len(names))):
        assert not any(route.blocked for route in routing.routes.values())
        assert all_fit(of, routing.routes)
    else:
        assert not all_fit(of, routing.routes) or any(route.blocked for route in routing.routes.values())


@given(
    rows=passages(most=5),
    outers=st.lists(st.sampled_from([3.0, 5.0]), min_size=1, max_size=2),
    at=st.floats(0, 1),
)
def test_a_line_that_is_laid_for_sure_stays_there_whatever_the_lengths_turn_out_to_be(
    rows: list[dict[str, Any]], outers: list[float], at: float
) -> None:
    for number, row in enumerate(rows):
        low = 100 + 10 * number
        row["length_mm"] = f"{low}..{low + 60}" if number % 2 else low
    of = bike_with(rows, *outers)
    routes = find_routes(of)
    for name, route in routes.routes.items():
        if not laid_for_sure(of, routes, [name]):
            continue
        for share in (0.0, at, 1.0):
            exact = [
                {
                    **row,
                    "length_mm": 100 + 10 * number + (60 * (share if number % 4 == 1 else 1 - share)) * (number % 2),
                }
                for number, row in enumerate(rows)
            ]
            again = find_routes(bike_with(exact, *outers)).routes[name]
            assert [way.id for way in again.ways] == [way.id for way in route.ways]


def test_two_ways_of_which_either_may_be_the_shorter_are_not_sure() -> None:
    rows = [passage("one", *NODES[:2], "100..150"), passage("other", *NODES[:2], 120)]
    routing = find_routes(bike_with(rows, 5))
    assert not laid_for_sure(bike_with(rows, 5), routing, ["front-brake-line"])
    rows[1]["length_mm"] = 151
    of = bike_with(rows, 5)
    assert laid_for_sure(of, find_routes(of), ["front-brake-line"])


def test_a_line_is_not_sure_where_another_may_come_to_crowd_it() -> None:
    bore = {"shape": "round", "diameter_mm": 6}
    rows = [passage("shared", *NODES[:2], 100, bore), passage("round", "a", NODES[1], 400, bore)]
    rows.append(passage("up", NODES[0], "a", "10..900", bore))
    of = bike_with(rows, 5)
    assert laid_for_sure(of, find_routes(of), ["front-brake-line"])
    of = bike_with(rows, 5, 5)
    assert not laid_for_sure(of, find_routes(of), ["front-brake-line"])


def test_a_third_line_moves_on_to_make_room() -> None:
    rows = [
        passage("narrow", *NODES[:2], 100, {"shape": "round", "diameter_mm": 8.5}),
        passage("other", *NODES[:2], 110, {"shape": "round", "diameter_mm": 5.5}),
        passage("far", *NODES[:2], 120, {"shape": "round", "diameter_mm": 4.5}),
    ]
    routing = find_routes(bike_with(rows, 5, 5, 4))
    ways = {name: route.ways[0].passage.id for name, route in routing.routes.items()}
    assert ways["rear-shift-line"] == "far"
    assert {ways["front-brake-line"], ways["front-shift-line"]} == {"narrow", "other"}


def test_a_line_without_any_way_is_disconnected() -> None:
    routing = find_routes(bike_with([passage("p", "a", "b")], 5))
    assert [line.position for line in routing.disconnected] == ["front-brake-line"]
    assert routing.routes == {}


def test_a_line_of_a_kind_that_a_passage_does_not_carry_is_blocked() -> None:
    routing = find_routes(bike_with([passage("p", *NODES[:2], carries=["wire"])], 5))
    assert routing.routes["front-brake-line"].blocked


def test_a_steering_slack_that_nobody_knows_may_be_any() -> None:
    needed = (
        find_routes(bike_with([passage("p", *NODES[:2], steering_slack_mm=None)], 5)).routes["front-brake-line"].needed
    )
    assert (needed.low, needed.high) == (100, inf)


def test_the_certain_way_is_the_one_that_takes_least_at_most() -> None:
    rows = [passage("close", *NODES[:2], 110), passage("loose", *NODES[:2], "100..900")]
    route = find_routes(bike_with(rows, 5)).routes["front-brake-line"]
    assert route.ways[0].passage.id == "close"
    assert (route.needed.low, route.needed.high) == (100, 110)


def narrow_frame_and_unknown_stem() -> View:
    """A frame whose only way is too narrow, beside a stem of which nobody knows the ways."""
    rows = [passage("p", *NODES[:2], 100, {"shape": "round", "diameter_mm": 4})]
    return view([*bike_with(rows, 5).bike.main_spots(), fitted("stem", part("stem", passages=None))])


def test_a_part_of_which_nobody_knows_the_ways_may_lead_anywhere() -> None:
    routing = find_routes(narrow_frame_and_unknown_stem())
    route = routing.routes["front-brake-line"]
    assert not routing.disconnected
    assert not route.blocked
    assert not route.certain
    assert {way.spot.position for way in route.ways} == {"stem"}
    assert (route.needed.low, route.needed.high) == (0, inf)
    assert {(f.position, f.attribute) for f in route.needed.facts if f.value is None} == {("stem", "passages")}


def test_a_certain_way_goes_before_an_unknown_one() -> None:
    spots = [*bike_with([passage("p", *NODES[:2])], 5).bike.main_spots(), fitted("stem", part("stem", passages=None))]
    route = find_routes(view(spots)).routes["front-brake-line"]
    assert [way.passage.id for way in route.ways] == ["p"]
    assert (route.needed.low, route.needed.high) == (0, 100)


def test_a_gap_is_told_with_the_part_that_is_there_now() -> None:
    memo = Memo()
    for where in ("old.yaml:1", "new.yaml:2"):
        bar = fitted("stem", part("stem", passages=[]), where={"": where})
        others = [*bike_with([], 5).bike.main_spots(), bar]
        of = View(view(others).bike, catalogue().standards, memo=memo)
        graph = LineGraph(of, build_passages(of), of.bike["front-brake-line"], where)
        step = graph.step(Edge("", "", "", None, "stem"))
        assert [fact.where for fact in step.bore.facts] == [where]


def test_whether_a_line_passes_is_asked_again_for_a_thicker_one() -> None:
    memo = Memo()
    rows = [passage("p", *NODES[:2], 100, {"shape": "round", "diameter_mm": 6})]
    frame, *_ = bike_with(rows).bike.main_spots()
    for outer, answer in ((5, Answer.YES), (7, Answer.NO)):
        others = [frame, *(spot for spot in bike_with(rows, outer).bike.main_spots() if spot.position != "frame")]
        of = View(view(others).bike, catalogue().standards, memo=memo)
        (way,) = find_routes(of).routes["front-brake-line"].ways
        assert bore_test(of, way, [of.bike["front-brake-line"]]).answer is answer


def test_a_way_too_small_for_the_ends_proves_nothing_beside_another_way() -> None:
    rows = [passage("small", *NODES[:2], 100, {"shape": "round", "diameter_mm": 6}), passage("large", *NODES[:2], 200)]
    of = bike_with(rows, 5, start_fitting_mm=9, end_fitting_mm=9, start_cuttable=False, end_cuttable=False)
    assert threading(of, find_routes(of).routes["front-brake-line"]).test.answer is Answer.UNKNOWN


def test_a_line_is_threaded_by_the_end_that_passes() -> None:
    rows = [passage("p", *NODES[:2], 100, {"shape": "round", "diameter_mm": 6})]
    ends = {"start_cuttable": True, "end_cuttable": False}
    for start, end, cuts, answer in [
        (5, 9, (), "yes"), (9, 5, (), "yes"), (9, 9, ("start",), "yes"), ("unknown", 9, ("start",), "yes"),
    ]:  # fmt: skip
        of = bike_with(rows, 5, start_fitting_mm=start, end_fitting_mm=end, **ends)
        told = threading(of, find_routes(of).routes["front-brake-line"])
        assert (told.cuts, told.test.answer.value) == (cuts, answer)


def test_a_line_with_two_moulded_ends_cannot_be_threaded() -> None:
    rows = [passage("p", *NODES[:2], 100, {"shape": "round", "diameter_mm": 6})]
    of = bike_with(rows, 5, start_fitting_mm=9, end_fitting_mm=9, start_cuttable=False, end_cuttable=False)
    assert threading(of, find_routes(of).routes["front-brake-line"]).test.no


def test_nobody_knows_whether_an_end_can_be_cut() -> None:
    rows = [passage("p", *NODES[:2], 100, {"shape": "round", "diameter_mm": 6})]
    of = bike_with(rows, 5, start_fitting_mm=9, end_fitting_mm=9, end_cuttable=False)
    told = threading(of, find_routes(of).routes["front-brake-line"])
    assert (told.test.answer.value, told.cuts) == ("unknown", ("start",))
