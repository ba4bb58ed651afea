"""The order of work on the schedule."""

from __future__ import annotations

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.work.schedule import Schedule, Wait, make_schedule


def plan(edges: list[tuple[str, str]], minutes: dict[str, float], waits: dict[str, Wait]) -> Schedule:
    before = {name: [first for first, second in edges if second == name] for name in minutes}
    return make_schedule(before, minutes, waits, lambda name: name)


def test_what_waits_waits_beside_the_rest() -> None:
    schedule = plan(
        [("glue", "tape")], {"glue": 5.0, "saddle": 20.0, "tape": 10.0}, {"glue": Wait(15.0, frozenset({"tape"}))}
    )
    assert schedule == Schedule({"glue": 0.0, "saddle": 5.0, "tape": 25.0}, 35.0)


def test_the_mechanic_stands_idle_only_when_all_the_rest_must_wait() -> None:
    schedule = plan(
        [("glue", "tape")], {"glue": 5.0, "saddle": 4.0, "tape": 10.0}, {"glue": Wait(30.0, frozenset({"tape"}))}
    )
    assert schedule == Schedule({"glue": 0.0, "saddle": 5.0, "tape": 35.0}, 45.0)


def test_of_one_phase_what_waits_longest_is_done_first() -> None:
    waits = {"op-glue": Wait(15.0, frozenset({"op-tape"})), "op-soak": Wait(60.0, frozenset({"op-post"}))}
    minutes = {"op-glue": 5.0, "op-post": 5.0, "op-soak": 5.0, "op-tape": 5.0}
    schedule = plan([("op-glue", "op-tape"), ("op-soak", "op-post")], minutes, waits)
    assert schedule == Schedule({"op-soak": 0.0, "op-glue": 5.0, "op-tape": 25.0, "op-post": 65.0}, 70.0)


def test_waiting_at_the_end_counts_for_the_bike() -> None:
    assert plan([], {"sealant": 5.0}, {"sealant": Wait(60.0, frozenset())}).ends_min == 65.0


def test_a_ring_is_told() -> None:
    with pytest.raises(ValueError, match="ring among a, b"):
        plan([("a", "b"), ("b", "a")], {"a": 1.0, "b": 1.0}, {})


@st.composite
def plans(draw: st.DrawFn) -> tuple[list[tuple[str, str]], dict[str, float], dict[str, Wait]]:
    names = [f"op-{number}" for number in range(draw(st.integers(1, 7)))]
    pairs = [(a, b) for index, a in enumerate(names) for b in names[index + 1 :]]
    edges = draw(st.lists(st.sampled_from(pairs), unique=True)) if pairs else []
    minutes = {name: float(draw(st.integers(1, 30))) for name in names}
    after: dict[str, list[str]] = {name: [b for a, b in edges if a == name] for name in names}
    waits = {
        name: Wait(float(draw(st.integers(1, 90))), frozenset(after[name])) for name in names if draw(st.booleans())
    }
    return edges, minutes, waits


@given(plans())
def test_nothing_begins_too_early_and_no_minute_is_lost_without_need(
    case: tuple[list[tuple[str, str]], dict[str, float], dict[str, Wait]],
) -> None:
    edges, minutes, waits = case
    schedule = plan(edges, minutes, waits)
    ends = {name: start + minutes[name] for name, start in schedule.starts_min.items()}
    for a, b in edges:
        rest = waits[a].minutes if a in waits and b in waits[a].before else 0.0
        assert schedule.starts_min[b] >= ends[a] + rest
    order = list(schedule.starts_min)
    assert all(schedule.starts_min[b] >= ends[a] for a, b in itertools.pairwise(order)), "one pair of hands"
    bench, waiting = sum(minutes.values()), sum(wait.minutes for wait in waits.values())
    assert bench <= schedule.ends_min <= bench + waiting
    assert schedule.ends_min >= longest(edges, minutes, waits)


def longest(edges: list[tuple[str, str]], minutes: dict[str, float], waits: dict[str, Wait]) -> float:
    """The longest chain of operations and the waiting between them: by trying every chain."""

    def from_here(name: str) -> float:
        wait = waits[name].minutes if name in waits else 0.0
        later = [
            (wait if name in waits and b in waits[name].before else 0.0) + from_here(b) for a, b in edges if a == name
        ]
        return minutes[name] + max([wait, *later])

    return max(from_here(name) for name in minutes)
