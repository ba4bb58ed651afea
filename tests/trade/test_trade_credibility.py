"""Laws of the weight of a record, and its agreement with what Bayes gives for normal distributions."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.credibility import credibility_mean, credibility_weight

counts, ks, means = st.integers(0, 10**6), st.floats(0.01, 1000), st.floats(0.1, 1000)


@given(counts, ks)
def test_the_weight_grows_from_nothing_and_never_reaches_one(count: int, k: float) -> None:
    weight = credibility_weight(count, k)
    assert 0 <= weight < credibility_weight(count + 1, k) < 1
    assert (weight == 0) == (count == 0)


@given(counts, ks, st.floats(1.01, 100))
def test_the_more_work_varies_the_less_a_record_says(count: int, k: float, factor: float) -> None:
    assert credibility_weight(count, k * factor) <= credibility_weight(count, k)


@given(means, means, st.floats(0, 1))
def test_the_mean_lies_between_book_and_record(book: float, sample: float, weight: float) -> None:
    low, high = sorted((book, sample))
    assert low - 1e-9 <= credibility_mean(book, sample, weight) <= high + 1e-9


@pytest.mark.parametrize("count", [1, 3, 20])
def test_it_is_the_mean_after_the_record_by_bayes(count: int) -> None:
    """Normal from time to time and from shop to shop: then credibility is no approximation."""
    book, sample, within, between = 10.0, 14.0, 3.0, 1.5
    shop = np.linspace(-20, 40, 60_001)
    log = -((shop - book) ** 2) / (2 * between**2) - count * (sample - shop) ** 2 / (2 * within**2)
    density = np.exp(log - log.max())
    weight = credibility_weight(count, within**2 / between**2)
    assert credibility_mean(book, sample, weight) == pytest.approx(float(density @ shop / density.sum()), abs=1e-6)


def test_what_cannot_be_is_refused() -> None:
    for count, k in ((-1, 5.0), (1, 0.0), (1, math.inf), (1, math.nan)):
        with pytest.raises(ValueError, match="must be 0 or more"):
            credibility_weight(count, k)
    for weight in (-0.1, 1.1, math.nan):
        with pytest.raises(ValueError, match="between 0 and 1"):
            credibility_mean(1, 2, weight)
