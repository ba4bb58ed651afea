"""Laws of stem, spacers and steering."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.steering import (
    MAX_STEERER_GAP_MM,
    spacer_move_mm,
    steerer_gap_mm,
    stem_reach_mm,
    stem_rise_mm,
)

length = st.floats(0, 200)
stem_angle = st.floats(-45, 45)
head_angle = st.floats(45, 90)


@given(length, stem_angle, head_angle)
def test_reach_and_rise_span_the_stem(mm: float, angle: float, head: float) -> None:
    reach, rise = stem_reach_mm(mm, angle, head), stem_rise_mm(mm, angle, head)
    assert math.hypot(reach, rise) == pytest.approx(mm)
    assert stem_rise_mm(mm, angle, head) >= stem_rise_mm(mm, -abs(angle), head) - 1e-9


@given(st.floats(-60, 60), head_angle)
def test_moving_spacers_back_undoes_it(moved: float, head: float) -> None:
    height, reach = spacer_move_mm(moved, head)
    assert spacer_move_mm(-moved, head) == (-height, -reach)
    assert math.hypot(height, reach) == pytest.approx(abs(moved))
    if moved > 0:
        assert height > 0 >= reach - 1e-9


@given(st.floats(0, 60), st.floats(0, 60), head_angle)
def test_spacer_moves_add_up(first: float, second: float, head: float) -> None:
    both = spacer_move_mm(first + second, head)
    apart = [a + b for a, b in zip(spacer_move_mm(first, head), spacer_move_mm(second, head), strict=True)]
    assert both == pytest.approx(apart)


@given(st.floats(100, 400), st.floats(0, 400), st.floats(0, 50))
def test_a_spacer_more_widens_the_gap_by_itself(stack: float, steerer: float, spacer: float) -> None:
    assert steerer_gap_mm(stack + spacer, steerer) == pytest.approx(steerer_gap_mm(stack, steerer) + spacer)


def test_examples() -> None:
    assert steerer_gap_mm(230, 227) == 3 <= MAX_STEERER_GAP_MM
    assert steerer_gap_mm(225, 227) == -2
    assert (steerer_gap_mm(math.inf, 200), steerer_gap_mm(200, math.inf)) == (math.inf, -math.inf)


@pytest.mark.parametrize("upright", [90.0, -90.0])
def test_a_stem_may_stand_straight_up_or_down(upright: float) -> None:
    assert stem_reach_mm(100, upright, 90) == pytest.approx(0, abs=1e-9)
    assert stem_rise_mm(100, upright, 90) == pytest.approx(100 * upright / 90)


@pytest.mark.parametrize(
    "call",
    [
        lambda: stem_reach_mm(-1, 0, 73),
        lambda: stem_reach_mm(100, 90.5, 73),
        lambda: stem_reach_mm(100, -90.5, 73),
        lambda: stem_rise_mm(100, 0, 0),
        lambda: stem_rise_mm(100, 0, 107),
        lambda: stem_rise_mm(100, math.nan, 73),
        lambda: spacer_move_mm(math.nan, 73),
        lambda: spacer_move_mm(10, math.nan),
        lambda: steerer_gap_mm(math.nan, 200),
        lambda: steerer_gap_mm(200, -1),
    ],
)
def test_impossible_sizes_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must|not a finite number"):
        call()  # type: ignore[operator]
