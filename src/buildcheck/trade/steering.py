"""Stem, spacers and steering: where the bar ends up and how much line a turn of the bar needs.

Angles: the head angle is measured from the horizontal (73 is a usual road frame), the stem angle from the
perpendicular to the steerer, positive upwards. Heights are vertical, reach is horizontal, forwards.
"""

import math

from buildcheck.trade.sizes import finite_length_mm, head_angle_rad, length_mm

MAX_STEERER_GAP_MM = 5.0
"""Most that a steerer may end below the top of the stem. Source: ISO 4210-2 4.7.4, read in the adoption
TBIS 4210-2."""

MIN_STEERING_ANGLE_DEG = 60.0
"""Least free turn to each side. Source: ISO 4210-2 4.7.5; the figure was read in TBIS 15194, which repeats
it."""

MIN_BAR_WIDTH_MM, MAX_BAR_WIDTH_MM = 350.0, 1000.0
"""Least and greatest width of a handlebar. Source: ISO 4210-2:2015 cl. 4.7.1, read in TBIS 4210-2:2018, p. 9."""

LEAST_STEERING_ANGLE_DEG = 30.0
"""Turn to each side below which nobody keeps the balance at walking pace. Our choice: half of what is asked for."""

LEAST_BAR_WIDTH_MM, MOST_BAR_WIDTH_MM = 250.0, 1200.0
"""Width of a handlebar beyond which nobody can steer by it. Our choice: two hands of 100 mm and the stem between them
are the least."""

LEAST_QUILL_MARK_DIAMETERS = 1.5
"""Distance of a quill's mark from its lower end, in diameters, below which it does not hold. Our choice: the wedge
takes about one diameter."""

QUILL_MARK_DIAMETERS = 2.5
"""Least distance of a quill's mark from its lower end, in diameters. Source: 16 CFR 1512.6(a); ISO 4210-2:2015
cl. 4.7.3 has the same."""


def least_quill_mark_mm(quill_mm: float, diameters: float = QUILL_MARK_DIAMETERS) -> float:
    """Where in mm from its lower end the mark of a quill of this diameter has to be at least.

    Errors: ValueError for a negative diameter or one that is not finite. Source: as QUILL_MARK_DIAMETERS.
    """
    return diameters * finite_length_mm(quill_mm, "quill diameter")


def stem_reach_mm(length_mm: float, angle_deg: float, head_angle_deg: float) -> float:
    """Horizontal distance in mm from the steerer axis to the bar centre, for a stem of this length.

    Errors: ValueError for a negative length, a stem angle beyond +-90 degrees or a head angle outside
    0 < H <= 90.
    Source: plane trigonometry, length * cos(90 - head angle + stem angle).
    """
    return finite_length_mm(length_mm, "stem length") * math.cos(_lift_rad(angle_deg, head_angle_deg))


def stem_rise_mm(length_mm: float, angle_deg: float, head_angle_deg: float) -> float:
    """Vertical distance in mm from the steerer clamp up to the bar centre; negative is a drop.

    Errors: as stem_reach_mm. Source: plane trigonometry, length * sin(90 - head angle + stem angle).
    """
    return finite_length_mm(length_mm, "stem length") * math.sin(_lift_rad(angle_deg, head_angle_deg))


def spacer_move_mm(moved_mm: float, head_angle_deg: float) -> tuple[float, float]:
    """(height change, reach change) of the bar in mm for mm of spacers moved from above to below the stem.

    Negative moved_mm is the way back: from below to above. Raising the stem also brings the bar nearer the
    rider, as the steerer leans back. Errors: ValueError for a number that is not finite or a head angle
    outside 0 < H <= 90.
    Source: plane trigonometry, (moved * sin H, -moved * cos H).
    """
    if not math.isfinite(moved_mm):
        raise ValueError(f"spacer height {moved_mm} mm is not a finite number")
    head = head_angle_rad(head_angle_deg)
    return moved_mm * math.sin(head), -moved_mm * math.cos(head)


def steerer_gap_mm(stack_mm: float, steerer_length_mm: float) -> float:
    """How far in mm the steerer ends below the top of the stack on it; negative: it stands proud.

    Both lengths count from the crown-race seat: the stack is head tube, headset, spacers and stem (and a
    spacer above the stem). Preload needs more than 0; MAX_STEERER_GAP_MM is the most. Either may be infinite, for
    the end of an unknown interval. Errors: ValueError for negative lengths.
    Source: ISO 4210-2 4.7.4 for the meaning of the gap; that it must be above 0 is common practice.
    """
    return length_mm(stack_mm, "stack") - length_mm(steerer_length_mm, "steerer length")


def _lift_rad(angle_deg: float, head_angle_deg: float) -> float:
    if not -90 <= angle_deg <= 90:
        raise ValueError(f"stem angle {angle_deg} degrees must lie between -90 and 90")
    return math.pi / 2 - head_angle_rad(head_angle_deg) + math.radians(angle_deg)
