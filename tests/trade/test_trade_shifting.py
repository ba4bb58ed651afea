"""Laws of sprockets, cable pull, bearing span and chain angle."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.crank import bearing_span_mm, chain_angle_deg, widest_offset_mm
from buildcheck.trade.shifting import (
    added_error_mm,
    body_left_mm,
    converted_pull_mm,
    shift_step_mm,
    sprocket_stack_mm,
    step_error,
)

count = st.integers(1, 13)
pitch = st.floats(3.0, 6.0)
small = st.floats(0, 100)


@given(count, pitch, st.floats(0, 3))
def test_one_sprocket_more_is_one_pitch_wider(sprockets: int, apart: float, thick: float) -> None:
    more = sprocket_stack_mm(sprockets + 1, apart, thick)
    assert more - sprocket_stack_mm(sprockets, apart, thick) == pytest.approx(apart)
    assert sprocket_stack_mm(1, apart, thick) == thick


@given(count, pitch)
def test_an_exact_step_adds_no_error(sprockets: int, apart: float) -> None:
    assert added_error_mm(sprockets, apart, apart) == 0
    assert step_error(apart, apart) == 0


@given(count, pitch, st.floats(0.1, 2.0), st.floats(1.5, 4.5))
def test_the_error_grows_with_the_sprockets(sprockets: int, apart: float, ratio: float, cable: float) -> None:
    step = shift_step_mm(cable, ratio)
    fewer, more = added_error_mm(sprockets, step, apart), added_error_mm(sprockets + 1, step, apart)
    assert abs(more) >= abs(fewer) - 1e-9
    assert more - fewer == pytest.approx(apart * step_error(step, apart), abs=1e-9)


@given(st.floats(1.5, 4.5), pitch, pitch)
def test_a_converter_turned_round_gives_back_what_it_took(cable: float, one: float, other: float) -> None:
    there = converted_pull_mm(cable, one, other)
    assert converted_pull_mm(there, other, one) == pytest.approx(cable)
    assert (there > cable) is (other > one) or there == pytest.approx(cable)
    assert converted_pull_mm(cable, math.inf, one) == converted_pull_mm(0, 0, math.inf) == 0
    assert converted_pull_mm(cable, 0, one) == converted_pull_mm(cable, one, math.inf) == math.inf


@given(small, small, small, small)
def test_a_spacer_fills_what_it_is_thick(body: float, filled: float, one: float, other: float) -> None:
    assert body_left_mm(body, filled, one + other) == pytest.approx(body_left_mm(body, filled, one) - other)


def test_an_unknown_end_is_infinite() -> None:
    assert body_left_mm(35, math.inf, 0) == -math.inf
    assert bearing_span_mm(86.5, 68, math.inf, 0) == math.inf


@given(small, small, small, small)
def test_shell_and_spacer_widen_the_span_alike(span: float, least: float, shell: float, more: float) -> None:
    wider = bearing_span_mm(span, least, shell + more, 0)
    assert wider == pytest.approx(bearing_span_mm(span, least, shell, more))
    assert bearing_span_mm(span, least, least, 0) == pytest.approx(span)


@given(st.floats(-60, 60), st.floats(200, 700))
def test_the_chain_angle_is_symmetric(offset: float, stay: float) -> None:
    assert chain_angle_deg(-offset, stay) == -chain_angle_deg(offset, stay)
    assert math.tan(math.radians(chain_angle_deg(offset, stay))) * stay == pytest.approx(offset, abs=1e-9)
    assert abs(chain_angle_deg(offset, stay + 1)) <= abs(chain_angle_deg(offset, stay))


@given(st.floats(-20, 20), st.floats(0, 20), st.floats(0, 50))
def test_no_gear_lies_further_out_than_the_worst(line: float, rings: float, sprockets: float) -> None:
    worst = widest_offset_mm(line, rings, sprockets)
    gears = [line + ring - sprocket for ring in (-rings / 2, rings / 2) for sprocket in (-sprockets / 2, sprockets / 2)]
    assert max(abs(gear) for gear in gears) == pytest.approx(worst)
    assert widest_offset_mm(-line, rings, sprockets) == worst


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: sprocket_stack_mm(0, 4.8, 1.8),
        lambda: sprocket_stack_mm(8, -4.8, 1.8),
        lambda: body_left_mm(-1, 0, 0),
        lambda: shift_step_mm(math.nan, 1.7),
        lambda: converted_pull_mm(2.7, -1, 3.4),
        lambda: step_error(4.8, 0),
        lambda: added_error_mm(8, -1, 4.8),
        lambda: bearing_span_mm(-1, 0, 0, 0),
        lambda: widest_offset_mm(0, -1, 0),
        lambda: chain_angle_deg(20, 0),
    ],
)
def test_impossible_sizes_are_refused(wrong: Callable[[], float]) -> None:
    with pytest.raises(ValueError, match="expected"):
        wrong()
