"""What formulas of the trade refuse: sizes that no bicycle has."""

import math


def head_angle_rad(head_angle_deg: float) -> float:
    """A head angle in degrees from the horizontal, in radians.

    Errors: ValueError for one that is not above 0 and at most 90 degrees. Source: geometry; a steering axis that
    leans forwards, or lies flat, is none.
    """
    if not 0 < head_angle_deg <= 90:
        raise ValueError(f"head angle {head_angle_deg} degrees must be above 0 and at most 90 from the horizontal")
    return math.radians(head_angle_deg)


def finite_length_mm(value_mm: float, name: str) -> float:
    """The same length in mm, if it is one. Errors: ValueError, with its name, for a negative or endless one."""
    if not (math.isfinite(value_mm) and value_mm >= 0):
        raise ValueError(f"{name} {value_mm} mm must be a finite number, 0 or more")
    return value_mm


def length_mm(value_mm: float, name: str) -> float:
    """The same length in mm, which may be infinite, for the end of an unknown interval.

    Errors: ValueError, with its name, for a negative one.
    """
    if not value_mm >= 0:
        raise ValueError(f"{name} {value_mm} mm must be a number, 0 or more")
    return value_mm
