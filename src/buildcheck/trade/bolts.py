"""Bolts and torque wrenches: what an adapter changes, how hard a torque stretches a bolt, and what the bolt bears.

Proof loads and stress areas are those of ISO 898-1, read second-hand (nfgab.se, optimas, slsbearings, usefastener.com,
engineeringtoolbox.com). A bolt of stainless steel has no proof load in that standard.
"""

from __future__ import annotations

import re
from math import cos, isfinite, pi, radians

NUT_FACTOR_WAXED, NUT_FACTOR_GREASED, NUT_FACTOR_AS_RECEIVED, NUT_FACTOR_RUSTY = 0.12, 0.15, 0.20, 0.30
"""K in T = K F d, a number without unit: the range in which it lies. The slipperier the thread, the more one and the
same torque stretches the bolt. Source: aionlinecalculator.com (0.15 lubricated, 0.20 as received, 0.30 dry and rusty),
engitoolbox.org (0.12 waxed to 0.22 zinc plated)."""

STRESS_AREA_MM2 = {
    "M3x0.5": 5.03, "M4x0.7": 8.78, "M5x0.8": 14.2, "M6x1": 20.1, "M8x1.25": 36.6, "M10x1.5": 58.0, "M12x1.75": 84.3,
}  # fmt: skip
"""Tensile stress area of the coarse threads, in mm². Source: ISO 898-1, as in the module's docstring."""

PROOF_LOAD_N = {
    "8.8": {"M3x0.5": 2920, "M4x0.7": 5100, "M5x0.8": 8230, "M6x1": 11600,
            "M8x1.25": 21200, "M10x1.5": 33700, "M12x1.75": 48900},
    "10.9": {"M3x0.5": 4180, "M4x0.7": 7290, "M5x0.8": 11800, "M6x1": 16700,
             "M8x1.25": 30400, "M10x1.5": 48100, "M12x1.75": 70000},
    "12.9": {"M3x0.5": 4880, "M4x0.7": 8520, "M5x0.8": 13800, "M6x1": 19500,
             "M8x1.25": 35500, "M10x1.5": 56300, "M12x1.75": 81800},
}  # fmt: skip
"""Pull in newton that a bolt takes without staying longer, by property class. Source: ISO 898-1, as above."""

PROOF_STRESS_MPA = {"8.8": 580.0, "10.9": 830.0, "12.9": 970.0}
"""For threads up to 16 mm, in MPa. Source: ISO 898-1:2013, read second-hand (nfgab.se)."""

_LARGEST_MM = 16.0
_THREAD = re.compile(r"^M([0-9]+(?:\.[0-9]+)?)x([0-9]+(?:\.[0-9]+)?)$")


def adapter_setting_nm(torque_nm: float, wrench_mm: float, adapter_mm: float, angle_deg: float = 0.0) -> float:
    """What to set in N m so that the bolt gets `torque_nm` through an adapter: T L / (L + E cos angle).

    `wrench_mm` is L, from the middle of the grip to the drive; `adapter_mm` is E, from the drive to the bolt;
    `angle_deg` is 0 where the adapter points straight on and 90 where it stands across, which changes nothing.
    Errors: ValueError for a torque or length below 0, a wrench without length, or an adapter that reaches back
    to the hand. Source: engineersedge.com, Torque wrench with extension; checked against two published examples.
    """
    if torque_nm < 0 or wrench_mm <= 0 or adapter_mm < 0 or not isfinite(torque_nm + wrench_mm + adapter_mm):
        raise ValueError(f"torque {torque_nm}, wrench {wrench_mm} and adapter {adapter_mm} must be 0 or more")
    reach_mm = wrench_mm + adapter_mm * cos(radians(angle_deg))
    if reach_mm <= 0:
        raise ValueError(f"an adapter of {adapter_mm} mm at {angle_deg} degrees reaches back to the hand")
    return torque_nm * wrench_mm / reach_mm


def thread_mm(thread: str) -> tuple[float, float]:
    """Diameter and pitch in mm of a metric thread such as `M5x0.8`.

    Errors: ValueError for any other thread, such as one in inches. Source: the designation in ISO 965-1, as the
    article "How to measure bolts for your bike" tells it.
    """
    found = _THREAD.match(thread)
    if found is None:
        raise ValueError(f"{thread!r} is not the name of a metric thread such as M5x0.8")
    return float(found[1]), float(found[2])


def stress_area_mm2(diameter_mm: float, pitch_mm: float) -> float:
    """Section in mm² that carries the pull: pi/4 (d - 0.9382 p)².

    Errors: ValueError for a thread that is deeper than its bolt. Source: ISO 898-1, read second-hand.
    """
    core_mm = diameter_mm - 0.9382 * pitch_mm
    if pitch_mm <= 0 or core_mm <= 0:
        raise ValueError(f"a bolt of {diameter_mm} mm has no thread with a pitch of {pitch_mm} mm")
    return pi / 4 * core_mm**2


def proof_load_n(thread: str, property_class: str) -> float:
    """Pull in newton that a bolt takes without staying longer; of a fine thread its area times the proof stress.

    Errors: KeyError for a class that is not in the table, ValueError for a thread that is no metric one or is thicker
    than 16 mm, where the stress is another. Source: ISO 898-1, as in the module's docstring.
    """
    loads, stress_mpa = PROOF_LOAD_N[property_class], PROOF_STRESS_MPA[property_class]
    if thread in loads:
        return loads[thread]
    diameter_mm, pitch_mm = thread_mm(thread)
    if diameter_mm > _LARGEST_MM:
        raise ValueError(f"{thread} is thicker than {_LARGEST_MM:g} mm")
    return stress_area_mm2(diameter_mm, pitch_mm) * stress_mpa


def preload_n(torque_nm: float, diameter_mm: float, nut_factor: float) -> float:
    """Pull in newton that a torque puts on a bolt: F = T / (K d).

    Errors: ValueError for a torque below 0, or a diameter or factor that is not above 0.
    Source: engitoolbox.org, bolt torque; checked against its example of 25 kN.
    """
    if torque_nm < 0 or diameter_mm <= 0 or nut_factor <= 0:
        raise ValueError(f"torque {torque_nm}, diameter {diameter_mm} and nut factor {nut_factor} must be above 0")
    return torque_nm / (nut_factor * diameter_mm / 1000)


def over_proof(torque_nm: float, thread: str, property_class: str, nut_factor: float = NUT_FACTOR_GREASED) -> bool:
    """Does this torque (N m) stretch a bolt beyond its proof load? Greased, unless another factor is given.

    Errors: as proof_load_n and preload_n. Source: as both.
    """
    return preload_n(torque_nm, thread_mm(thread)[0], nut_factor) > proof_load_n(thread, property_class)


def proof_torque_nm(thread: str, property_class: str, nut_factor: float = NUT_FACTOR_GREASED) -> float:
    """Torque in N m at which a bolt reaches its proof load: T = K F d. Greased, unless another factor is given.

    Errors: as proof_load_n. Source: as preload_n and proof_load_n.
    """
    return proof_load_n(thread, property_class) * nut_factor * thread_mm(thread)[0] / 1000
