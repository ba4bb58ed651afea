"""Laws of tyre sizes, pressures and clearances."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.tyres import (
    GROWTH_PER_MM,
    HEIGHT_DOUBT_MM,
    front_centre_shift_mm,
    inflated_width_mm,
    least_pressure_bar,
    overall_diameter_mm,
    pressure_limit_bar,
    section_height_mm,
    straight_side_least_tyre_mm,
    toe_clearance_mm,
    tyre_radius_mm,
    usual_tyre_range_mm,
)

width = st.floats(15, 80)
rim = st.floats(12, 50)
share = st.floats(0.46, 0.84)  # of the section width: the design rim, by ISO 5775 0.55 or 0.65
bead_seat = st.sampled_from([305, 349, 406, 559, 584, 622])
pressure = st.floats(0, 12)


@st.composite
def spans(draw: st.DrawFn, of: st.SearchStrategy[float]) -> tuple[float, float]:
    low, high = sorted((draw(of), draw(of)))
    return low, high


@st.composite
def within(draw: st.DrawFn, span: tuple[float, float]) -> float:
    return draw(st.floats(*span))


@given(bead_seat, width, width)
def test_overall_diameter_grows_with_the_width(seat: float, one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert overall_diameter_mm(seat, low) <= overall_diameter_mm(seat, high)
    assert overall_diameter_mm(seat, high) > seat + 2 * high - 1e-9


def test_there_is_no_step_at_28_mm() -> None:
    assert section_height_mm(25) == pytest.approx(27.5)
    assert section_height_mm(27) == section_height_mm(28) == 28
    assert section_height_mm(29) == 29


@given(st.data(), spans(st.floats(300, 640)), spans(width))
def test_radius_holds_for_every_tyre_within_the_span(
    data: st.DataObject, seats: tuple[float, float], widths: tuple[float, float]
) -> None:
    low, high = tyre_radius_mm(seats, widths)
    true = overall_diameter_mm(data.draw(within(seats)), data.draw(within(widths))) / 2
    assert low <= true - HEIGHT_DOUBT_MM + 1e-9
    assert true + HEIGHT_DOUBT_MM - 1e-9 <= high


def test_nothing_known_of_a_tyre_leaves_everything_open() -> None:
    assert tyre_radius_mm((622, 622), (0, math.inf)) == (309.5, math.inf)  # 0 mm, 2.5 mm more, 4 mm of doubt
    assert inflated_width_mm((0, math.inf), (23, 23), (21, 21)) == (0, math.inf)
    assert inflated_width_mm((40, 40), (0, math.inf), (21, 21))[1] == math.inf


@given(st.data(), spans(width), spans(rim), spans(rim))
def test_inflated_width_holds_for_every_size_within_the_spans(
    data: st.DataObject, widths: tuple[float, float], rims: tuple[float, float], designs: tuple[float, float]
) -> None:
    low, high = inflated_width_mm(widths, rims, designs)
    true = [data.draw(within(span)) for span in (widths, rims, designs)]
    least, most = inflated_width_mm((true[0],) * 2, (true[1],) * 2, (true[2],) * 2)
    assert low - 1e-9 <= least <= most <= high + 1e-9


@given(st.floats(0, 80), rim, st.floats(0, 100))
def test_an_unknown_design_rim_says_no_more_than_a_known_one(mm: float, inner: float, design: float) -> None:
    open_ = inflated_width_mm((mm, mm), (inner, inner), (0, math.inf))
    known = inflated_width_mm((mm, mm), (inner, inner), (design, design))
    assert open_[0] - 1e-9 <= known[0] <= known[1] <= open_[1] + 1e-9


@given(width, rim, st.floats(0, 5), share)
def test_a_wider_rim_makes_a_wider_tyre(mm: float, inner: float, more: float, share: float) -> None:
    design = share * mm
    one = inflated_width_mm((mm, mm), (inner, inner), (design, design))
    other = inflated_width_mm((mm, mm), (inner + more, inner + more), (design, design))
    assert all(
        GROWTH_PER_MM[0] * more - 1e-9 <= b - a <= GROWTH_PER_MM[1] * more + 1e-9
        for a, b in zip(one, other, strict=True)
    )


@given(width, share)
def test_on_its_design_rim_a_tyre_has_its_marked_width(mm: float, share: float) -> None:
    design = share * mm
    assert inflated_width_mm((mm, mm), (design, design), (design, design)) == pytest.approx((mm, mm))


@given(pressure, pressure, st.booleans())
def test_the_limit_is_never_above_that_of_either_part(tyre: float, inner: float, straight: bool) -> None:
    limit = pressure_limit_bar(tyre, inner, straight)
    assert limit <= min(tyre, inner)
    assert limit <= pressure_limit_bar(tyre, inner, False)
    assert not straight or limit <= 5
    assert limit in (tyre, inner, 5)


@given(width, width, st.sampled_from(["city", "mountain", "racing"]))
def test_a_wider_tyre_needs_no_more_pressure(one: float, other: float, use: str) -> None:
    low, high = sorted((one, other))
    assert least_pressure_bar(high, use) <= least_pressure_bar(low, use)


@given(rim)
def test_the_design_tyre_of_a_rim_is_a_usual_one(inner: float) -> None:
    low, high = usual_tyre_range_mm(inner)
    assert low < inner / 0.65 < high
    assert low < inner / 0.55 < high
    assert straight_side_least_tyre_mm(inner) <= high or inner < 11.2


@given(st.data(), spans(st.floats(500, 900)), spans(st.floats(150, 180)), spans(st.floats(200, 400)))
def test_toe_clearance_holds_for_every_size_within_the_spans(
    data: st.DataObject, front: tuple[float, float], arm: tuple[float, float], tread: tuple[float, float]
) -> None:
    low, high = toe_clearance_mm(front, arm, tread)
    true = data.draw(within(front)) - data.draw(within(arm)) - data.draw(within(tread))
    assert low - 1e-9 <= true <= high + 1e-9


@given(st.floats(-80, 80), st.floats(45, 90), st.floats(0, 90))
def test_the_front_centre_grows_by_a_part_of_the_offset(change: float, head: float, height: float) -> None:
    # The axle moves along a line that rises by 90 degrees less the head angle; the front centre rises by `slope`.
    low, high = front_centre_shift_mm(change, head)
    slope = min(height, 2 * (90 - head))  # no bottom bracket lies lower
    true = change * math.cos(math.radians(90 - head - slope))
    assert low - 1e-9 <= true <= high + 1e-9


@pytest.mark.parametrize(
    "call",
    [
        lambda: section_height_mm(-1),
        lambda: overall_diameter_mm(math.nan, 32),
        lambda: tyre_radius_mm((622, 584), (32, 32)),
        lambda: inflated_width_mm((-1, 32), (19, 19), (17, 17)),
        lambda: usual_tyre_range_mm(-1),
        lambda: straight_side_least_tyre_mm(-1),
        lambda: pressure_limit_bar(-1, 5, False),
        lambda: least_pressure_bar(-1, "city"),
        lambda: toe_clearance_mm((620, 600), (170, 170), (350, 350)),
        lambda: front_centre_shift_mm(5, 30),
        lambda: front_centre_shift_mm(math.inf, 72),
    ],
)
def test_impossible_sizes_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"must|not a finite number"):
        call()  # type: ignore[operator]
