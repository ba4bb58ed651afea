"""Hubs, end caps and rim brakes: widths that can be changed, where the rotor comes to sit, the reach of a brake.

Widths of a hub or between dropouts are over the locknuts or end faces, in mm. The drive side is the right one; the
rotor is on the left.
"""

from __future__ import annotations

import math
from typing import Literal

LOCATING_SHELF_MM = 3.5
"""How far each end of a hub for a thru-axle stands in the recess of its dropout, more than the same hub for a skewer.

Source: BikeGremlin forum on rear chainline, 142 = 135 + 2 x 3.5; road bike axle list (weak copy), 157 = 150 + 7.
"""

TRACK_UNSURE_MM = 2.0
"""How far the middle of a rim's brake track may lie from the radius of its bead seat. From memory: the edge of a
rim stands some 6 mm above the bead seat, and the track is 10 to 14 mm high from there inwards."""

SHOE_PLAY_MM = 2.0
"""How far the middle of a shoe may lie off the middle of the track with the whole shoe still on it. Our choice: a
shoe is some 4 mm lower than the track."""

# Kits that widen a hub, both sides together: 3 mm a side from 142 to 148, 5 mm a side from 100 to 110 (from memory).
_KITS_MM = (6.0, 10.0)


def end_cap_change(hub_mm: float, dropout_mm: float) -> Literal["made", "not-known", "impossible"]:
    """Can end caps make a hub of one width fit dropouts of another?

    `made`: such caps exist (the same width with another axle, the locating shelves on or off, a kit that widens).
    `impossible`: the hub would have to be narrower than its shell. `not-known`: wider by a step that nobody was found
    to make. Errors: ValueError for a width that is not above 0.
    Source: BikeGremlin forum (142 = 135 + 2 x 3.5); that kits widen 142 to 148 and that 148 never goes into 142:
    from memory.
    """
    step = _width(dropout_mm, "dropout width") - _width(hub_mm, "hub width")
    if step == 0 or abs(step) == 2 * LOCATING_SHELF_MM or step in _KITS_MM:
        return "made"
    return "impossible" if step < 0 else "not-known"


def rotor_offset_mm(hub_mm: float, dropout_mm: float) -> float:
    """How much further from the left dropout the rotor sits, in mm, than with a hub made for these dropouts.

    With end caps that leave the hub in the middle; what they move it to the drive side comes on top. Locating shelves
    lie within the dropouts and move nothing. Errors: ValueError as end_cap_change.
    Source: geometry; a widening kit leaves half of the step at each side, so it comes with a spacer for the rotor
    (from memory).
    """
    step = _width(dropout_mm, "dropout width") - _width(hub_mm, "hub width")
    return 0.0 if abs(step) == 2 * LOCATING_SHELF_MM else step / 2


def brake_track_radius_mm(bead_seat_mm: float) -> tuple[float, float]:
    """Least and greatest radius in mm of the middle of a rim's brake track, from the diameter of its bead seat.

    Errors: ValueError for a diameter that is not above TRACK_UNSURE_MM twice over.
    Source: bead seat diameter by ISO 5775; that the track's middle lies there within TRACK_UNSURE_MM: from memory.
    """
    radius = _width(bead_seat_mm, "bead seat diameter") / 2
    if radius <= TRACK_UNSURE_MM:
        raise ValueError(f"bead seat diameter {bead_seat_mm} mm is too small for a rim with a brake track")
    return radius - TRACK_UNSURE_MM, radius + TRACK_UNSURE_MM


def _width(value_mm: float, name: str) -> float:
    if not (math.isfinite(value_mm) and value_mm > 0):
        raise ValueError(f"{name} {value_mm} mm must be a finite number above 0")
    return value_mm
