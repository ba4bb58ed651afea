"""Seat post: how much of it is in the seat tube at the rider's height, and how much has to be.

All heights are measured along the seat tube, in mm. A size may be infinite, for the end of an unknown interval.
"""

import math

from buildcheck.trade.sizes import length_mm

MARK_DIAMETERS = 2.0
"""Least insertion of a seat post in diameters of the post, from its lower end. Source: 16 CFR 1512.15(b)."""


def least_insertion_mm(diameter_mm: float) -> float:
    """Least length in mm of a post that has to be in the seat tube, whatever its maker's mark says.

    Errors: ValueError for a negative number.
    Source: 16 CFR 1512.15(b), two diameters from the lower end; the strength below it is not judged here.
    """
    return MARK_DIAMETERS * length_mm(diameter_mm, "post diameter")


def rails_above_tube_mm(saddle_height_mm: float, seat_tube_length_mm: float, saddle_stack_mm: float) -> float:
    """How far in mm the saddle rails stand above the top of the seat tube; negative: below it.

    Saddle height counts from the bottom bracket to the top of the saddle, the seat tube from the bottom
    bracket to its top, the saddle's stack from its rails to its top. Errors: ValueError for a negative
    length. Source: arithmetic along the seat tube; setback is left out, which at 20 mm of setback and
    700 mm of height is an error of 0.3 mm.
    """
    height = length_mm(saddle_height_mm, "saddle height")
    return height - length_mm(seat_tube_length_mm, "seat tube length") - length_mm(saddle_stack_mm, "saddle stack")


def post_inserted_mm(post_length_mm: float, head_mm: float, rails_above_mm: float) -> float:
    """Length in mm of the post that is in the seat tube; negative: the post ends above the tube.

    The post's length counts from its lower end to the upper end of its tube, its head from there to the
    saddle rails; a dropper post is measured at full height. Errors: ValueError for a negative length of
    post or head. Source: arithmetic along the seat tube.
    """
    if math.isnan(rails_above_mm):
        raise ValueError("the height of the rails in mm must be a number")
    return length_mm(post_length_mm, "post length") + length_mm(head_mm, "head of the post") - rails_above_mm
