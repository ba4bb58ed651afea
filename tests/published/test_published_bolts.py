"""Bolts and torque wrenches against published examples and tables.

Adapter: easymanua.ls, sheet of a torque wrench (50 ft lb, 16 in, 2 in); agentcalc.com (80 N m, 40 cm, 5 cm).
Preload: engitoolbox.org (M10, K 0.20, 50 N m; M12 of class 8.8 at 70 % of its proof stress).
Stress areas: ISO 898-1 (usefastener.com, engineeringtoolbox.com); with three decimals engineersedge.com, from Bickford.
Proof loads: ISO 898-1 (nfgab.se, optimas, slsbearings). The published loads are rounded, so they agree to 0.5 %.
"""

import pytest

from buildcheck.trade.bolts import (
    NUT_FACTOR_AS_RECEIVED,
    PROOF_LOAD_N,
    PROOF_STRESS_MPA,
    STRESS_AREA_MM2,
    adapter_setting_nm,
    over_proof,
    preload_n,
    proof_load_n,
    stress_area_mm2,
    thread_mm,
)


def test_adapter_settings() -> None:
    assert adapter_setting_nm(50, 16, 2) == pytest.approx(44.44, abs=0.005)  # any one unit of length and of torque
    assert adapter_setting_nm(80, 400, 50) == pytest.approx(71.1, abs=0.05)


def test_preload_of_m10() -> None:
    pull = preload_n(50, 10, NUT_FACTOR_AS_RECEIVED)
    assert pull == pytest.approx(25_000)
    assert pull / STRESS_AREA_MM2["M10x1.5"] == pytest.approx(431, abs=0.5)


def test_torque_of_m12_at_seventy_per_cent() -> None:
    pull = 0.70 * PROOF_STRESS_MPA["8.8"] * STRESS_AREA_MM2["M12x1.75"]
    assert pull == pytest.approx(34_226, abs=1)
    assert preload_n(82.1, 12, 0.2) == pytest.approx(pull, rel=0.001)


@pytest.mark.parametrize(
    ("thread", "area"),
    [
        ("M3x0.5", 5.031), ("M4x0.7", 8.779), ("M5x0.8", 14.183), ("M6x1", 20.123), ("M8x1.25", 36.609),
        ("M10x1.5", 57.990), ("M12x1.75", 84.267),
    ],
)  # fmt: skip
def test_stress_areas(thread: str, area: float) -> None:
    assert stress_area_mm2(*thread_mm(thread)) == pytest.approx(area, abs=0.002)
    assert STRESS_AREA_MM2[thread] == pytest.approx(area, rel=0.002)


@pytest.mark.parametrize(
    ("name", "loads"),
    [
        ("8.8", (2920, 5100, 8230, 11600, 21200, 33700, 48900)),
        ("10.9", (4180, 7290, 11800, 16700, 30400, 48100, 70000)),
        ("12.9", (4880, 8520, 13800, 19500, 35500, 56300, 81800)),
    ],
)
def test_proof_loads(name: str, loads: tuple[int, ...]) -> None:
    assert tuple(PROOF_LOAD_N[name].values()) == loads
    for thread, load in PROOF_LOAD_N[name].items():
        assert proof_load_n(thread, name) == load
        assert STRESS_AREA_MM2[thread] * PROOF_STRESS_MPA[name] == pytest.approx(load, rel=0.005)


@pytest.mark.parametrize(
    ("thread", "torque"), [("M5x0.8", 6.18), ("M6x1", 10.49), ("M8x1.25", 25.47), ("M10x1.5", 50.46)]
)
def test_torque_for_three_quarters_of_the_proof_stress(thread: str, torque: float) -> None:
    """Of class 8.8, K 0.2: worked out by hand in the collection of figures."""
    pull = 0.75 * PROOF_STRESS_MPA["8.8"] * STRESS_AREA_MM2[thread]
    assert preload_n(torque, thread_mm(thread)[0], 0.2) == pytest.approx(pull, rel=0.002)
    assert not over_proof(torque, thread, "8.8", 0.2)
    assert over_proof(torque * 1.35, thread, "8.8", 0.2)
