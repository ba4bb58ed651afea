"""Laws of three-point estimates."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.pert import (
    normal_percentile,
    pert_mean_min,
    pert_variance,
)

estimate = st.lists(st.floats(0, 500), min_size=3, max_size=3).map(lambda t: tuple(sorted(t)))
Estimate = tuple[float, float, float]


@given(estimate)
def test_the_mean_lies_between_low_and_high(e: Estimate) -> None:
    assert e[0] - 1e-9 <= pert_mean_min(*e) <= e[2] + 1e-9
    assert 0 <= pert_variance(*e) <= ((e[2] - e[0]) / 2) ** 2


@given(st.floats(0, 1e4), st.floats(0.01, 1e4), st.floats(0.01, 0.99))
def test_the_percentile_is_kept_in_its_share_of_cases(mean: float, variance: float, share: float) -> None:
    spreads = (normal_percentile(mean, variance, share) - mean) / math.sqrt(2 * variance)
    assert (1 + math.erf(spreads)) / 2 == pytest.approx(share, abs=1e-6)


def test_without_spread_the_mean_is_certain() -> None:
    assert normal_percentile(30, 0, 0.8) == 30


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
        lambda: normal_percentile(1, math.inf, 0.5),
    ],
)
def test_impossible_distributions_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must|not a finite number"):
        call()  # type: ignore[operator]
