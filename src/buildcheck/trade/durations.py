"""How long a sum of three-point estimates takes, exactly: not its mean alone, but the whole distribution.

Nothing is taken as normal here. Each estimate is a beta distribution, the sum is their convolution on a fine grid, and
operations that go slowly together are correlated by one common factor. This module needs numpy; only what works out a
job card imports it.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from buildcheck.trade.distributions import Counts, Floats, beta_chances, beta_shares, normal_chances, normal_scores
from buildcheck.trade.pert import Times, pert_mean_min

# Any two operations of one job: our assumption, no source. A bike that is seized at one bolt is slow at the next.
DEFAULT_CORRELATION = 0.2

_CELLS = 4000
_FFT_LENGTH = 4096  # holds the sum of any number of operations: it has at most _CELLS + 1 cells
_LARGEST_FACTOR = 4.5  # 7 of a million jobs lie beyond; the weights are made to add up to one
_WIDEST_STEP, _FINEST_STEP = 0.5, 0.025
_AS_GOOD_AS_ONE = 0.999  # beyond, what an operation varies by itself is less than a cell
_SMEAR = 0.6  # of the distance between two sums: the deviation of a bell that closes the gap and leaves no ripples


class TotalSpread(NamedTuple):
    """A duration in minutes: the mean, and what 50, 80 and 95 of 100 such jobs stay under."""

    mean: float
    p50: float
    p80: float
    p95: float


@dataclass(frozen=True, slots=True, eq=False)
class Total:
    """The distribution of a sum: the chance, 0 to 1, to be done within each of these rising minutes."""

    mean_min: float
    minutes: Floats
    chances: Floats

    def at(self, share: float) -> float:
        """The minutes that are kept in this share of cases (0.8: four times in five). Errors: ValueError."""
        if not 0 < share < 1:
            raise ValueError(f"share {share} must lie between 0 and 1, both excluded")
        return float(np.interp(share, self.chances, self.minutes))


def spread_of(times: Sequence[Times], correlation: float = DEFAULT_CORRELATION) -> TotalSpread:
    """Mean and percentiles in minutes of a sum of estimates (low, likely, high minutes), as `total_of` has them.

    Errors and source: as total_of.
    """
    total = total_of(times, correlation)
    return TotalSpread(total.mean_min, total.at(0.50), total.at(0.80), total.at(0.95))


def beta_shape(low_min: float, likely_min: float, high_min: float) -> tuple[float, float]:
    """Both parameters of the beta distribution from low to high with the mean and the variance of PERT.

    Its peak lies at, or near, the likely minutes. The other beta that goes by the name of PERT has its peak exactly
    there, but a greater variance than the textbooks compute with.
    Errors: ValueError for a bad estimate, or one without any spread.
    Source: mean and variance as in trade/pert.py; the parameters by the method of moments.
    """
    pert_mean_min(low_min, likely_min, high_min)  # a bad estimate says so itself
    if low_min == high_min:
        raise ValueError(f"estimate {low_min} / {likely_min} / {high_min} has no spread")
    share = (1 + 4 * (likely_min - low_min) / (high_min - low_min)) / 6
    both = 36 * share * (1 - share) - 1
    return share * both, (1 - share) * both


def total_of(times: Sequence[Times], correlation: float = DEFAULT_CORRELATION) -> Total:
    """The distribution of the sum of estimates (low, likely, high), in minutes.

    correlation: of any two operations' normal scores, 0 (each goes as it goes) to 1 (all go equally well or badly).
    Given the factor that all share, the operations are independent: their distributions, in cells of 1/4000 of the
    range of the sum, are convolved, and the sums mixed over the factor. The mean is exact and does not depend on the
    correlation; the percentiles are good to about a thousandth of the range.
    Errors: ValueError for a bad estimate or a correlation outside 0 to 1.
    Source: one-factor Gaussian copula (On default correlation, Journal of Fixed Income 9 (2000), from memory); discrete
    convolution by FFT.
    """
    if not 0 <= correlation <= 1:
        raise ValueError(f"correlation {correlation} must lie between 0 and 1")
    mean = math.fsum(pert_mean_min(*time) for time in times)
    low, high = (math.fsum(time[end] for time in times) for end in (0, 2))
    if high - low <= 1e-9 * max(1.0, mean):
        return Total(mean, np.array([mean, mean]), np.array([0.0, 1.0]))
    alike = Counter(time for time in times if time[2] > time[0])  # what is alike is worked out once
    often = np.array(list(alike.values()))
    widths = np.array([time[2] - time[0] for time in alike])
    shapes = np.array([beta_shape(*time) for time in alike])
    if correlation > _AS_GOOD_AS_ONE:
        return _together(mean, low, widths * often, shapes)
    step = (high - low) / _CELLS
    chances = np.maximum.accumulate(np.cumsum(_mixed(widths, shapes, often, correlation, step)))
    chances = np.concatenate(([0.0], chances / chances[-1]))
    # A cell stands for its middle; what that errs by is made good by a shift to the exact mean.
    middles = low + (np.arange(_FFT_LENGTH) + often.sum() / 2) * step
    shift = mean - float(np.diff(chances) @ middles)
    edges = np.append(middles - step / 2, middles[-1] + step / 2) + shift
    return Total(mean, np.clip(edges, low, high), chances)


def _together(mean: float, low: float, widths: Floats, shapes: Floats) -> Total:
    """All operations at the same percentile: their quantiles add up."""
    scores = np.concatenate(([-np.inf], np.linspace(-5, 5, 501), [np.inf]))
    chances = normal_chances(scores)
    minutes = low + widths @ np.array([beta_shares(a, b, chances) for a, b in shapes])
    return Total(mean, minutes, chances)


def _mixed(widths: Floats, shapes: Floats, often: Counts, correlation: float, step: float) -> Floats:
    """The chance of each cell of the sum, in which each of these estimates stands so often."""
    counts = np.maximum(np.ceil(widths / step - 1e-9), 1).astype(int)
    # The borders of the cells of one estimate after the other: one more than there are cells.
    row = np.repeat(np.arange(len(widths)), counts + 1)
    border = np.arange(len(row)) - np.repeat(np.cumsum(counts + 1) - (counts + 1), counts + 1)
    ends = np.where(border == counts[row], 1.0, np.minimum(border * step / widths[row], 1.0))
    a, b = shapes[row].T
    scores = normal_scores(beta_chances(a, b, ends))
    begins = np.flatnonzero(border < counts[row])
    row, column = row[begins], border[begins]
    factors, smear = _factors(np.repeat(widths, often), correlation)
    weights = np.exp(-(factors**2) / 2)
    common, own = math.sqrt(correlation), math.sqrt(1 - correlation)
    means = np.empty(len(factors))
    waves = np.empty((len(factors), _FFT_LENGTH // 2 + 1), dtype=complex)
    cells = np.zeros((len(widths), _FFT_LENGTH))
    for index, factor in enumerate(factors):
        inside = np.diff(normal_chances((scores - common * factor) / own))[begins]
        cells[row, column] = inside
        means[index] = inside @ (column * often[row])
        waves[index] = np.repeat(np.fft.rfft(cells), often, axis=0).prod(axis=0)
    if smear:
        waves *= np.exp(-2 * (math.pi * _SMEAR * np.fft.rfftfreq(_FFT_LENGTH) * np.gradient(means)[:, None]) ** 2)
    chances = np.fft.irfft(weights / weights.sum() @ waves, _FFT_LENGTH)
    return _unwrapped(np.maximum(chances, 0.0))


def _unwrapped(chances: Floats) -> Floats:
    """What the bells spread beyond the least and the longest sum comes back to them: the transform is a ring."""
    beyond = chances[_CELLS + 1 :].copy()
    chances[_CELLS + 1 :] = 0
    chances[_CELLS] += beyond[: len(beyond) // 2].sum()
    chances[0] += beyond[len(beyond) // 2 :].sum()
    return chances


def _factors(widths: Floats, correlation: float) -> tuple[Floats, bool]:
    """Evenly spaced values of the common factor, and whether they are so far apart that gaps must be smeared.

    Sums of evenly spaced values converge fast for smooth functions, and the mixture is smooth if from one value to the
    next the sum moves by no more than it varies by itself.
    """
    if not correlation:
        return np.zeros(1), False
    moved = math.sqrt(correlation) * float(widths.sum())
    fine = math.sqrt(1 - correlation) * float(np.linalg.norm(widths)) / moved
    step = min(max(fine, _FINEST_STEP), _WIDEST_STEP)
    count = math.ceil(_LARGEST_FACTOR / step)
    return np.linspace(-_LARGEST_FACTOR, _LARGEST_FACTOR, 2 * count + 1), fine < _FINEST_STEP
