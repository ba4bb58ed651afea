"""Laws of circles on a wall and of the equal-circle table."""

import math
from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.circles import (
    equal_circles_centres,
    equal_circles_ratio,
    ring_angles,
    table_count_for,
    three_circles_radius,
)

radius = st.floats(0.5, 5)
TABLE = [*range(1, 12), 13, 19]


@pytest.mark.parametrize("count", TABLE)
def test_the_equal_circle_arrangement_is_a_packing_of_the_tabulated_size(count: int) -> None:
    centres = equal_circles_centres(count)
    assert len(centres) == count
    assert max(math.hypot(*c) + 1 for c in centres) <= equal_circles_ratio(count) + 1e-12
    assert all(math.dist(a, b) >= 2 - 1e-12 for a, b in combinations(centres, 2))


@pytest.mark.parametrize("count", [-1, 0, 12, 14, 20])
def test_counts_without_a_known_ratio_are_refused(count: int) -> None:
    with pytest.raises(ValueError, match="expected 1 to 11, 13 or 19"):
        equal_circles_ratio(count)


def test_the_next_tabulated_count() -> None:
    assert [table_count_for(n) for n in (1, 11, 12, 14, 19, 20)] == [1, 11, 13, 19, 19, None]


@given(st.lists(radius, min_size=1, max_size=5), st.floats(1, 30))
def test_a_ring_keeps_all_circles_apart_on_the_wall(radii: list[float], wall: float) -> None:
    angles = ring_angles(radii, wall)
    if angles is not None:
        at = [((wall - r) * math.cos(a), (wall - r) * math.sin(a)) for r, a in zip(radii, angles, strict=True)]
        for i, j in combinations(range(len(radii)), 2):
            assert math.dist(at[i], at[j]) >= radii[i] + radii[j] - 1e-7
    if max(radii) > wall:
        assert angles is None


@given(st.lists(radius, min_size=1, max_size=5), st.floats(1, 30), st.floats(0, 5), st.data())
def test_a_ring_survives_a_larger_wall_and_a_thinner_or_missing_circle(
    radii: list[float], wall: float, more: float, data: st.DataObject
) -> None:
    if ring_angles(radii, wall) is None:
        return
    assert ring_angles(radii, wall + more) is not None
    k = data.draw(st.integers(0, len(radii) - 1))
    share = data.draw(st.floats(0.1, 1))
    assert ring_angles([r * share if n == k else r for n, r in enumerate(radii)], wall) is not None
    assert ring_angles(radii[:k] + radii[k + 1 :], wall) is not None


@given(radius, radius, radius, st.floats(1, 2))
def test_three_circles_need_more_than_two_and_grow_with_each(a: float, b: float, c: float, larger: float) -> None:
    need = three_circles_radius(a, b, c)
    assert need >= max(a + b, b + c, c + a) * (1 - 1e-12)
    assert need == pytest.approx(three_circles_radius(c, a, b), rel=1e-12)
    assert three_circles_radius(a * larger, b, c) >= need * (1 - 1e-12)
    assert need <= equal_circles_ratio(3) * max(a, b, c) * (1 + 1e-12)


@pytest.mark.parametrize("radii", [(0.0, 1.0, 1.0), (-1.0, 1.0, 1.0), (math.inf, 1.0, 1.0)])
def test_three_circles_need_real_radii(radii: tuple[float, float, float]) -> None:
    with pytest.raises(ValueError, match="finite numbers above 0"):
        three_circles_radius(*radii)
