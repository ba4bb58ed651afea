"""Laws of three-point estimates and the critical path, held against a brute-force list of all chains."""

import math
from collections.abc import Iterator
from itertools import pairwise
from random import Random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.pert import (
    critical_path,
    normal_percentile,
    pert_mean_min,
    pert_variance,
    probability_within,
)

estimate = st.lists(st.floats(0, 500), min_size=3, max_size=3).map(lambda t: tuple(sorted(t)))
Estimate = tuple[float, float, float]


@st.composite
def plans(draw: st.DrawFn) -> tuple[dict[str, Estimate], dict[str, list[str]]]:
    names = [f"n{k}" for k in range(draw(st.integers(1, 7)))]
    after = {name: draw(st.lists(st.sampled_from(names[:k]), unique=True)) for k, name in enumerate(names) if k}
    return {name: draw(estimate) for name in names}, after


def all_chains(names: list[str], after: dict[str, list[str]]) -> Iterator[list[str]]:
    def back(name: str) -> Iterator[list[str]]:
        yield [name]
        for earlier in after.get(name, []):
            for chain in back(earlier):
                yield [*chain, name]

    for name in names:
        yield from back(name)


@given(estimate)
def test_the_mean_lies_between_low_and_high(e: Estimate) -> None:
    assert e[0] - 1e-9 <= pert_mean_min(*e) <= e[2] + 1e-9
    assert 0 <= pert_variance(*e) <= ((e[2] - e[0]) / 2) ** 2


@given(plans())
def test_no_chain_is_longer_than_the_critical_path(
    plan: tuple[dict[str, Estimate], dict[str, list[str]]],
) -> None:
    activities, after = plan
    path, mean, variance = critical_path(activities, after)
    assert mean == pytest.approx(math.fsum(pert_mean_min(*activities[a]) for a in path))
    assert variance == pytest.approx(math.fsum(pert_variance(*activities[a]) for a in path))
    assert all(a in after.get(b, []) for a, b in pairwise(path))
    longest = max(sum(pert_mean_min(*activities[a]) for a in chain) for chain in all_chains(list(activities), after))
    assert mean == pytest.approx(longest, abs=1e-8)


@given(plans(), st.randoms(use_true_random=False))
def test_the_order_of_the_input_changes_nothing(
    plan: tuple[dict[str, Estimate], dict[str, list[str]]], random: Random
) -> None:
    activities, after = plan
    names = list(activities)
    random.shuffle(names)
    shuffled = {n: after[n][::-1] for n in names if n in after}
    assert critical_path({n: activities[n] for n in names}, shuffled) == critical_path(activities, after)


@given(plans(), estimate)
def test_more_work_never_shortens_the_path(
    plan: tuple[dict[str, Estimate], dict[str, list[str]]], more: Estimate
) -> None:
    activities, after = plan
    mean = critical_path(activities, after)[1]
    assert critical_path({**activities, "more": more}, {**after, "more": ["n0"]})[1] >= mean - 1e-9


@given(st.floats(0, 1e4), st.floats(0.01, 1e4), st.floats(0.01, 0.99))
def test_percentile_and_probability_are_inverse(mean: float, variance: float, share: float) -> None:
    assert probability_within(mean, variance, normal_percentile(mean, variance, share)) == pytest.approx(share)


def test_without_spread_the_mean_is_certain() -> None:
    assert normal_percentile(30, 0, 0.8) == 30
    assert (probability_within(30, 0, 30), probability_within(30, 0, 29.9)) == (1.0, 0.0)


def test_of_equal_chains_the_less_certain_is_given() -> None:
    activities = {"sure": (5.0, 5.0, 5.0), "unsure": (1.0, 5.0, 9.0), "other": (1.0, 5.0, 9.0)}
    assert critical_path(activities, {})[0] == ("other",)
    assert critical_path({}, {}) == ((), 0.0, 0.0)


def test_faults_in_a_plan_are_named() -> None:
    one = (1.0, 1.0, 1.0)
    with pytest.raises(ValueError, match=r"ring: .* after .* after "):
        critical_path({"a": one, "b": one}, {"a": ["b"], "b": ["a"]})
    with pytest.raises(ValueError, match=r"'x' is named as a predecessor of 'a'"):
        critical_path({"a": one}, {"a": ["x"]})
    with pytest.raises(ValueError, match=r"'x' has predecessors but has no estimate"):
        critical_path({"a": one}, {"x": ["a"]})
    with pytest.raises(ValueError, match=r"activity 'a': estimate 3 / 2 / 1"):
        critical_path({"a": (3, 2, 1)}, {})


@pytest.mark.parametrize("wrong", [(3, 2, 1), (-1, 0, 1), (1, 2, math.inf), (math.nan, 1, 2), (1, math.nan, 2)])
def test_estimates_must_rise(wrong: Estimate) -> None:
    for formula in (pert_mean_min, pert_variance):
        with pytest.raises(ValueError, match=r"must|not a finite number"):
            formula(*wrong)


@pytest.mark.parametrize(
    "call",
    [
        lambda: normal_percentile(1, 1, 0),
        lambda: normal_percentile(1, 1, 1),
        lambda: normal_percentile(1, -1, 0.5),
        lambda: normal_percentile(math.nan, 1, 0.5),
        lambda: probability_within(1, 1, math.nan),
        lambda: probability_within(1, math.inf, 1),
    ],
)
def test_impossible_distributions_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must|not a finite number"):
        call()  # type: ignore[operator]
