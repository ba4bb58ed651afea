"""Laws of sums of three-point estimates, held against scipy's beta distribution and against draws at random."""

import math
import subprocess
import sys
import time
from collections.abc import Sequence
from functools import cache

import numpy as np
import numpy.typing as npt
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.stats import beta, norm

from buildcheck.trade.durations import DEFAULT_CORRELATION, Times, Total, TotalSpread, beta_shape, spread_of, total_of
from buildcheck.trade.pert import pert_mean_min, pert_variance

SHARES = (0.5, 0.8, 0.95)
NODES = np.linspace(0, 1, 2001)
# Of the range of a sum: what its percentiles may err by.
ALLOWANCE = 1e-3


@st.composite
def estimates(draw: st.DrawFn) -> Times:
    low = draw(st.floats(0, 60))
    up = draw(st.one_of(st.floats(0, 120), st.sampled_from([0.0, 1.0, 5.0])))
    return low, low + draw(st.sampled_from([0.0, 0.25, 0.5, 1.0]) | st.floats(0, 1)) * up, low + up


several = st.lists(estimates(), min_size=1, max_size=12)
correlations = st.floats(0, 1) | st.sampled_from([0.0, 0.99, 0.999, 0.9991, 1.0])


def range_of(times: Sequence[Times]) -> float:
    return math.fsum(high - low for low, _, high in times)


def variance_of(total: Total) -> float:
    """Of a distribution that rises evenly from edge to edge."""
    chances, width = np.diff(total.chances), np.diff(total.minutes)
    middles = total.minutes[:-1] + width / 2
    return float(chances @ ((middles - total.mean_min) ** 2 + width**2 / 12))


SCORES = np.linspace(-6, 6, 3001)


@cache
def shares_at_scores(time: Times) -> npt.NDArray[np.float64]:
    """The share of its range that an operation takes at each of SCORES."""
    shares: npt.NDArray[np.float64] = beta.ppf(norm.cdf(SCORES), *beta_shape(*time))
    return shares


@cache
def scores(count: int, row: int) -> npt.NDArray[np.float64]:
    """Normal scores drawn at random, each row by itself; the first is common to all operations."""
    return np.random.default_rng((20260731, row)).standard_normal(count)


def draws(times: Sequence[Times], correlation: float, count: int) -> npt.NDArray[np.float64]:
    """Sums drawn at random, from scipy's quantiles of the beta distribution."""
    total = np.zeros(count)
    for row, one in enumerate(times, 1):
        score = math.sqrt(correlation) * scores(count, 0) + math.sqrt(1 - correlation) * scores(count, row)
        total += one[0] + (one[2] - one[0]) * np.interp(score, SCORES, shares_at_scores(one))
    return total


@given(estimates().filter(lambda time: time[2] - time[0] > 1e-3), correlations)
def test_one_operation_alone_has_its_own_percentiles(one: Times, correlation: float) -> None:
    own = beta(*beta_shape(*one), loc=one[0], scale=one[2] - one[0])
    assert own.mean() == pytest.approx(pert_mean_min(*one))
    assert own.var() == pytest.approx(pert_variance(*one), rel=1e-6, abs=1e-12)
    found = spread_of([one], correlation)
    assert found.mean == pytest.approx(pert_mean_min(*one))
    for share, minutes in zip(SHARES, found[1:], strict=True):
        assert minutes == pytest.approx(own.ppf(share), abs=ALLOWANCE * range_of([one]))


@given(several, correlations)
def test_the_mean_is_the_sum_whatever_the_correlation(times: list[Times], correlation: float) -> None:
    total = total_of(times, correlation)
    assert total.mean_min == pytest.approx(math.fsum(pert_mean_min(*time) for time in times), abs=1e-9)
    middles = (total.minutes[1:] + total.minutes[:-1]) / 2
    assert float(np.diff(total.chances) @ middles) == pytest.approx(total.mean_min, abs=2e-4 * range_of(times) + 1e-9)


@given(several, correlations)
def test_percentiles_rise_between_the_sums_of_low_and_high(times: list[Times], correlation: float) -> None:
    found = spread_of(times, correlation)
    low, high = (math.fsum(time[end] for time in times) for end in (0, 2))
    assert low - 1e-9 <= found.p50 <= found.p80 <= found.p95 <= high + 1e-9


@given(several)
def test_independent_variances_add_up(times: list[Times]) -> None:
    own = math.fsum(pert_variance(*time) for time in times)
    assert variance_of(total_of(times, 0)) == pytest.approx(own, abs=1e-6 * range_of(times) ** 2 + 1e-9, rel=1e-3)


@given(several)
def test_together_the_percentiles_add_up(times: list[Times]) -> None:
    found = spread_of(times, 1)
    for share, minutes in zip(SHARES, found[1:], strict=True):
        alone = math.fsum(spread_of([time], 1)[1 + SHARES.index(share)] for time in times)
        assert minutes == pytest.approx(alone, abs=1e-6)


@given(several, st.tuples(correlations, correlations).map(sorted))
def test_more_correlation_never_promises_more(times: list[Times], pair: list[float]) -> None:
    """The sum of the more correlated is greater in convex order: the mean of its worst cases is never smaller.

    That holds for every share of worst cases; p95 itself, of which theory promises less, follows within the allowance.
    """
    less, more = (total_of(times, correlation) for correlation in pair)
    allowance = ALLOWANCE * range_of(times) + 1e-9
    for share in (0.0, 0.5, 0.8, 0.95):
        points = share + (1 - share) * NODES[:-1] + (1 - share) / 4000
        worst = [float(np.interp(points, total.chances, total.minutes).mean()) for total in (less, more)]
        assert worst[0] <= worst[1] + allowance
    assert less.at(0.95) <= more.at(0.95) + allowance


@given(several, estimates(), correlations)
def test_more_work_never_takes_less(times: list[Times], further: Times, correlation: float) -> None:
    less, more = spread_of(times, correlation), spread_of([*times, further], correlation)
    assert all(a <= b + ALLOWANCE * range_of([*times, further]) + 1e-9 for a, b in zip(less, more, strict=True))


@given(several, correlations, st.floats(0, 100), st.floats(0.1, 10))
def test_other_units_and_a_fixed_addition(times: list[Times], correlation: float, plus: float, factor: float) -> None:
    scaled = [(low * factor, likely * factor, high * factor) for low, likely, high in times]
    found = spread_of([*scaled, (plus, plus, plus)], correlation)
    for here, there in zip(spread_of(times, correlation), found, strict=True):
        assert there == pytest.approx(factor * here + plus, abs=factor * (1e-4 * range_of(times) + 1e-6))


@given(several, correlations, st.floats(0.01, 0.99))
def test_percentile_and_chance_are_inverse(times: list[Times], correlation: float, share: float) -> None:
    total = total_of(times, correlation)
    if range_of(times) > 1e-3:
        assert np.interp(total.at(share), total.minutes, total.chances) == pytest.approx(share, abs=1e-6)


@pytest.mark.parametrize("pair", [((2, 5, 8), (1, 2, 9)), ((3, 3, 10), (0, 1, 1)), ((1, 1, 40), (2, 3, 4))])
def test_a_sum_of_two_against_an_integral(pair: tuple[Times, Times]) -> None:
    one, two = (beta(*beta_shape(*time), loc=time[0], scale=time[2] - time[0]) for time in pair)
    total = total_of(pair, 0)
    for share in (0.1, 0.3, 0.5, 0.8, 0.95):
        limit = total.at(share)
        # Over the percentiles of the first, so that no pole of its density has to be integrated.
        chance = quad(lambda part, limit=limit: two.cdf(limit - one.ppf(part)), 0, 1, limit=200)[0]
        assert chance == pytest.approx(share, abs=2e-3)


# `make prove` asks for these correlations, too.
BETWEEN = (0.6, 0.97, 1) if settings.default.max_examples > 1000 else ()
BENCH = [(2.0, 3.0, 6.0), (3.0, 5.0, 10.0), (10.0, 25.0, 120.0), (1.0, 3.0, 10.0), (2.0, 4.0, 6.0), (20.0, 30.0, 45.0)]


@pytest.mark.parametrize("correlation", [0, DEFAULT_CORRELATION, 0.998, *BETWEEN])
@pytest.mark.parametrize("times", [BENCH, BENCH[:2], BENCH[1:2] * 40], ids=["six", "two", "forty"])
def test_against_draws_at_random(times: list[Times], correlation: float) -> None:
    count = 200_000
    total, drawn = total_of(times, correlation), draws(times, correlation, count)
    for share in SHARES:
        # Five standard errors of a share of that many draws; for the mean, of that many sums.
        error = 5 * math.sqrt(share * (1 - share) / count)
        assert float(np.mean(drawn <= total.at(share))) == pytest.approx(share, abs=error + ALLOWANCE)
    assert float(drawn.mean()) == pytest.approx(total.mean_min, abs=5 * float(drawn.std()) / math.sqrt(count))


@settings(deadline=None)
@given(st.lists(estimates(), min_size=60, max_size=80))
def test_of_many_independent_operations_the_sum_is_nearly_normal(times: list[Times]) -> None:
    """Berry and Esseen: the chances differ by at most 0.56 times the third moments over the variance to the 3/2."""
    variance = math.fsum(pert_variance(*time) for time in times)
    third = math.fsum(pert_variance(*time) * (time[2] - time[0]) for time in times)  # at least the third moments
    if variance > 1:
        total = total_of(times, 0)
        bound = 0.56 * third / variance**1.5
        for share in SHARES:
            normal = norm.cdf((total.at(share) - total.mean_min) / math.sqrt(variance))
            assert float(normal) == pytest.approx(share, abs=bound + ALLOWANCE)


def test_what_is_certain_stays_so() -> None:
    assert spread_of([]) == TotalSpread(0, 0, 0, 0)
    assert spread_of([(3, 3, 3), (4, 4, 4)], 0.5) == TotalSpread(7, 7, 7, 7)
    certain = total_of([(3, 3, 3)])
    assert (certain.at(0.01), certain.at(0.99)) == (3, 3)


def test_a_job_of_seventy_operations_is_quick() -> None:
    times = [(1 + k / 20, 2 + k / 10, 5 + k / 3) for k in range(70)]
    spread_of(times[:2])
    for correlation in (0, DEFAULT_CORRELATION):
        begun = time.process_time()
        spread_of(times, correlation)
        assert time.process_time() - begun < 0.3


def test_a_job_card_does_without_scipy() -> None:
    code = "import sys, buildcheck.jobs; assert 'numpy' in sys.modules; assert 'scipy' not in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True, timeout=60)


@pytest.mark.parametrize("wrong", [(3, 2, 1), (-1, 0, 1), (1, 2, math.inf), (math.nan, 1, 2), (2, 2, 2)])
def test_no_shape_without_a_sound_estimate(wrong: Times) -> None:
    with pytest.raises(ValueError, match=r"must rise|has no spread"):
        beta_shape(*wrong)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(ValueError, match="must rise"):
        total_of([(1, 2, 3), (3, 2, 1)])
    for wrong in (-0.1, 1.1, math.nan):
        with pytest.raises(ValueError, match="correlation"):
            total_of([(1, 2, 3)], wrong)
    for share in (0, 1, math.nan):
        with pytest.raises(ValueError, match="between 0 and 1"):
            total_of([(1, 2, 3)]).at(share)
