"""The order of work on the clock: one mechanic, and what has to wait waits beside the rest."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import Any, NamedTuple


class Wait(NamedTuple):
    """Minutes that have to pass after an operation before these others begin."""

    minutes: float
    before: frozenset[str]


_NONE = Wait(0.0, frozenset())


class Schedule(NamedTuple):
    """When each operation begins, in minutes, in the order of work; when the last one ends, all waiting included."""

    starts_min: Mapping[str, float]
    ends_min: float


def make_schedule(
    before: Mapping[str, Collection[str]], minutes: Mapping[str, float], waits: Mapping[str, Wait],
    rank: Callable[[str], Any],
) -> Schedule:  # fmt: skip
    """Do what can be done next, of one phase what others wait for first; stand idle only when all the rest must wait.

    A rank is a tuple that begins with the phase.
    `before` has for each operation those that come before it. Raises ValueError where they have a ring.
    """
    todo = dict.fromkeys(before)
    starts: dict[str, float] = {}
    free_from = dict.fromkeys(before, 0.0)
    now = end = 0.0
    while todo:
        open_now = [name for name in todo if all(first in starts for first in before[name])]
        if not open_now:
            raise ValueError(f"the order of work has a ring among {', '.join(sorted(todo))}")
        now = max(now, min(free_from[name] for name in open_now))
        ready = [name for name in open_now if free_from[name] <= now]
        name = min(ready, key=lambda name: (rank(name)[0], -waits.get(name, _NONE).minutes, rank(name)))
        del todo[name]
        starts[name] = now
        now += minutes[name]
        wait = waits.get(name, _NONE)
        end = max(end, now + wait.minutes)
        for other in wait.before:
            free_from[other] = max(free_from[other], now + wait.minutes)
    return Schedule(starts, end)
