"""What can be reached over the steps of a graph, against networkx."""

from __future__ import annotations

import networkx as nx
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.graphs import pieces, reached
from buildcheck.work.precedence import straight_before

Steps = dict[str, set[str]]
NAMES = "abcdefg"


@st.composite
def steps(draw: st.DrawFn) -> Steps:
    return {name: draw(st.sets(st.sampled_from(NAMES))) for name in draw(st.permutations(NAMES))}


@given(steps=steps())
def test_what_is_reached_is_all_that_steps_lead_to(steps: Steps) -> None:
    graph = nx.DiGraph(steps)
    for name in NAMES:
        assert reached(steps, name) - {name} == nx.descendants(graph, name)
        assert (name in reached(steps, name)) == any(name in {one, *nx.descendants(graph, one)} for one in steps[name])


@given(steps=steps())
def test_pieces_hang_together(steps: Steps) -> None:
    graph = nx.Graph(steps)
    both = {name: set(graph[name]) for name in steps}
    assert sorted(pieces(both)) == sorted(map(sorted, nx.connected_components(graph)))
    assert [len(piece) for piece in pieces(both)] == sorted(map(len, pieces(both)), reverse=True)


@given(steps=steps())
def test_what_comes_right_before_is_the_reduction_of_all_that_comes_before(steps: Steps) -> None:
    before = {name: {other for other in steps[name] if other < name} for name in steps}
    reduced = nx.transitive_reduction(nx.DiGraph(before))
    earlier = {name: reached(before, name) for name in before}
    assert {name: straight_before(earlier, name) for name in before} == {name: set(reduced[name]) for name in before}


def test_nothing_is_reached_from_what_is_not_there() -> None:
    assert reached({}, "a") == set()
    assert pieces({}) == []
