"""Circles in a slot with round ends, taken in the order of their places along it.

Radii, width and height in mm (the bands of height have fixed edges); the origin is the middle of the slot,
x along it.
"""

import math
from collections.abc import Sequence
from itertools import pairwise
from typing import NamedTuple

from buildcheck.trade.circles import Point

_SLACK = 1e-12
ROWS_MAX = 5
"""Above this count all orders take too long to try; a bicycle's opening seldom holds more lines."""

# Number of circles -> edges of the bands of height; more circles get fewer bands, to keep the time short.
_BAND_EDGES: dict[int, tuple[float, ...]] = {
    2: (0, math.inf),
    3: (0, 0.5, 1, 1.5, 2, 3, 4, 6, 8, 12, 16, math.inf),
    4: (0, 1, 2, 4, 8, 16, math.inf),
    5: (0, 2, 6, math.inf),
}


class _Seat(NamedTuple):
    """A band of heights across the slot for a centre, and its range along the slot there."""

    bottom: float
    top: float
    low: float
    high: float


def rows(radii: Sequence[float], width: float, height: float) -> tuple[Point, ...] | None:
    """Centres for circles in a slot, each at one of a few heights, in any order; None if none works.

    At a fixed height of the slot the outcome is monotone in width, radii and number of circles. It is not
    monotone in height (a circle on the top wall keeps out of the round end), so the caller tries a fixed
    set.
    Errors: none. Source: plane geometry; each circle in turn goes as far to the left as those before allow.
    """
    if radii and max(radii) > height / 2:
        return None
    # Heights as angles on the round end: the steps for more circles are among those for fewer.
    steps = {0: 1, 1: 1, 2: 4, 3: 4, 4: 2}.get(len(radii), 1)
    angles = [math.pi / 2 * k / steps for k in range(-steps, steps + 1)]
    seats: list[list[_Seat]] = []
    for r in radii:
        side = height / 2 - r
        ends = (width - height) / 2
        places = [(side * math.sin(a), ends + side * math.cos(a)) for a in (angles if side > _SLACK else [0.0])]
        seats.append([_Seat(y, y, -x, x) for y, x in places])
    return _in_order(radii, seats)


def order_possible(radii: Sequence[float], width: float, height: float) -> bool:
    """False only if no order along the slot leaves the (at most five) largest circles room.

    Centres are sorted into bands of height with fixed edges. Two circles can be no further apart in height
    than their bands, hence some least distance along the slot, and a band near the wall keeps out of the
    round ends. Monotone in width, height, radii and number of circles. Errors: none. Source: plane
    geometry.
    """
    if radii and max(radii) > height / 2:
        return False
    largest = sorted(radii, reverse=True)[:ROWS_MAX]
    return all(
        _in_order(largest[:count], [_bands(r, width, height, edges) for r in largest[:count]]) is not None
        for count, edges in _BAND_EDGES.items()
        if count <= len(largest)
    )


def _bands(r: float, width: float, height: float, edges: Sequence[float]) -> list[_Seat]:
    side = height / 2 - r
    bands = []
    for lower, upper in pairwise(edges):
        if lower <= side:
            end = (width - height) / 2 + math.sqrt(side * side - lower * lower)
            bands.append(_Seat(lower, min(upper, side), -end, end))
    return [*bands, *(_Seat(-band.top, -band.bottom, band.low, band.high) for band in bands)]


def _in_order(radii: Sequence[float], seats: Sequence[Sequence[_Seat]]) -> tuple[Point, ...] | None:
    """Depth first over orders and seats; complete, since the leftmost place never hinders those that
    follow."""
    count = len(radii)
    choices = [(k, seat) for k in range(count) for seat in seats[k]]
    gaps = [[_gap(radii[k], one, radii[j], other) for j, other in choices] for k, one in choices]

    def extend(used: int, placed: list[tuple[int, float]]) -> list[tuple[int, float]] | None:
        if len(placed) == count:
            return placed
        level = all(choices[c][1].bottom == -choices[c][1].top for c, _ in placed)
        tried = set()
        for c, (k, seat) in enumerate(choices):
            if used >> k & 1 or (level and seat.bottom < -seat.top):
                continue  # placed, or the mirror image of a seat in the upper half
            if (radii[k], seat) in tried:
                continue
            tried.add((radii[k], seat))
            x = seat.low
            for before, at in placed:
                x = max(x, at + gaps[before][c])
            if x <= seat.high + _SLACK:
                found = extend(used | 1 << k, [*placed, (c, x)])
                if found is not None:
                    return found
        return None

    found = extend(0, [])
    if found is None:
        return None
    centres = {choices[c][0]: (x, choices[c][1].top) for c, x in found}
    return tuple(centres[k] for k in range(count))


def _gap(r: float, seat: _Seat, other_r: float, other: _Seat) -> float:
    """Least distance along the slot, with the heights as far apart as the bands let them be."""
    apart = max(seat.top - other.bottom, other.top - seat.bottom)
    return math.sqrt(max(0.0, (r + other_r) ** 2 - apart * apart))
