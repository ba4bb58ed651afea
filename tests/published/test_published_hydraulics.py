"""Brake fluids against the regulation and pistons against textbook examples."""

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


def test_opposed_pistons() -> None:
    # Worked out: 10 mm master, 22 mm pistons, one side only.
    assert clamp_ratio(10, 22) == pytest.approx(4.84)
