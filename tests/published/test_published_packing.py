"""Circle packings against published values."""

import math

import pytest

from buildcheck.trade.circles import three_circles_radius
from buildcheck.trade.packing import equal_circles_ratio, packs_in_round

# Wikipedia "Circle packing in a circle", table: enclosing radius of n unit circles. The closed forms are as
# printed there (decimals worked out); for 10 the table prints 3.813...
WIKIPEDIA = {
    1: 1.0,
    2: 2.0,
    3: 2.154701,
    4: 2.414214,
    5: 2.701302,
    6: 3.0,
    7: 3.0,
    8: 3.304765,
    9: 3.613126,
    10: 3.813026,
    11: 3.923804,
    13: 4.236068,
    19: 4.863703,
}


@pytest.mark.parametrize(("count", "ratio"), WIKIPEDIA.items())
def test_equal_circles(count: int, ratio: float) -> None:
    assert equal_circles_ratio(count) == pytest.approx(ratio, abs=5e-7)
    bore = 5 * equal_circles_ratio(count)
    assert packs_in_round([5.0] * count, bore * (1 + 1e-9)) is True
    assert packs_in_round([5.0] * count, bore * 0.999) is False


# Descartes' circle theorem (Wikipedia "Descartes' theorem"): three circles that touch each other, and the
# circle round them. Worked out from the theorem; 1, 1, 1 agrees with the packing table, 1/2, 1/2, 1/3 is
# the integral gasket with curvatures -1, 2, 2, 3.
@pytest.mark.parametrize(
    ("radii", "outer"), [((1, 1, 1), 1 + 2 / math.sqrt(3)), ((1 / 2, 1 / 2, 1 / 3), 1), ((3, 3, 2), 6)]
)
def test_three_touching_circles(radii: tuple[float, float, float], outer: float) -> None:
    assert three_circles_radius(*radii) == pytest.approx(outer, rel=1e-12)
    diameters = [2 * r for r in radii]
    assert packs_in_round(diameters, 2 * outer * (1 + 1e-9)) is True
    assert packs_in_round(diameters, 2 * outer * 0.9999) is False


def test_touching_each_other_is_not_always_the_tightest() -> None:
    # Radii 1, 2, 3: the theorem gives an outer circle of 6 (classic case), but 2 and 3 side by side need
    # only 5 and leave room for 1 beside them (up to 30/19 by the same theorem).
    assert three_circles_radius(1, 2, 3) == 5
    assert three_circles_radius(30 / 19, 2, 3) == pytest.approx(5)
    assert three_circles_radius(1.6, 2, 3) > 5
    assert packs_in_round([2, 4, 6], 10) is True
