"""Belts: where they are tight, and the circles that they lie on."""

from __future__ import annotations

import math

import pytest

from buildcheck.trade.belts import belt_centre_mm, belt_circle_mm
from buildcheck.trade.chain import PITCH_MM, growth_in_teeth

PITCHES_MM = (8.0, 11.0)


def around_mm(centre_mm: float, one_mm: float, other_mm: float) -> float:
    """Length of an open belt round two circles, by plane geometry."""
    lean = math.asin(abs(one_mm - other_mm) / 2 / centre_mm)
    straight = 2 * centre_mm * math.cos(lean)
    return straight + (one_mm + other_mm) / 2 * math.pi + abs(one_mm - other_mm) * lean


@pytest.mark.parametrize("pitch_mm", PITCHES_MM)
@pytest.mark.parametrize(("belt", "ring", "sprocket"), [(108, 46, 24), (120, 50, 22), (130, 60, 20), (118, 55, 19)])
def test_a_belt_is_tight_where_its_length_says(belt: int, ring: int, sprocket: int, pitch_mm: float) -> None:
    centre = belt_centre_mm(belt, ring, sprocket, pitch_mm)
    circles = belt_circle_mm(ring, pitch_mm), belt_circle_mm(sprocket, pitch_mm)
    assert around_mm(centre, *circles) == pytest.approx(belt * pitch_mm, abs=0.2)


def test_two_teeth_more_ask_for_one_pitch_more_on_equal_wheels() -> None:
    assert belt_centre_mm(102, 30, 30, 11) - belt_centre_mm(100, 30, 30, 11) == pytest.approx(11)


@pytest.mark.parametrize(
    ("belt", "ring", "sprocket", "pitch_mm", "centre_mm"),
    [
        (20, 60, 20, 11, 0.0),  # does not go round
        (math.inf, 50, 22, 11, math.inf),
        (120, math.inf, 22, 11, 0.0),
        (120, 50, 22, 0, 0.0),
        (120, 50, 22, math.inf, math.inf),
    ],
)
def test_the_ends_of_what_is_not_known(
    belt: float, ring: float, sprocket: float, pitch_mm: float, centre_mm: float
) -> None:
    assert belt_centre_mm(belt, ring, sprocket, pitch_mm) == centre_mm


def test_the_circle_grows_with_teeth_and_pitch() -> None:
    assert belt_circle_mm(50, 11) == pytest.approx(550 / math.pi)
    with pytest.raises(ValueError, match="0 or more"):
        belt_circle_mm(-1, 11)


def test_growth_is_counted_as_teeth_there_and_back() -> None:
    assert growth_in_teeth(0) == 0
    assert growth_in_teeth(PITCH_MM) == 4  # two links more, of two teeth each
    with pytest.raises(ValueError, match="growth"):
        growth_in_teeth(-1)
