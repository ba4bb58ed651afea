"""Minimising: QuickXplain, weakening and widening, held to the plain ways."""

from __future__ import annotations

from collections.abc import Mapping

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.remedies import minimal_subset, weakest_of_each, widest_limits

SETS = st.frozensets(st.integers(0, 9), max_size=4)


def holds_with(enough: list[frozenset[int]], some: frozenset[int]) -> bool:
    return any(each <= some for each in enough)


def by_deletion(elements: list[int], enough: list[frozenset[int]]) -> frozenset[int]:
    kept = frozenset(elements)
    for element in reversed(elements):
        if holds_with(enough, kept - {element}):
            kept -= {element}
    return kept


@given(st.lists(SETS, min_size=1, max_size=5), st.permutations(range(10)))
def test_what_is_kept_is_what_leaving_out_one_by_one_keeps(enough: list[frozenset[int]], order: list[int]) -> None:
    found = minimal_subset(order, lambda some: holds_with(enough, some))
    assert holds_with(enough, found)
    assert not any(holds_with(enough, found - {each}) for each in found)
    assert found == by_deletion(order, enough)


@given(st.integers(0, 199))
def test_few_of_many_are_found_with_few_trials(one: int) -> None:
    tried: list[frozenset[int]] = []

    def holds(some: frozenset[int]) -> bool:
        tried.append(some)
        return one in some

    assert minimal_subset(range(200), holds) == {one}
    assert len(tried) <= 20
    assert len(tried) == len(set(tried))


@given(st.sets(SETS, max_size=200))
def test_what_is_returned_was_tried_though_the_trial_makes_no_sense(answers: set[frozenset[int]]) -> None:
    everything = frozenset(range(10))
    assert minimal_subset(range(10), lambda some: some in answers) in answers | {everything}


def test_nothing_is_kept_where_nothing_is_needed() -> None:
    assert minimal_subset([], lambda some: False) == frozenset()
    assert minimal_subset([1, 2], lambda some: True) == frozenset()


CHAINS = {"a": [9, 5, 1], "b": [9, 5, 1], "c": []}


def test_each_is_weakened_as_far_as_all_together_allow() -> None:
    def holds(some: Mapping[str, int]) -> bool:
        return sum(some.values()) <= 10

    assert weakest_of_each(CHAINS, {}, holds) == {"a": 0, "b": 2}
    assert weakest_of_each(CHAINS, {"a": 1, "b": 1}, holds) == {"a": 1, "b": 1}
    assert weakest_of_each(CHAINS, {}, lambda some: "b" not in some) == {"a": 0}
    assert weakest_of_each({"c": []}, {}, holds) == {}


@given(st.lists(st.integers(0, 50), min_size=2, unique=True).map(sorted), st.data())
def test_limits_are_as_wide_as_they_may_be(ends: list[int], data: st.DataObject) -> None:
    value = data.draw(st.sampled_from(ends))
    low = data.draw(st.integers(0, value))
    high = data.draw(st.integers(value, 50))
    found = widest_limits((value, value), ends, (value, value), lambda limits: low <= limits[0] <= limits[1] <= high)
    assert found == (min(end for end in ends if end >= low), max(end for end in ends if end <= high))
