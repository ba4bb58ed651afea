"""Trail and seat posts against measured bicycles, rules for bicycles and worked geometry."""

import pytest

from buildcheck.trade.geometry import Geometry, mechanical_trail_mm, trail_mm, wheel_flop_mm, with_fork
from buildcheck.trade.seat import least_insertion_mm
from buildcheck.trade.steering import MAX_BAR_WIDTH_MM, MIN_BAR_WIDTH_MM, least_quill_mark_mm


# Measured bicycles of the data set in the source distribution of bicycleparameters 1.5.2 (PyPI), folder
# data/bicycles: radius of the front wheel, head angle and fork offset as measured there, the trail that it prints with
# its uncertainty. The last one has its fork reversed.
@pytest.mark.parametrize(
    ("radius", "head", "offset", "trail", "uncertainty"),
    [
        (343.5, 67.1, 70.5, 68.58, 1.69),
        (342.6, 69.0, 45.0, 83.29, 1.69),
        (330.2, 71.1, 38.5, 72.35, 1.63),
        (333.8, 74.2, 31.5, 61.73, 1.61),
        (341.9, 72.7, 56.5, 47.31, 1.63),
        (341.9, 70.6, -56.5, 180.29, 1.77),
    ],
)
def test_trail_of_measured_bicycles(
    radius: float, head: float, offset: float, trail: float, uncertainty: float
) -> None:
    # The measured figures are rounded to 0.1 mm and 0.1 degrees here, which is worth some hundredths of trail.
    assert trail_mm(radius, head, offset) == pytest.approx(trail, abs=0.025)
    # Half a degree of head angle more would be outside of what the publication allows.
    assert abs(trail_mm(radius, head + 0.5, offset) - trail) > uncertainty


# No published table was found: worked out by hand from the geometry (CALC in the reference notes, section 11).
@pytest.mark.parametrize(
    ("radius", "head", "offset", "trail", "mechanical", "flop"),
    [
        (340, 73, 45, 56.89, 54.41, 15.91),
        (334, 73, 43, 57.15, 54.65, 15.98),
        (368, 67.5, 44, 104.81, 96.83, 37.05),
        (342, 72, 50, 58.55, 55.68, 17.21),
    ],
)
def test_worked_trail(radius: float, head: float, offset: float, trail: float, mechanical: float, flop: float) -> None:
    assert trail_mm(radius, head, offset) == pytest.approx(trail, abs=5e-3)
    assert mechanical_trail_mm(radius, head, offset) == pytest.approx(mechanical, abs=5e-3)
    assert wheel_flop_mm(radius, head, offset) == pytest.approx(flop, abs=5e-3)


def test_twenty_millimetres_of_fork_are_about_a_degree() -> None:
    # Workshop rule of thumb, from memory: 20 mm of fork change the head angle by about 1 degree.
    found = with_fork(Geometry(66, 1190), 20, 0)
    assert 66 - found.head_angle_deg == pytest.approx(1, abs=0.2)
    # Worked out by hand for a right triangle: 20 sin 73 = 19.126 and 1000 + 20 cos 73 = 1005.847 mm.
    found = with_fork(Geometry(73, 1000), 20, 0)
    assert found.head_angle_deg == pytest.approx(73 - 1.08934, abs=5e-5)
    assert found.wheelbase_mm == pytest.approx(1006.029, abs=5e-4)


def test_mark_of_a_seat_post() -> None:
    # 16 CFR 1512.15(b): two diameters from the lower end; 27.2 mm gives 54.4 mm.
    assert least_insertion_mm(27.2) == pytest.approx(54.4)


def test_mark_of_a_quill() -> None:
    # 16 CFR 1512.6(a): 2.5 diameters from the lower end; 22.2 mm gives 55.5 mm.
    assert least_quill_mark_mm(22.2) == pytest.approx(55.5)


def test_width_of_a_bar() -> None:
    # ISO 4210-2:2015 cl. 4.7.1, read in TBIS 4210-2:2018, p. 9.
    assert (MIN_BAR_WIDTH_MM, MAX_BAR_WIDTH_MM) == (350, 1000)
