"""Hydraulic brakes: brake-fluid grades and the arithmetic of pistons."""

import math


def clamp_ratio(master_mm: float, piston_mm: float, per_side: float = 1) -> float:
    """Force of the pistons of one side of a caliper over that on the master piston: their areas' ratio.

    Diameters in mm; `per_side` counts the like pistons of one side. Of opposed pistons only one side counts,
    as the other holds against it.
    Errors: ValueError unless all are above 0 and finite. Source: Pascal's principle, OpenStax College Physics
    11.5.
    """
    if not (math.isfinite(per_side) and per_side > 0):
        raise ValueError(f"{per_side} pistons a side: a finite number above 0 is expected")
    return per_side * (_bore(piston_mm, "piston") / _bore(master_mm, "master")) ** 2


def master_travel_mm(ratio: float, pad_travel_mm: float) -> float:
    """Travel of the master piston in mm while the pads of both sides travel `pad_travel_mm` each.

    `ratio` is `clamp_ratio`. The fluid that leaves the master fills both sides, so both sides count here.
    Errors: ValueError for a ratio not above 0 or a negative travel. Source: the volume is kept, so
    that no work is won (OpenStax College Physics 11.5).
    """
    if not (math.isfinite(ratio) and ratio > 0):
        raise ValueError(f"ratio {ratio} must be a finite number above 0")
    if not (math.isfinite(pad_travel_mm) and pad_travel_mm >= 0):
        raise ValueError(f"pad travel {pad_travel_mm} mm must be a finite number, 0 or more")
    return 2 * ratio * pad_travel_mm


def _bore(diameter_mm: float, name: str) -> float:
    if not (math.isfinite(diameter_mm) and diameter_mm > 0):
        raise ValueError(f"{name} diameter {diameter_mm} mm must be a finite number above 0")
    return diameter_mm
