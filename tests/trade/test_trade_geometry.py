"""Laws of trail, wheel flop and the geometry with another fork."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import brentq

from buildcheck.trade.geometry import (
    Geometry,
    mechanical_trail_mm,
    trail_mm,
    wheel_flop_mm,
    with_fork,
)

radius = st.floats(200, 400)
head_angle = st.floats(60, 80)
offset = st.floats(-60, 80)
wheelbase = st.floats(900, 1300)
change = st.floats(-60, 60)


@given(radius, head_angle, offset, st.floats(0.1, 50))
def test_trail_falls_with_offset(mm: float, angle: float, ahead: float, more: float) -> None:
    assert trail_mm(mm, angle, ahead + more) < trail_mm(mm, angle, ahead)


@given(radius, head_angle, offset, st.floats(0.1, 50))
def test_trail_grows_with_the_wheel(mm: float, angle: float, ahead: float, more: float) -> None:
    assert trail_mm(mm + more, angle, ahead) > trail_mm(mm, angle, ahead)


@given(radius, head_angle, offset)
def test_trail_is_where_two_lines_meet_the_ground(mm: float, angle: float, ahead: float) -> None:
    # Axle above the point of contact; the steering axis passes it at the offset and runs down to the ground.
    lean = math.radians(angle)
    axis = -ahead * math.sin(lean), mm - ahead * math.cos(lean)  # the foot of the axle on the axis
    meets = axis[0] + axis[1] / math.tan(lean)
    assert trail_mm(mm, angle, ahead) == pytest.approx(meets)


@given(radius, head_angle, offset)
def test_mechanical_trail_and_flop_follow_from_trail(mm: float, angle: float, ahead: float) -> None:
    lean = math.radians(angle)
    trail = trail_mm(mm, angle, ahead)
    assert mechanical_trail_mm(mm, angle, ahead) == pytest.approx(trail * math.sin(lean))
    assert wheel_flop_mm(mm, angle, ahead) == pytest.approx(trail * math.sin(lean) * math.cos(lean))


@given(head_angle, wheelbase)
def test_the_fork_of_the_geometry_changes_nothing(angle: float, base: float) -> None:
    assert with_fork(Geometry(angle, base), 0, 0) == pytest.approx((angle, base))


@given(head_angle, wheelbase, st.floats(1, 60))
def test_a_longer_fork_leans_the_head_back_and_a_shorter_one_stands_it_up(
    angle: float, base: float, longer: float
) -> None:
    stated = Geometry(angle, base)
    assert with_fork(stated, longer, 0).head_angle_deg < angle < with_fork(stated, -longer, 0).head_angle_deg


@given(head_angle, wheelbase, change, st.floats(-30, 30))
def test_the_way_back_is_the_other_way(angle: float, base: float, longer: float, more: float) -> None:
    there = with_fork(Geometry(angle, base), longer, more)
    back = with_fork(there, -longer, -more)
    assert back == pytest.approx((angle, base))


@given(head_angle, wheelbase, change, st.floats(-30, 30), st.floats(-60, 60))
def test_both_wheels_stand_on_the_ground(angle: float, base: float, longer: float, more: float, larger: float) -> None:
    # A root finder turns the frame about the rear axle until the front axle is as much higher as its wheel is larger.
    lean = math.radians(angle)
    x = base + longer * math.cos(lean) + more * math.sin(lean)
    y = -longer * math.sin(lean) + more * math.cos(lean)
    turned = brentq(lambda turn: x * math.sin(turn) + y * math.cos(turn) - larger, -0.5, 0.5)
    found = with_fork(Geometry(angle, base), longer, more, larger)
    assert found.head_angle_deg == pytest.approx(angle - math.degrees(turned), abs=1e-6)
    assert found.wheelbase_mm == pytest.approx(x * math.cos(turned) - y * math.sin(turned), abs=1e-6)


@pytest.mark.parametrize(
    "call",
    [
        lambda: trail_mm(-1, 73, 45),
        lambda: trail_mm(340, 0, 45),
        lambda: trail_mm(340, 91, 45),
        lambda: mechanical_trail_mm(340, 73, math.nan),
        lambda: wheel_flop_mm(340, math.nan, 45),
        lambda: with_fork(Geometry(73, math.inf), 0, 0),
        lambda: with_fork(Geometry(0, 1000), 0, 0),
        lambda: with_fork(Geometry(73, 0), 0, 0),
        lambda: with_fork(Geometry(73, 1000), 0, 0, 1001),
    ],
)
def test_impossible_sizes_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match="must"):
        call()  # type: ignore[operator]
