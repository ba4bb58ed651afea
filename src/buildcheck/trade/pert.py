"""Three-point estimates of work: low, likely and high minutes, and how they add up along a plan.

The formulas hold for any unit of time; the workshop counts in minutes.
"""

import math
from collections.abc import Mapping, Sequence
from graphlib import CycleError, TopologicalSorter
from statistics import NormalDist

# Low, likely and high duration in one unit of time.
Times = tuple[float, float, float]


def pert_mean_min(low_min: float, likely_min: float, high_min: float) -> float:
    """Expected duration (low + 4 likely + high) / 6 in minutes.

    Errors: ValueError unless 0 <= low <= likely <= high, all finite.
    Source: Malcolm, Roseboom, Clark and Fazar, Operations Research 7 (1959), from memory; formula read at
    curioustab.com 68395.
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


def probability_within(mean_min: float, variance: float, limit_min: float) -> float:
    """Chance, 0 to 1, that a duration of this mean (minutes) and variance keeps the limit.

    Errors: ValueError for a negative variance or a number that is not finite. Source: as normal_percentile.
    """
    if not math.isfinite(limit_min):
        raise ValueError(f"limit {limit_min} is not a finite number")
    spread = _spread(mean_min, variance)
    if not spread:
        return 1.0 if mean_min <= limit_min else 0.0
    return NormalDist(mean_min, spread).cdf(limit_min)


def critical_path(
    activities: Mapping[str, tuple[float, float, float]], after: Mapping[str, Sequence[str]]
) -> tuple[tuple[str, ...], float, float]:
    """The longest chain by expected minutes: (its activities in order, its mean in minutes, its variance).

    activities: name -> (low, likely, high) minutes. after: name -> the activities it must wait for; a name
    without an entry waits for nothing. Of equally long chains the one with the greater variance is given,
    as the more cautious promise, then the first by name, so that the order of the input changes nothing. No
    activities: ((), 0.0, 0.0).
    Errors: ValueError for a bad estimate, an unknown name in `after`, or activities that wait for each
    other in a ring.
    Source: critical path method; PERT as in pert_mean_min.
    """
    for name, predecessors in after.items():
        for known in (name, *predecessors):
            if known not in activities:
                where = "has predecessors" if known == name else f"is named as a predecessor of {name!r}"
                raise ValueError(f"activity {known!r} {where} but has no estimate")
    try:
        order = list(TopologicalSorter({name: after.get(name, ()) for name in activities}).static_order())
    except CycleError as error:
        ring = " after ".join(reversed(error.args[1]))
        raise ValueError(f"activities wait for each other in a ring: {ring}") from None
    chains: dict[str, tuple[tuple[str, ...], float, float]] = {}
    for name in order:
        path, mean, variance = _longest([chains[earlier] for earlier in after.get(name, ())])
        try:
            own_mean, own_variance = pert_mean_min(*activities[name]), pert_variance(*activities[name])
        except ValueError as error:
            raise ValueError(f"activity {name!r}: {error}") from None
        chains[name] = ((*path, name), mean + own_mean, variance + own_variance)
    return _longest(list(chains.values()))


def _longest(chains: list[tuple[tuple[str, ...], float, float]]) -> tuple[tuple[str, ...], float, float]:
    # Rounded, because equally long chains may differ in the last bit only by the order of the addition.
    return min(chains, key=lambda c: (-round(c[1], 9), -round(c[2], 9), c[0]), default=((), 0.0, 0.0))


def _check(low: float, likely: float, high: float) -> None:
    if not (0 <= low <= likely <= high < math.inf):
        raise ValueError(f"estimate {low} / {likely} / {high} must rise from low over likely to high, from 0 on")


def _spread(mean: float, variance: float) -> float:
    if not math.isfinite(mean):
        raise ValueError(f"mean {mean} is not a finite number")
    if not (math.isfinite(variance) and variance >= 0):
        raise ValueError(f"variance {variance} must be a finite number, 0 or more")
    return math.sqrt(variance)
