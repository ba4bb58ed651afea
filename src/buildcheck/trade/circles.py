"""Circles in a circle: the equal-circle table, three circles, and circles strung round the inside of a
wall.

Radii throughout, in any one unit. The decisions about lines in bores are in packing.py.
"""

import math
from collections.abc import Sequence

Point = tuple[float, float]

ANGLE_SLACK_RAD = 1e-12
"""Rounding allowance when a ring of circles closes; far below the packing tolerance at any bore of a
bicycle."""

_TEN = 3.8130256313981246
_RATIOS = {
    1: 1.0,
    2: 2.0,
    3: 1 + 2 / math.sqrt(3),
    4: 1 + math.sqrt(2),
    5: 1 + math.sqrt(2 * (1 + 1 / math.sqrt(5))),
    6: 3.0,
    7: 3.0,
    8: 1 + 1 / math.sin(math.pi / 7),
    9: 1 + math.sqrt(2 * (2 + math.sqrt(2))),
    10: _TEN,
    11: 1 + 1 / math.sin(math.pi / 9),
    13: 2 + math.sqrt(5),
    19: 1 + math.sqrt(2) + math.sqrt(6),
}


def equal_circles_ratio(count: int) -> float:
    """Smallest enclosing radius over the radius of `count` equal circles (a ratio without unit).

    Errors: ValueError for a count outside 1 to 11, 13 and 19. Source: Wikipedia "Circle packing in a
    circle", table (proven optimal for these counts); the decimals for 10 are computed here, the table
    prints 3.813...
    """
    if count not in _RATIOS:
        raise ValueError(f"no ratio is known for {count} equal circles; expected 1 to 11, 13 or 19")
    return _RATIOS[count]


def table_count_for(count: int) -> int | None:
    """The smallest tabulated count that is not below `count` (no unit), None above 19. Errors: none.

    Source: counts of equal_circles_ratio; fewer circles never need a larger bore.
    """
    return next((known for known in sorted(_RATIOS) if known >= count), None)


def equal_circles_centres(count: int) -> tuple[Point, ...]:
    """Centres of `count` unit circles round the origin, in the radius equal_circles_ratio(count).

    Errors: as equal_circles_ratio. Source: figures of Wikipedia "Circle packing in a circle"; coordinates
    worked out here from which circles touch.
    """
    equal_circles_ratio(count)
    if count == 1:
        return ((0.0, 0.0),)
    if count <= 6:
        return _ring(count)
    if count <= 9:
        return ((0.0, 0.0), *_ring(count - 1))
    if count == 10:
        # Eight on the wall with two gaps, mirrored in the x axis; two inside, pushed towards the gaps.
        wall = _TEN - 1
        step = 2 * math.asin(1 / wall)
        first = math.pi - 3.5 * step
        angles = [sign * (first + k * step) for k in range(4) for sign in (1, -1)]
        inner = ((_nested(wall, first), 0.0), (-_nested(wall, step / 2), 0.0))
        return (*(_polar(wall, angle) for angle in angles), *inner)
    if count == 11:
        # Nine on the wall; the two inside each rest in a gap, 160 degrees apart.
        depth = _nested(1 / math.sin(math.pi / 9), math.pi / 9)
        return (*_ring(9), _polar(depth, math.pi / 9), _polar(depth, math.pi))
    if count == 13:
        return (*_ring(10), *_ring(3))
    return ((0.0, 0.0), *_ring(6), *_ring(12, math.pi / 12))


def three_circles_radius(first: float, second: float, third: float) -> float:
    """Radius of the smallest circle that holds three circles side by side; radii in any one unit.

    The third either fits beside the two larger ones on a diameter, or all three touch each other and the
    wall.
    Errors: ValueError unless the radii are above 0 and finite. Source: Descartes' circle theorem
    (Wikipedia); the change-over is where the theorem gives the sum of the two larger radii, worked out
    here.
    """
    a, b, c = sorted((first, second, third), reverse=True)
    if not (c > 0 and math.isfinite(a)):
        raise ValueError(f"radii {first}, {second}, {third} must be finite numbers above 0")
    if c * (a * a + a * b + b * b) <= a * b * (a + b):
        return a + b
    # Descartes' theorem multiplied out, so that no curvature is divided by.
    pairs = a * b + b * c + c * a
    return a * b * c / (2 * math.sqrt(a * b * c * (a + b + c)) - pairs)


def ring_angles(radii: Sequence[float], wall: float) -> tuple[float, ...] | None:
    """Angles in radians at which all circles touch the inside of a circle of radius `wall` without overlap,
    or None.

    Every order is tried, so None means that no such ring exists. The outcome is monotone: a larger wall,
    smaller circles or fewer circles never lose a ring. Radii and wall in one unit, radii above 0.
    Errors: none. Source: plane trigonometry; circles on a wall keep apart by 2 asin of the root of
    ri rj / ((R - ri)(R - rj)), and a ring is a set of difference constraints on their angles.
    """
    by_size = sorted(range(len(radii)), key=lambda k: -radii[k])
    sizes = [radii[k] for k in by_size]
    count = len(sizes)
    if not sizes or sizes[0] > wall or (count > 1 and sizes[0] + sizes[1] > wall):
        return () if not sizes else None
    if count == 1:
        return (0.0,)
    reach = [math.sqrt(size / (wall - size)) for size in sizes]
    apart = [[2 * math.asin(min(1.0, one * other)) for other in reach] for one in reach]

    def extend(order: list[int], angles: list[float]) -> list[tuple[int, float]] | None:
        if len(order) == count:
            closed = _close(order, angles, apart)
            return None if closed is None else list(zip(order, closed, strict=True))
        tried = set()
        for nxt in range(1, count):
            if nxt in order or sizes[nxt] in tried:
                continue
            tried.add(sizes[nxt])
            angle = max(at + apart[k][nxt] for k, at in zip(order, angles, strict=True))
            if angle + apart[0][nxt] <= 2 * math.pi + ANGLE_SLACK_RAD:
                found = extend([*order, nxt], [*angles, angle])
                if found is not None:
                    return found
        return None

    found = extend([0], [0.0])
    if found is None:
        return None
    angle_of = {by_size[k]: angle for k, angle in found}
    return tuple(angle_of[k] for k in range(count))


def _close(order: list[int], angles: list[float], apart: list[list[float]]) -> list[float] | None:
    """Least angles that also keep everything apart across the seam at a full turn; None if the first must
    move."""
    turn = 2 * math.pi + ANGLE_SLACK_RAD
    angles = list(angles)
    for _ in range(len(order) + 1):
        settled = True
        for i, earlier in enumerate(order):
            for j in range(i + 1, len(order)):
                gap = apart[earlier][order[j]]
                if angles[j] < angles[i] + gap - ANGLE_SLACK_RAD / 8:
                    angles[j], settled = angles[i] + gap, False
                if angles[i] < angles[j] + gap - turn - ANGLE_SLACK_RAD / 8:
                    angles[i], settled = angles[j] + gap - turn, False
        if angles[0] > ANGLE_SLACK_RAD:
            return None
        if settled:
            return angles
    return None


def _ring(count: int, start: float = 0.0) -> tuple[Point, ...]:
    """Unit circles in a closed ring, each touching its two neighbours."""
    return tuple(_polar(1 / math.sin(math.pi / count), start + 2 * math.pi * k / count) for k in range(count))


def _polar(radius: float, angle: float) -> Point:
    return radius * math.cos(angle), radius * math.sin(angle)


def _nested(wall: float, half_gap: float) -> float:
    """How far out a unit circle sits that touches two unit circles at +-half_gap, both at distance
    `wall`."""
    return wall * math.cos(half_gap) - math.sqrt(4 - (wall * math.sin(half_gap)) ** 2)
