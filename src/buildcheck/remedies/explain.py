"""Minimising: what can be left out, weakened or widened with something still entailed.

Everything is given a trial of what still holds. A trial should be monotone: what holds with less holds with more.
Should one not be, the answer is coarser, but what is returned was itself tried.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from typing import TypeVar

T = TypeVar("T", bound=Hashable)
W = TypeVar("W")
Limits = tuple[float, float]


def minimal_subset(elements: Sequence[T], holds: Callable[[frozenset[T]], bool]) -> frozenset[T]:
    """Of elements that hold together some that hold and of which none can be left out; the first stay rather.

    QuickXplain (Junker, AAAI 2004): with k of n elements kept some 2k·log2(n/k) + 2k trials instead of n.
    """
    tried: dict[frozenset[T], bool] = {frozenset(elements): True}

    def known(some: frozenset[T]) -> bool:
        if some not in tried:
            tried[some] = holds(some)
        return tried[some]

    return frozenset() if known(frozenset()) else _quick_explain(frozenset(), False, list(elements), known)


def _quick_explain(
    kept: frozenset[T], grown: bool, elements: Sequence[T], holds: Callable[[frozenset[T]], bool]
) -> frozenset[T]:
    """Those of the elements that are needed beside those that are kept; `grown`: these have just become more."""
    if grown and holds(kept):
        return frozenset()
    if len(elements) == 1:
        return frozenset(elements)
    middle = (len(elements) + 1) // 2
    first, last = elements[:middle], elements[middle:]
    of_last = _quick_explain(kept | set(first), True, last, holds)
    return of_last | _quick_explain(kept | of_last, bool(of_last), first, holds)


def weakest_of_each(
    chains: Mapping[str, Sequence[W]], hint: Mapping[str, int], holds: Callable[[Mapping[str, W]], bool]
) -> dict[str, int]:
    """For each slot the number of the first weakening in its chain with which something holds, beside the others.

    What the hint says is tried first, for all at once; a slot that no weakening leaves holding is left out.
    """
    start = {slot: min(hint.get(slot, 0), len(rows) - 1) for slot, rows in chains.items() if rows}
    if not start or holds({slot: chains[slot][number] for slot, number in start.items()}):
        return start
    found: dict[str, int] = {}
    for slot in sorted(start):
        weakened = {other: chains[other][number] for other, number in found.items()}
        for number, row in enumerate(chains[slot]):
            if holds({**weakened, slot: row}):
                found[slot] = number
                break
    return found


def widest_limits(value: Limits, ends: Sequence[float], hint: Limits, holds: Callable[[Limits], bool]) -> Limits:
    """The widest limits around a value, with ends among these sorted ones, within which something holds."""
    for limits in _first_tries(value, ends, hint):
        if holds(limits):
            return limits
    above = [end for end in ends if end > value[1]]
    high = _last(above, lambda end: holds((value[0], end)), value[1])
    below = [end for end in reversed(ends) if end < value[0]]
    return _last(below, lambda end: holds((end, high)), value[0]), high


def first_limits(value: Limits, ends: Sequence[float], hint: Limits) -> Limits:
    """The limits that `widest_limits` tries first; the value itself if there is nothing wider to try."""
    return next(_first_tries(value, ends, hint), value)


def _first_tries(value: Limits, ends: Sequence[float], hint: Limits) -> Iterator[Limits]:
    """What the hint says, then all that there is; each wider than the value.

    A hint that the value lies beyond was found for something else: to stretch it would be to stop short of the widest.
    """
    for limits in (hint, (min(value[0], ends[0]), max(value[1], ends[-1]))):
        if limits != value and limits[0] <= value[0] and value[1] <= limits[1]:
            yield limits


def _last(ends: Sequence[float], holds: Callable[[float], bool], otherwise: float) -> float:
    """The last end up to which something holds, found by halving."""
    count = bisect_left(range(len(ends)), True, key=lambda index: not holds(ends[index]))
    return ends[count - 1] if count else otherwise
