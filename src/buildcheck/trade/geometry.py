"""How a bicycle steers: trail, what follows from it, and what another fork or wheel does to the geometry.

The head angle is measured from the horizontal, the offset of the axle square to the steering axis, forwards.
Both wheels stand on level ground; a suspension fork is not compressed.
"""

import math
from typing import NamedTuple

from buildcheck.trade.sizes import finite_length_mm, head_angle_rad


class Geometry(NamedTuple):
    """Head angle in degrees and wheelbase in mm."""

    head_angle_deg: float
    wheelbase_mm: float


def trail_mm(radius_mm: float, head_angle_deg: float, offset_mm: float) -> float:
    """How far in mm the front wheel touches the ground behind where the steering axis meets it.

    Errors: ValueError for a negative radius, an offset that is not finite, or a head angle that is not
    above 0 and at most 90 degrees.
    Source: (R cos H - offset) / sin H; measured bicycles of the data set bicycleparameters 1.5.2 agree.
    """
    return mechanical_trail_mm(radius_mm, head_angle_deg, offset_mm) / math.sin(head_angle_rad(head_angle_deg))


def mechanical_trail_mm(radius_mm: float, head_angle_deg: float, offset_mm: float) -> float:
    """Distance in mm of the front wheel's point of contact from the steering axis, square to the axis.

    Errors: as trail_mm. Source: trail * sin H (Wikipedia: Bicycle and motorcycle geometry; formula from memory).
    """
    if not math.isfinite(offset_mm):
        raise ValueError(f"fork offset {offset_mm} mm must be a finite number")
    return finite_length_mm(radius_mm, "wheel radius") * math.cos(head_angle_rad(head_angle_deg)) - offset_mm


def wheel_flop_mm(radius_mm: float, head_angle_deg: float, offset_mm: float) -> float:
    """Wheel flop in mm: by how much the front sinks when the bars are turned, for equal small turns.

    Errors: as trail_mm. Source: trail * sin H * cos H (Wikipedia: Bicycle and motorcycle geometry; formula
    from memory).
    """
    return mechanical_trail_mm(radius_mm, head_angle_deg, offset_mm) * math.cos(head_angle_rad(head_angle_deg))


def with_fork(stated: Geometry, longer_mm: float, more_offset_mm: float, front_larger_mm: float = 0.0) -> Geometry:
    """The geometry with another fork or other wheels than those it is stated for.

    `longer_mm` and `more_offset_mm` are what the fork has beyond the one of the stated geometry,
    `front_larger_mm` what the front wheel's radius has beyond the rear one's (stated for equal wheels).
    Errors: ValueError for numbers that are not finite, a head angle that is not above 0 and at most 90
    degrees, or wheels that could not both stand on the ground.
    Source: plane geometry. The front axle moves along the steering axis and square to it; then the whole
    bike turns about the rear axle until both wheels stand on the ground again.
    """
    if not all(map(math.isfinite, (stated.wheelbase_mm, longer_mm, more_offset_mm, front_larger_mm))):
        raise ValueError("lengths of the geometry must be finite numbers")
    head = head_angle_rad(stated.head_angle_deg)
    ahead = stated.wheelbase_mm + longer_mm * math.cos(head) + more_offset_mm * math.sin(head)
    up = more_offset_mm * math.cos(head) - longer_mm * math.sin(head)
    apart = math.hypot(ahead, up)
    if ahead <= 0 or abs(front_larger_mm) >= apart:
        raise ValueError("the wheels of this geometry must be able to stand on the ground")
    turned = math.asin(front_larger_mm / apart) - math.atan2(up, ahead)
    return Geometry(stated.head_angle_deg - math.degrees(turned), math.sqrt(apart**2 - front_larger_mm**2))
