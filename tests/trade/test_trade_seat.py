"""Laws of the seat post in its tube."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.seat import least_insertion_mm, post_inserted_mm, rails_above_tube_mm

height = st.floats(600, 900)
tube = st.floats(380, 600)
saddle = st.floats(30, 80)
post = st.floats(150, 480)
head = st.floats(0, 50)


@given(height, tube, saddle, post, head)
def test_the_parts_reach_from_the_bracket_to_the_rider(
    mm: float, seat_tube: float, on_rails: float, length: float, above: float
) -> None:
    rails = rails_above_tube_mm(mm, seat_tube, on_rails)
    inside = post_inserted_mm(length, above, rails)
    assert seat_tube - inside + length + above + on_rails == pytest.approx(mm)


@given(height, tube, saddle, post, st.floats(0.1, 100))
def test_a_higher_saddle_draws_the_post_out_by_as_much(
    mm: float, seat_tube: float, on_rails: float, length: float, more: float
) -> None:
    low = post_inserted_mm(length, 20, rails_above_tube_mm(mm, seat_tube, on_rails))
    high = post_inserted_mm(length, 20, rails_above_tube_mm(mm + more, seat_tube, on_rails))
    assert low - high == pytest.approx(more)


@given(st.floats(20, 40), st.floats(0.1, 10))
def test_a_thicker_post_has_to_be_in_deeper(diameter: float, more: float) -> None:
    assert least_insertion_mm(diameter + more) > least_insertion_mm(diameter)


@pytest.mark.parametrize(
    "call",
    [
        lambda: least_insertion_mm(-1),
        lambda: least_insertion_mm(math.nan),
        lambda: rails_above_tube_mm(-1, 500, 45),
        lambda: rails_above_tube_mm(740, math.nan, 45),
        lambda: rails_above_tube_mm(740, 500, -1),
        lambda: post_inserted_mm(-1, 20, 100),
        lambda: post_inserted_mm(350, -1, 100),
        lambda: post_inserted_mm(350, 20, math.nan),
    ],
)
def test_impossible_sizes_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match="must"):
        call()  # type: ignore[operator]
