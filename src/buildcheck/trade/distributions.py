"""The normal and the beta distribution on whole arrays, with numpy alone: to import scipy takes a third of a second."""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Counts = npt.NDArray[np.int_]

# So fine that a chance read off the table is wrong by no more than 4e-8: a bend of at most 0.25 times the step's
# square over eight. Beyond the last score lies one draw of 1e15.
_SCORES = np.linspace(-8, 8, 16_001)
_CHANCES = np.array([math.erfc(-score / math.sqrt(2)) / 2 for score in _SCORES.tolist()])
_NODES = 4001  # of a quantile's table: its shares are good to a millionth
_TERMS = 40  # of the continued fraction; for the parameters of PERT a dozen and a half give all digits
_TINY = 1e-300


def normal_chances(scores: Floats) -> Floats:
    """The chance of a normal draw to lie below each score."""
    chances: Floats = np.interp(scores, _SCORES, _CHANCES, left=0.0, right=1.0)
    return chances


def normal_scores(chances: Floats) -> Floats:
    """The score below which a normal draw lies with each chance."""
    return np.interp(chances, _CHANCES, _SCORES, left=-math.inf, right=math.inf)


def beta_chances(a: Floats, b: Floats, shares: Floats) -> Floats:
    """The chance of a beta draw with the parameters a and b, each of some units at most, to lie below each share.

    Source: the regularised incomplete beta function by its continued fraction, Handbook of Mathematical Functions
    26.5.8, worked out by Lentz's method and, where it converges faster so, from the other end (from memory).
    """
    turned = shares > (a + 1) / (a + b + 2)
    first, second = np.where(turned, b, a), np.where(turned, a, b)
    x = np.where(turned, 1 - shares, shares)
    whole = np.vectorize(math.lgamma, otypes=[float])
    front = np.exp(whole(a + b) - whole(a) - whole(b)) * x**first * (1 - x) ** second / first
    chances: Floats = front * _fraction(first, second, x)
    return np.where(turned, 1 - chances, chances).clip(0.0, 1.0)


def _fraction(a: Floats, b: Floats, x: Floats) -> Floats:
    """The continued fraction of the incomplete beta function."""
    c = np.ones_like(x)
    d = 1 / _not_zero(1 - (a + b) * x / (a + 1))
    value = d
    for m in range(1, _TERMS):
        for term in (
            m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m)),
            -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1)),
        ):
            d = 1 / _not_zero(1 + term * d)
            c = _not_zero(1 + term / c)
            factor = c * d
            value = value * factor
        if np.all(np.abs(factor - 1) < 1e-13):
            break
    return value


def _not_zero(values: Floats) -> Floats:
    return np.where(np.abs(values) < _TINY, _TINY, values)


def beta_shares(a: float, b: float, chances: Floats) -> Floats:
    """The share below which a beta draw with the parameters a and b lies with each chance."""
    nodes = (1 - np.cos(np.linspace(0, math.pi, _NODES))) / 2  # closer at the ends, where a quantile bends most
    return np.interp(chances, beta_chances(np.array(a), np.array(b), nodes), nodes)
