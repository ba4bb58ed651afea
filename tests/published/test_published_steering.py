"""Stem and steering against standards and worked geometry."""

import pytest

from buildcheck.trade.steering import (
    MAX_STEERER_GAP_MM,
    MIN_STEERING_ANGLE_DEG,
    spacer_move_mm,
    stem_reach_mm,
    stem_rise_mm,
)


def test_limits_of_the_standard() -> None:
    # ISO 4210-2 4.7.4, read in TBIS 4210-2: stem top to steerer top at most 5 mm.
    assert MAX_STEERER_GAP_MM == 5
    # ISO 4210-2 4.7.5; 60 degrees to each side read in TBIS 15194.
    assert MIN_STEERING_ANGLE_DEG == 60


# No published table was found: worked out by hand from the geometry (CALC in the reference notes, section
# 11).
@pytest.mark.parametrize(
    ("length", "angle", "head", "reach", "rise"),
    [
        (100, -6, 73, 98.163, 19.081),
        (100, 6, 73, 92.050, 39.073),
        (110, -17, 73, 110.0, 0.0),
        (50, 0, 66, 45.677, 20.337),
    ],
)
def test_stem(length: float, angle: float, head: float, reach: float, rise: float) -> None:
    assert stem_reach_mm(length, angle, head) == pytest.approx(reach, abs=5e-4)
    assert stem_rise_mm(length, angle, head) == pytest.approx(rise, abs=5e-4)


# As above: worked out from the geometry.
@pytest.mark.parametrize(
    ("moved", "head", "height", "reach"),
    [(10, 73, 9.563, -2.924), (30, 73, 28.689, -8.771), (20, 67, 18.410, -7.815)],
)
def test_spacers(moved: float, head: float, height: float, reach: float) -> None:
    assert spacer_move_mm(moved, head) == pytest.approx((height, reach), abs=5e-4)
