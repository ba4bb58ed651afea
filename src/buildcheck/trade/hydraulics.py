"""Hydraulic brakes: brake-fluid grades and the arithmetic of pistons."""

import math
import re
from collections.abc import Mapping
from types import MappingProxyType
from typing import Literal, NamedTuple

FluidBase = Literal["glycol ether", "silicone", "mineral oil"]


class BoilingMinimum(NamedTuple):
    """Least equilibrium reflux boiling points of a grade in degrees Celsius, as filled in (dry) and with
    water (wet)."""

    dry_c: float
    wet_c: float


DOT_MIN_BOILING_C: Mapping[str, BoilingMinimum] = MappingProxyType(
    {
        "DOT 3": BoilingMinimum(205.0, 140.0),
        "DOT 4": BoilingMinimum(230.0, 155.0),
        "DOT 5": BoilingMinimum(260.0, 180.0),
        "DOT 5.1": BoilingMinimum(260.0, 180.0),
    }
)
"""Grade -> least boiling points. Source: 49 CFR 571.116 S5.1.1 and S5.1.2, read in secondary tables that
quote it."""

_BASES: Mapping[str, FluidBase] = MappingProxyType(
    {
        "DOT 3": "glycol ether",
        "DOT 4": "glycol ether",
        "DOT 5": "silicone",
        "DOT 5.1": "glycol ether",
        "MINERAL OIL": "mineral oil",
    }
)


def fluid_base(grade: str) -> FluidBase:
    """What a fluid is made of; different bases must never share a brake, as its seals are made for one.

    grade: "DOT 3", "DOT 4", "DOT 5", "DOT 5.1" or "mineral oil", in any case, with or without the space. No
    units.
    Errors: ValueError for any other grade. Source: 49 CFR 571.116 S4 (DOT 5 is silicone; mineral oil must
    not touch the rubbers that brake fluid is made for); that DOT 3, 4 and 5.1 are glycol ethers from
    secondary texts.
    """
    words = re.sub(r"[\s_-]+", " ", grade).strip().upper()
    base = _BASES.get(re.sub(r"^DOT ?(?=\d)", "DOT ", words))
    if base is None:
        raise ValueError(f"fluid grade {grade!r} is not known; expected DOT 3, DOT 4, DOT 5, DOT 5.1 or mineral oil")
    return base


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


def pressure_pa(force_n: float, bore_mm: float) -> float:
    """Pressure in Pa behind a piston of this diameter in mm that is pushed with this force in N.

    Errors: ValueError for a negative force or a diameter not above 0. Source: pressure = force / area,
    OpenStax College Physics 11.5.
    """
    if not (math.isfinite(force_n) and force_n >= 0):
        raise ValueError(f"force {force_n} N must be a finite number, 0 or more")
    return force_n / (math.pi / 4 * (_bore(bore_mm, "bore") / 1000) ** 2)


def _bore(diameter_mm: float, name: str) -> float:
    if not (math.isfinite(diameter_mm) and diameter_mm > 0):
        raise ValueError(f"{name} diameter {diameter_mm} mm must be a finite number above 0")
    return diameter_mm
