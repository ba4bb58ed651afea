"""How far a few observations are believed against a figure from a book."""

from __future__ import annotations

import math


def credibility_weight(count: int, k: float) -> float:
    """The weight of the mean of `count` observations, count / (count + k): from 0 up to, but not including, 1.

    k is the variance from one time to the next over the variance from one shop to the next: so many observations weigh
    as much as the book.
    Errors: ValueError for a negative count or a k that is not above 0.
    Source: Experience rating and credibility, ASTIN Bulletin 4 (1967), from memory.
    """
    if count < 0 or not 0 < k < math.inf:
        raise ValueError(f"count {count} must be 0 or more, and k {k} above 0")
    return count / (count + k)


def credibility_mean(book_mean: float, sample_mean: float, weight: float) -> float:
    """The mean to expect: `weight` of what was observed and the rest of the book. In the unit of both means.

    Errors: ValueError for a weight outside 0 to 1. Source: as credibility_weight.
    """
    if not 0 <= weight <= 1:
        raise ValueError(f"weight {weight} must lie between 0 and 1")
    return weight * sample_mean + (1 - weight) * book_mean
