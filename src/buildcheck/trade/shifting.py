"""Sprockets on a freehub body, and cable pull against the distance of sprockets.

A derailleur moves the chain sideways by cable pull times its ratio for each click; that must be the distance
from one sprocket to the next. Figures for pull and ratio that are found online differ by about 10 per cent.
"""

from __future__ import annotations

import math

STEP_ERROR_WARN = 0.03
"""From this share of a sprocket's distance on a click is told as inexact. Source: our choice."""

STEP_ERROR_MOST = 0.06
"""From this share on a click is told as wrong: more than cable families differ among themselves. Source: our choice."""

ONE_SPACING = (7.0, 8.0)
"""Numbers of sprockets that stand equally far apart. Source: BikeRadar forum, cassette compatibility."""

BODY_TOLERANCE_MM = 0.5
"""How far a stack may differ from its freehub body in mm: thinnest spacer in use is 1.0 mm. Source: our choice."""


def sprocket_stack_mm(sprockets: int, pitch_mm: float, thickness_mm: float) -> float:
    """Width in mm of a set of sprockets, outer face to outer face; with a thickness of 0 middle to middle.

    Errors: ValueError for less than one sprocket or a negative size.
    Source: geometry, (n - 1) * pitch + thickness; pitches in crib sheet of sprocket pitches, quoted.
    """
    if sprockets < 1:
        raise ValueError(f"{sprockets} sprockets are none; at least 1 is expected")
    return (sprockets - 1) * _size(pitch_mm, "sprocket pitch") + _size(thickness_mm, "sprocket thickness")


def body_left_mm(body_mm: float, filled_mm: float, spacers_mm: float) -> float:
    """Length in mm of a freehub body that cassette and spacers leave empty; negative: they stand out beyond it.

    A size may be infinite, for the end of an unknown interval. Errors: ValueError for a negative size.
    Source: Rookie Journal: 11-speed hubs (a body 1.85 mm longer takes a shorter cassette with a spacer of 1.85 mm).
    """
    return _size(body_mm, "freehub body") - _size(filled_mm, "cassette") - _size(spacers_mm, "spacers")


def shift_step_mm(cable_mm: float, ratio: float) -> float:
    """Sideways travel of the chain in mm for one click: cable pull in mm times the derailleur's ratio.

    Errors: ValueError for a negative size. Source: Wikibooks, gear-changing dimensions.
    """
    return _size(cable_mm, "cable pull") * _size(ratio, "shift ratio")


def converted_pull_mm(cable_mm: float, pull_in_mm: float, pull_out_mm: float) -> float:
    """Cable in mm that a pull converter gives the derailleur for what the shifter pulls: two drums on one axle.

    A size may be infinite, for the end of an unknown interval; a drum that takes nothing in may give out anything.
    Errors: ValueError for a negative size. Source: arithmetic, cable * out / in.
    """
    _size(pull_in_mm, "pull in")
    wound = _size(cable_mm, "cable pull") * _size(pull_out_mm, "pull out") if cable_mm and pull_out_mm else 0.0
    if wound == 0:
        return 0.0
    if pull_in_mm == 0 or math.isinf(wound):
        return math.inf
    return wound / pull_in_mm


def step_error(step_mm: float, pitch_mm: float) -> float:
    """How far one click is off, as a share of the sprockets' distance; negative: it falls short.

    Errors: ValueError for a negative step or a pitch of 0. Source: arithmetic, step / pitch - 1.
    """
    if _size(pitch_mm, "sprocket pitch") == 0:
        raise ValueError("a sprocket pitch of 0 mm is no distance; more than 0 is expected")
    return _size(step_mm, "step") / pitch_mm - 1


def added_error_mm(sprockets: int, step_mm: float, pitch_mm: float) -> float:
    """How far in mm the chain is beside the last sprocket, if it is right on the first; negative: it falls short.

    Errors: ValueError for less than one sprocket or a negative size. Source: arithmetic, (n - 1) * (step - pitch).
    """
    moved = sprocket_stack_mm(sprockets, _size(step_mm, "step"), 0)
    return moved - sprocket_stack_mm(sprockets, pitch_mm, 0)


def _size(value: float, what: str) -> float:
    if math.isnan(value) or value < 0:
        raise ValueError(f"{what} {value} is no size; a number of at least 0 is expected")
    return value
