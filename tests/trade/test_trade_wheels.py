"""Laws of hub widths, rotor places and brake tracks."""

import math

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from buildcheck.trade.wheels import (
    LOCATING_SHELF_MM,
    TRACK_UNSURE_MM,
    brake_track_radius_mm,
    end_cap_change,
    rotor_offset_mm,
)

width = st.integers(80, 200).map(float)


@given(width, width)
def test_what_can_be_narrowed_can_be_widened_again(hub: float, dropout: float) -> None:
    if dropout < hub and end_cap_change(hub, dropout) == "made":
        assert end_cap_change(dropout, hub) == "made"
        assert hub - dropout == 2 * LOCATING_SHELF_MM


@given(width, width)
def test_only_narrowing_is_impossible(hub: float, dropout: float) -> None:
    if end_cap_change(hub, dropout) == "impossible":
        assert dropout < hub
        assert end_cap_change(dropout, hub) != "impossible"
    else:
        assert dropout >= hub - 2 * LOCATING_SHELF_MM


@given(width, width)
def test_the_rotor_is_off_by_half_the_step_either_way(hub: float, dropout: float) -> None:
    assume(abs(dropout - hub) != 2 * LOCATING_SHELF_MM)
    assert rotor_offset_mm(hub, dropout) == pytest.approx((dropout - hub) / 2)
    assert rotor_offset_mm(hub, dropout) == -rotor_offset_mm(dropout, hub)


@given(st.floats(100, 700), st.floats(0, 50))
def test_a_larger_wheel_has_its_track_further_out(seat: float, more: float) -> None:
    low, high = brake_track_radius_mm(seat)
    assert high - low == pytest.approx(2 * TRACK_UNSURE_MM)
    assert brake_track_radius_mm(seat + more)[0] == pytest.approx(low + more / 2)


def test_examples() -> None:
    assert end_cap_change(100, 100) == "made"
    assert end_cap_change(142, 148) == "made"
    assert end_cap_change(130, 142) == "not-known"
    assert rotor_offset_mm(142, 148) == 3
    assert rotor_offset_mm(142, 135) == 0


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
def test_no_width_at_all(bad: float) -> None:
    with pytest.raises(ValueError, match="must be a finite number above 0"):
        end_cap_change(bad, 100)
    with pytest.raises(ValueError, match="must be a finite number above 0"):
        rotor_offset_mm(100, bad)
    with pytest.raises(ValueError, match="must be a finite number above 0"):
        brake_track_radius_mm(bad)


def test_a_wheel_too_small_for_a_track() -> None:
    with pytest.raises(ValueError, match="too small for a rim with a brake track"):
        brake_track_radius_mm(2 * TRACK_UNSURE_MM)
