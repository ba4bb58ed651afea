"""Do round lines fit side by side through one opening?

Three-valued and sound: True only with a placement in hand, False only when proven impossible, None when
neither. The placements come from a fixed family of patterns (all in a row, the equal-circle table, a ring
on the wall with the rest inside it, two lines taken as one, zigzag rows in a slot) and not from a search
cut off by a node limit: every pattern stays possible when the opening grows, a line gets thinner or a line
is left out, so a verdict of True can never be lost by learning a fact. The price is None close to the
limit: rarely for up to five lines in a round bore, within some per cent of the size for more or in a slot.
"""

import math
from collections.abc import Callable, Sequence
from functools import lru_cache
from itertools import combinations

from buildcheck.trade.circles import (
    Point,
    equal_circles_centres,
    equal_circles_ratio,
    ring_angles,
    table_count_for,
    three_circles_radius,
)
from buildcheck.trade.slot_rows import ROWS_MAX, order_possible, rows

__all__ = ["equal_circles_ratio", "packs_in_irregular", "packs_in_round", "packs_in_slot", "placement"]

TOLERANCE = 1e-9
"""Play allowed in every comparison: mm, or a share of the opening where that is wider than 1 mm."""

HEIGHT_STEP_MM = 0.25
"""Zigzag rows are tried at whole multiples of this height: a taller slot tries all that a lower one does."""

_RING_MAX = 7
_Family = tuple[Point, ...] | None


def packs_in_round(diameters_mm: Sequence[float], bore_mm: float) -> bool | None:
    """Whether lines of these diameters in mm pass together through a round bore of this diameter in mm.

    True: a placement exists; False: impossible; None: neither was shown. No lines: True.
    Errors: ValueError for a negative or not finite size. Source: equal circles: Wikipedia "Circle packing
    in a circle"; three: Descartes' theorem; lines that must all touch the wall: trigonometry worked out
    here; area.
    """
    return packs_in_slot(diameters_mm, bore_mm, bore_mm)


def packs_in_slot(diameters_mm: Sequence[float], width_mm: float, height_mm: float) -> bool | None:
    """The same for a slot with round ends, width_mm >= height_mm; equal values are a round bore.

    Errors: ValueError for a negative or not finite size, or a slot higher than wide. Source: as
    packs_in_round, and plane geometry for rows, worked out here.
    """
    radii = _checked(diameters_mm, width_mm, height_mm)
    if _slot_family(radii, width_mm, height_mm) is not None:
        return True
    return False if _impossible(radii, width_mm, height_mm) else None


def packs_in_irregular(diameters_mm: Sequence[float], inscribed_mm: float, area_mm2: float | None) -> bool | None:
    """The same for any shape, known by the largest round rod that passes (mm) and perhaps its area (mm2).

    False only if one line is thicker than the rod or the lines' cross-sections exceed the area: nothing
    more can be proven for every shape. Errors: ValueError for a negative or not finite size, or an area
    below that of the rod.
    Source: plane geometry.
    """
    radii = _checked(diameters_mm, inscribed_mm, inscribed_mm)
    play = _play(inscribed_mm)
    area_radius = math.inf  # of the round bore with the same area
    if area_mm2 is not None:
        area_radius = math.sqrt(max(0.0, area_mm2) / math.pi)
        if not inscribed_mm / 2 - play <= area_radius < math.inf:
            raise ValueError(f"area {area_mm2} mm2 must be finite and at least that of the {inscribed_mm} mm rod")
    if _slot_family(radii, inscribed_mm, inscribed_mm) is not None:
        return True
    if radii and radii[0] > inscribed_mm / 2 + play:
        return False
    return False if math.sqrt(math.fsum(r * r for r in radii)) > area_radius + play else None


def placement(
    diameters_mm: Sequence[float], width_mm: float, height_mm: float
) -> tuple[tuple[float, float], ...] | None:
    """Centres in mm, in the order given, of a placement in the slot (or round bore); None if none was found.

    The origin is the middle of the slot, x along its width. Not None exactly when packs_in_slot says True.
    Errors: as packs_in_slot. Source: as packs_in_slot.
    """
    found = _slot_family(_checked(diameters_mm, width_mm, height_mm), width_mm, height_mm)
    if found is None:
        return None
    centres: list[Point] = [(-width_mm / 2, 0.0)] * len(diameters_mm)  # where lines of no thickness stay
    by_size = sorted((k for k, d in enumerate(diameters_mm) if d > TOLERANCE), key=lambda k: -diameters_mm[k])
    for k, centre in zip(by_size, found, strict=True):
        centres[k] = centre
    return tuple(centres)


def _checked(diameters_mm: Sequence[float], width_mm: float, height_mm: float) -> tuple[float, ...]:
    """Radii, thickest first, without lines of no thickness."""
    for size in (*diameters_mm, width_mm, height_mm):
        if not (math.isfinite(size) and size >= 0):
            raise ValueError(f"size {size} mm must be a finite number, 0 or more")
    if height_mm > width_mm:
        raise ValueError(f"slot {width_mm} x {height_mm} mm is higher than wide; give the larger size as the width")
    return tuple(sorted((d / 2 for d in diameters_mm if d > TOLERANCE), reverse=True))


def _play(width_mm: float) -> float:
    """Play on a radius. Placements use half of it, proofs all of it: rounding cannot make them collide."""
    return TOLERANCE * max(1.0, width_mm) / 4


# Placements


@lru_cache(maxsize=4096)
def _slot_family(radii: tuple[float, ...], width: float, height: float) -> _Family:
    play = _play(width)
    found = _round_family(radii, height / 2 + play / 2)
    if found is not None:
        return found
    width, height = width + play, height + play
    if radii[0] <= height / 2 and 2 * math.fsum(radii) <= width:
        return _row(radii)
    return None if _impossible(radii, width, height) else _zigzag_family(radii, width, height)


@lru_cache(maxsize=16384)
def _round_family(radii: tuple[float, ...], wall: float) -> _Family:
    """Centres inside the circle of radius `wall` round the origin; radii thickest first."""
    count = len(radii)
    if not radii or math.fsum(radii) <= wall:
        return _row(radii)
    if count <= 2 or radii[0] + radii[1] > wall or math.fsum(r * r for r in radii) > wall * wall:
        return None
    known = table_count_for(count)
    if known is not None and equal_circles_ratio(known) * radii[0] <= wall:
        return tuple((x * radii[0], y * radii[0]) for x, y in equal_circles_centres(known)[:count])
    if count > _RING_MAX:
        return _merged(radii, count - 2, count - 1, lambda rest: _round_family(rest, wall))
    ringed = _ring_family(radii, wall)
    if ringed is not None:
        return ringed
    for i, j in combinations(range(count), 2):
        found = _merged(radii, i, j, lambda rest: _round_family(rest, wall))
        if found is not None:
            return found
    return None


def _ring_family(radii: tuple[float, ...], wall: float) -> _Family:
    """Some circles on the wall, the others together in the round space that they leave in the middle."""
    count = len(radii)
    for inside in range(count):
        for core in combinations(range(count), inside):
            ring = [k for k in range(count) if k not in core]
            centre = _round_family(tuple(radii[k] for k in core), wall - 2 * radii[ring[0]])
            angles = None if centre is None else ring_angles([radii[k] for k in ring], wall)
            if centre is not None and angles is not None:
                at = dict(zip(core, centre, strict=True))
                for k, angle in zip(ring, angles, strict=True):
                    at[k] = ((wall - radii[k]) * math.cos(angle), (wall - radii[k]) * math.sin(angle))
                return tuple(at[k] for k in range(count))
    return None


def _zigzag_family(radii: tuple[float, ...], width: float, height: float) -> _Family:
    """Rows at every step of height, then with the two thinnest lines taken as one."""
    count = len(radii)
    step = math.floor(min(height, 2 * math.fsum(radii)) / HEIGHT_STEP_MM) if count <= ROWS_MAX else 0
    while step * HEIGHT_STEP_MM >= 2 * radii[0] and order_possible(radii, width, step * HEIGHT_STEP_MM):
        found = rows(radii, width, step * HEIGHT_STEP_MM)
        if found is not None:
            return found
        step -= 1
    if count <= 2:
        return None
    return _merged(radii, count - 2, count - 1, lambda rest: _zigzag_family(rest, width, height))


def _row(radii: tuple[float, ...]) -> tuple[Point, ...]:
    """Side by side on the x axis, the middle of the row at the origin."""
    total = math.fsum(radii)
    return tuple((2 * math.fsum(radii[:k]) + r - total, 0.0) for k, r in enumerate(radii))


def _merged(radii: tuple[float, ...], i: int, j: int, family: Callable[[tuple[float, ...]], _Family]) -> _Family:
    """A placement with circles i < j replaced by the smallest circle round the two."""
    both = radii[i] + radii[j]
    others = [k for k in range(len(radii)) if k not in (i, j)]
    rank = sum(radii[k] > both for k in others)
    found = family((*(radii[k] for k in others[:rank]), both, *(radii[k] for k in others[rank:])))
    if found is None:
        return None
    x, y = found[rank]
    at = dict(zip(others, found[:rank] + found[rank + 1 :], strict=True))
    at[i], at[j] = (x - radii[j], y), (x + radii[i], y)
    return tuple(at[k] for k in range(len(radii)))


# Proofs of impossibility


def _impossible(radii: tuple[float, ...], width: float, height: float) -> bool:
    """Each proof holds for every larger set of thicker lines in every smaller slot as well."""
    if not radii:
        return False
    play = _play(width)
    wall, low, long = width / 2 + play, height + 2 * play, width + 2 * play
    if 2 * radii[0] > low or math.fsum(radii[:2]) > wall:
        return True
    if math.pi * math.fsum(r * r for r in radii) > (long - low) * low + math.pi / 4 * low * low:
        return True
    if len(radii) >= 3 and three_circles_radius(*radii[:3]) > wall:
        return True
    if any(_table_ratio(k + 1) * r > wall for k, r in enumerate(radii)):
        return True
    # So thick that none has room inside the others: then all may as well be pushed outwards to the wall.
    for count in range(4, min(len(radii), _RING_MAX) + 1):
        if wall <= radii[count - 2] + 2 * radii[count - 1] and ring_angles(radii[:count], wall) is None:
            return True
    return not order_possible(radii, long, low)


def _table_ratio(count: int) -> float:
    """The ratio of the table for so many equal circles, or that for the next smaller number in it."""
    for known in range(min(count, 19), 0, -1):
        if table_count_for(known) == known:
            return equal_circles_ratio(known)
    return 1.0
