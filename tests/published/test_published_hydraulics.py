"""Brake fluids against the regulation and pistons against textbook examples."""

import math

import pytest

from buildcheck.trade.hydraulics import DOT_MIN_BOILING_C, clamp_ratio, fluid_base, pressure_pa


# 49 CFR 571.116 S5.1.1 (dry) and S5.1.2 (wet), degrees Celsius and Fahrenheit as printed in secondary tables.
@pytest.mark.parametrize(
    ("grade", "dry_c", "wet_c", "dry_f", "wet_f"),
    [
        ("DOT 3", 205, 140, 401, 284),
        ("DOT 4", 230, 155, 446, 311),
        ("DOT 5", 260, 180, 500, 356),
        ("DOT 5.1", 260, 180, 500, 356),
    ],
)
def test_boiling_points(grade: str, dry_c: float, wet_c: float, dry_f: float, wet_f: float) -> None:
    found = DOT_MIN_BOILING_C[grade]
    assert found == (dry_c, wet_c)
    assert (found.dry_c * 1.8 + 32, found.wet_c * 1.8 + 32) == pytest.approx((dry_f, wet_f))


def test_bases() -> None:
    # 49 CFR 571.116 S4: DOT 5 is silicone; the others are glycol ethers by secondary texts.
    assert [fluid_base(g) for g in DOT_MIN_BOILING_C] == [
        "glycol ether",
        "glycol ether",
        "silicone",
        "glycol ether",
    ]


def test_textbook_brake() -> None:
    # OpenStax College Physics 11.5, example: 500 N on a 0.500 cm master, 2.50 cm slaves: 1.25e4 N at each;
    # the pressure is printed as 2.5e7 Pa (2.546e7 worked out).
    assert 500 * clamp_ratio(5, 25) == pytest.approx(1.25e4)
    assert pressure_pa(500, 5) == pytest.approx(2.546e7, rel=1e-3)


def test_textbook_areas() -> None:
    # algebra.com, question 1013301: 500 N on 5 cm2 is 1.0 MPa, and 5000 N on a slave of 50 cm2.
    small, large = (math.sqrt(4 * area_mm2 / math.pi) for area_mm2 in (500, 5000))
    assert pressure_pa(500, small) == pytest.approx(1.0e6)
    assert 500 * clamp_ratio(small, large) == pytest.approx(5000)


def test_opposed_pistons() -> None:
    # Worked out: 10 mm master, 22 mm pistons: 4.84 for one side, and 9.68 only where both pistons push one pad.
    assert clamp_ratio(10, 22) == pytest.approx(4.84)
    assert clamp_ratio(10, 22, per_side=2) == pytest.approx(9.68)
