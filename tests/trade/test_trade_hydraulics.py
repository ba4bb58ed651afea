"""Laws of pistons."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.hydraulics import clamp_ratio, master_travel_mm

bore = st.floats(1, 100)


@given(bore, bore)
def test_the_way_back_is_the_inverse(master: float, piston: float) -> None:
    assert clamp_ratio(master, piston) * clamp_ratio(piston, master) == pytest.approx(1)


@given(bore, bore, st.integers(1, 3), st.floats(0, 5))
def test_no_work_is_won(master: float, piston: float, per_side: int, gap: float) -> None:
    ratio = clamp_ratio(master, piston, per_side)
    at_the_lever = 1.0 * master_travel_mm(ratio, gap)
    at_both_pads = 2 * (1.0 * ratio) * gap
    assert at_the_lever == pytest.approx(at_both_pads)


@given(bore, bore, st.integers(1, 3), st.floats(0, 5))
def test_the_fluid_that_leaves_the_master_fills_both_sides(master: float, piston: float, each: int, gap: float) -> None:
    travel = master_travel_mm(clamp_ratio(master, piston, each), gap)
    assert math.pi / 4 * master**2 * travel == pytest.approx(2 * each * math.pi / 4 * piston**2 * gap)


@given(bore, bore, st.floats(0.1, 50))
def test_a_larger_master_always_has_the_lower_ratio(master: float, piston: float, more: float) -> None:
    assert clamp_ratio(master + more, piston) < clamp_ratio(master, piston) < clamp_ratio(master, piston + more)


@pytest.mark.parametrize(
    "call",
    [
        lambda: clamp_ratio(0, 22),
        lambda: clamp_ratio(10, -1),
        lambda: clamp_ratio(math.nan, 22),
        lambda: clamp_ratio(10, 22, 0),
        lambda: clamp_ratio(10, 22, math.inf),
        lambda: master_travel_mm(0, 1),
        lambda: master_travel_mm(4, -1),
    ],
)
def test_impossible_sizes_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match="finite number"):
        call()  # type: ignore[operator]
