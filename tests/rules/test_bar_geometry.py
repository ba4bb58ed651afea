"""How far a change moves the bar, and how much line that can take up."""

from __future__ import annotations

from math import hypot, inf

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from buildcheck.fit.facts import Amount
from buildcheck.rules.bar_geometry import bar_position, bar_stretch
from laws.bench import bike, change, context_of, with_facts

LOW_COVER = "ostmoor-plain-cover-is52-low@headset-cover"  # 5 mm in place of 8
STEM = "tolverne-alder-110@stem"  # 110 mm in place of 100


def stretch(spacers_told: bool, *fits: str, take_off: tuple[str, ...] = (), **facts: object) -> Amount:
    of = bike("allroad-wired")
    asked = change(of, *fits, take_off=take_off)
    return bar_stretch(context_of(with_facts(of, asked, **facts), asked), spacers_told)


@pytest.mark.parametrize("spacers_told", [True, False])
def test_nothing_where_the_bar_stays(spacers_told: bool) -> None:
    for found in (stretch(spacers_told, "wexcombe-hide@saddle"), bar_stretch(context_of(bike("city-rim")), True)):
        assert (found.low, found.high) == (0, 0)


def test_a_spacer_counts_once() -> None:
    told = stretch(True, take_off=("spacer-1",))
    assert (told.low, told.high) == (0, 0)  # the passage itself is shorter by the spacer
    untold = stretch(False, take_off=("spacer-1",))
    assert untold.high == pytest.approx(10)
    assert -10 <= untold.low < 0


@pytest.mark.parametrize("spacers_told", [True, False])
def test_another_cover_moves_the_bar_by_what_it_is_lower(spacers_told: bool) -> None:
    found = stretch(spacers_told, LOW_COVER)
    assert found.high == pytest.approx(3)
    assert -3 <= found.low < 0


def test_a_higher_clamp_moves_the_bar_by_half_of_it() -> None:
    found = stretch(True, STEM, stem__length_mm=100, stem__stack_mm=60)
    assert found.high == pytest.approx(10)


def test_a_size_that_changes_and_is_not_known_leaves_everything_open() -> None:
    for found in (
        stretch(True, LOW_COVER, headset_AT_cover__height_mm="unknown"),
        stretch(True, STEM, stem__length_mm="unknown"),
    ):
        assert (found.low, found.high) == (-inf, inf)


def test_a_size_that_stays_may_be_unknown() -> None:
    found = stretch(True, STEM, spacer_AT_1__height_mm="unknown")
    assert found.high == pytest.approx(stretch(True, STEM).high)
    assert found.low == -found.high


@given(st.floats(40, 140), st.floats(-20, 20), st.floats(30, 60), st.floats(0, 10), st.floats(0, 1), st.booleans())
def test_limits_only_widen(
    length: float, angle: float, clamp: float, about: float, part: float, spacers_told: bool
) -> None:
    where = length - about + 2 * about * part
    wide = stretch(spacers_told, STEM, stem__length_mm=f"{length - about}..{length + about}",
                   stem__angle_deg=angle, stem__stack_mm=clamp)  # fmt: skip
    exact = stretch(spacers_told, STEM, stem__length_mm=where, stem__angle_deg=angle, stem__stack_mm=clamp)
    assert wide.low <= exact.low + 1e-6
    assert exact.high <= wide.high + 1e-6


@example(140, -10, 3)
@given(st.floats(40, 140), st.floats(-20, 20), st.floats(0.5, 5))
def test_an_angle_told_roughly_may_move_the_bar_by_all_that_it_turns_the_stem(
    length: float, angle: float, about: float
) -> None:
    def exact(degrees: float) -> Amount:
        return stretch(True, STEM, stem__length_mm=length, stem__angle_deg=degrees)

    rough = f"{angle - about}..{angle + about}"
    wide = stretch(True, STEM, stem__length_mm=length, stem__angle_deg=rough)
    ends = [exact(angle - about), exact(angle + about)]
    assert wide.low <= min(end.low for end in ends)
    assert wide.high >= max(end.high for end in ends)


@given(st.floats(40, 140), st.floats(-20, 20), st.floats(30, 60))
def test_the_most_is_the_way_that_the_bar_moves(length: float, angle: float, clamp: float) -> None:
    of = bike("allroad-wired")
    asked = change(of, STEM)
    of = with_facts(of, asked, stem__length_mm=length, stem__angle_deg=angle, stem__stack_mm=clamp)
    context = context_of(of, asked)
    assert context.before is not None
    old, new = bar_position(context.before.view), bar_position(context.view)
    assert old is not None
    assert new is not None
    way = hypot(new[0].low - old[0].low, new[1].low - old[1].low)
    found = bar_stretch(context, spacers_told=True)
    assert found.high == pytest.approx(way)
    assert -way - 1e-9 <= found.low <= way + 1e-9


def test_a_spacer_out_and_in_again_brings_the_bar_back() -> None:
    of = bike("trail-hardtail")
    there = bar_position(context_of(of).view)
    out = context_of(of, change(of, take_off=("spacer-1",)))
    lower = bar_position(out.view)
    assert there is not None
    assert lower is not None
    assert lower[0].low < there[0].low
    assert lower[1].low > there[1].low
    back = context_of(out.bike, change(out.bike, "ostmoor-round-10@spacer-1"))
    again = bar_position(back.view)
    assert again is not None
    assert [size.low for size in again] == pytest.approx([size.low for size in there])
