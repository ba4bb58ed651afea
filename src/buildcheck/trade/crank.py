"""Cranks: the span of the bearings, the chain line and the angle of the chain."""

from __future__ import annotations

import math

SPAN_TOLERANCE_MM = 0.5
"""How much wider than the crank is made for the bearings may stand, in mm: what its preload takes up. Source: our
choice."""

PLAY_MOST_MM = 1.0
"""How much narrower the bearings may stand before a spacer is missing, in mm. Source: our choice."""

ARM_CLEARANCE_MM = 2.0
"""Least room in mm between arm and stay, on each side. Source: our choice; 2 to 3 mm is common practice."""

CHAIN_LINE_MOST_MM = 2.5
"""How far front and rear chain line may differ in mm with a derailleur. Source: our choice."""

CHAIN_LINE_SINGLE_MOST_MM = 1.5
"""The same for one ring and one sprocket, where the chain never finds a better gear. Source: our choice."""

CHAIN_LINE_LIMIT_MM, CHAIN_LINE_SINGLE_LIMIT_MM = 10.0, 5.0
"""How far front and rear chain line may differ in mm before the chain jumps off, with a derailleur and without one.
Source: our choice; sprockets stand some 4 mm apart."""

FRONT_DERAILLEUR_LIMIT_MM = 7.5
"""How far a front derailleur may be from its chain line in mm before it no longer reaches a ring. Source: our choice;
rings stand some 7 mm apart."""

CHAIN_ANGLE_MOST_DEG = 4.0
"""From this angle in degrees on the worst gear is told. Source: our choice; no published limit was found."""


def bearing_span_mm(narrowest_mm: float, made_for_mm: float, shell_mm: float, spacers_mm: float) -> float:
    """Outer face to outer face of the bearings in mm, in a shell of this width and with these spacers.

    narrowest_mm is the span in the narrowest shell that the bottom bracket is made for, which is made_for_mm wide.
    A size may be infinite, for the end of an unknown interval. Errors: ValueError for a negative size.
    Source: geometry: the shell keeps the cups apart.
    """
    sizes = (narrowest_mm, made_for_mm, shell_mm, spacers_mm)
    if any(math.isnan(size) or size < 0 for size in sizes):
        raise ValueError(f"a size among {sizes} is none; numbers of at least 0 mm are expected")
    return narrowest_mm + shell_mm - made_for_mm + spacers_mm


def widest_offset_mm(line_offset_mm: float, ring_spread_mm: float, sprocket_spread_mm: float) -> float:
    """Sideways distance in mm of ring and sprocket in the worst gear.

    line_offset_mm is the difference of front and rear chain line; the spreads run from the middle of the first ring
    (or sprocket) to the middle of the last, 0 for one. Errors: ValueError for a negative spread.
    Source: geometry: half of each spread lies to each side of its chain line.
    """
    if ring_spread_mm < 0 or sprocket_spread_mm < 0:
        raise ValueError(f"a spread of {min(ring_spread_mm, sprocket_spread_mm)} mm is none; at least 0 is expected")
    return abs(line_offset_mm) + ring_spread_mm / 2 + sprocket_spread_mm / 2


def chain_angle_deg(offset_mm: float, chainstay_mm: float) -> float:
    """Angle in degrees between a chain and the middle plane of the bike, signed as the sideways offset in mm.

    Errors: ValueError for a chainstay that is not above 0. Source: plane trigonometry, atan(offset / chainstay).
    """
    if not chainstay_mm > 0:
        raise ValueError(f"a chainstay of {chainstay_mm} mm is none; more than 0 is expected")
    return math.degrees(math.atan2(offset_mm, chainstay_mm))
