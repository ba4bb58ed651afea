"""Toothed belts as drives: the circle that a belt lies on, and where it is tight."""

import math

from buildcheck.trade.chain import PITCH_MM, centre_for_links_mm

FEWEST_TEETH = 3
"""Fewer teeth make no wheel; a number that is not known is at least this."""


def belt_circle_mm(teeth: float, pitch_mm: float) -> float:
    """Diameter in mm of the circle on which a belt of this pitch lies round so many teeth.

    Errors: ValueError for a negative number or one that is not known. Source: geometry of toothed belts (ISO 5294): the
    teeth of the belt lie on the circle at their pitch, d = z p / pi.
    """
    if not (teeth >= 0 and pitch_mm >= 0):
        raise ValueError(f"{teeth} teeth at {pitch_mm} mm: numbers of 0 or more are expected")
    return teeth * pitch_mm / math.pi


def belt_centre_mm(belt_teeth: float, one_teeth: float, other_teeth: float, pitch_mm: float) -> float:
    """Distance in mm of the axles at which a belt is tight; 0 where it does not go round both wheels.

    A sprocket of fewer than 3 teeth counts as one of 3, and what is infinite makes the distance infinite or 0.
    Source: as `centre_for_links_mm`, which holds for any pitch.
    """
    one, other = max(one_teeth, FEWEST_TEETH), max(other_teeth, FEWEST_TEETH)
    if math.inf in (one, other) or pitch_mm <= 0:
        return 0.0
    if math.inf in (belt_teeth, pitch_mm):
        return math.inf
    try:
        return centre_for_links_mm(belt_teeth, one, other) / PITCH_MM * pitch_mm
    except ValueError:
        return 0.0
