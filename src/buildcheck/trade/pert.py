"""Three-point estimates of work: low, likely and high minutes, and how they add up along a plan.

The formulas hold for any unit of time; the workshop counts in minutes.
"""

import math
from statistics import NormalDist

# Low, likely and high duration in one unit of time.
Times = tuple[float, float, float]


def pert_mean_min(low_min: float, likely_min: float, high_min: float) -> float:
    """Expected duration (low + 4 likely + high) / 6 in minutes.

    Errors: ValueError unless 0 <= low <= likely <= high, all finite.
    Source: Application of a technique for research and development program evaluation, Operations Research 7 (1959),
    from memory; formula read at curioustab.com 68395.
    """
    _check(low_min, likely_min, high_min)
    return (low_min + 4 * likely_min + high_min) / 6


def pert_variance(low_min: float, likely_min: float, high_min: float) -> float:
    """Variance ((high - low) / 6) squared, in minutes squared.

    Errors and source: as pert_mean_min.
    """
    _check(low_min, likely_min, high_min)
    return ((high_min - low_min) / 6) ** 2


def normal_percentile(mean_min: float, variance: float, share: float) -> float:
    """The duration in minutes that is kept in this share of cases (0.8: four times in five).

    Errors: ValueError for a negative variance or a share not strictly between 0 and 1.
    Source: normal distribution (Python statistics.NormalDist); that sums are normal is the usual PERT
    assumption.
    """
    if not 0 < share < 1:
        raise ValueError(f"share {share} must lie between 0 and 1, both excluded")
    spread = _spread(mean_min, variance)
    return NormalDist(mean_min, spread).inv_cdf(share) if spread else mean_min


def _check(low: float, likely: float, high: float) -> None:
    if not (0 <= low <= likely <= high < math.inf):
        raise ValueError(f"estimate {low} / {likely} / {high} must rise from low over likely to high, from 0 on")


def _spread(mean: float, variance: float) -> float:
    if not math.isfinite(mean):
        raise ValueError(f"mean {mean} is not a finite number")
    if not (math.isfinite(variance) and variance >= 0):
        raise ValueError(f"variance {variance} must be a finite number, 0 or more")
    return math.sqrt(variance)
