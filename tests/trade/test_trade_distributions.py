"""The normal and the beta distribution of our own, held against scipy's."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import betainc, betaincinv, ndtr, ndtri

from buildcheck.trade.distributions import beta_chances, beta_shares, normal_chances, normal_scores
from buildcheck.trade.durations import beta_shape

ENDS = np.concatenate(([0.0], np.geomspace(1e-12, 0.5, 200), 1 - np.geomspace(1e-12, 0.49, 200), [1.0]))
peaks = st.floats(0, 1).map(lambda peak: beta_shape(0.0, peak, 1.0))


@given(peaks)
def test_the_beta_distribution(shape: tuple[float, float]) -> None:
    a, b = shape
    assert beta_chances(np.array(a), np.array(b), ENDS) == pytest.approx(betainc(a, b, ENDS), abs=1e-12)
    assert beta_shares(a, b, ENDS) == pytest.approx(betaincinv(a, b, ENDS), abs=1e-6)


@given(st.lists(peaks, min_size=2, max_size=5))
def test_many_beta_distributions_at_once(shapes: list[tuple[float, float]]) -> None:
    a, b = np.array(shapes).T
    shares = np.linspace(0, 1, 7)[:, None]
    assert beta_chances(a, b, shares) == pytest.approx(betainc(a, b, shares), abs=1e-12)


def test_the_normal_distribution() -> None:
    scores = np.concatenate(([-np.inf], np.linspace(-12, 12, 9973), [np.inf]))
    assert normal_chances(scores) == pytest.approx(ndtr(scores), abs=4e-8)
    chances = ndtr(np.linspace(-7.9, 6, 9973))
    assert normal_scores(chances) == pytest.approx(ndtri(chances), abs=1e-5)
    assert normal_scores(np.array([0.0, 1.0])).tolist() == [-np.inf, np.inf]
