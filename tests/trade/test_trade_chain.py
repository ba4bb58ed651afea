"""Chain length: a general library agrees, and it grows with whatever makes the way longer."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPoint, Point
from shapely.ops import unary_union

from buildcheck.trade.chain import (
    PITCH_MM,
    big_big_links,
    capacity_needed_teeth,
    centre_for_links_mm,
    chain_links,
    even_links,
    handbook_links,
    pitch_diameter_mm,
    teeth_apart,
)

teeth = st.integers(9, 60)
centres = st.floats(390, 480)
growths = st.floats(0, 60)


def hull_links(centre_mm: float, one: int, other: int) -> float:
    """The oracle: the hull of two circles, each as long round as its teeth are pitches."""
    radius = [PITCH_MM * count / (2 * math.pi) for count in (one, other)]
    circles = [Point(x, 0).buffer(r, quad_segs=2000) for x, r in zip((0, centre_mm), radius, strict=True)]
    return float(unary_union(circles).convex_hull.exterior.length) / PITCH_MM


@given(centres, teeth, teeth)
def test_the_hull_of_two_circles_is_as_long(centre: float, one: int, other: int) -> None:
    assert chain_links(centre, one, other) == pytest.approx(hull_links(centre, one, other), abs=0.02)


@given(centres, teeth, teeth)
def test_the_hull_of_the_pins_is_as_long(centre: float, one: int, other: int) -> None:
    # Pins on both pitch circles: the polygon round them is the chain, but for where the straight runs set in.
    pins = []
    for x, count in ((0.0, one), (centre, other)):
        radius = pitch_diameter_mm(count) / 2
        turns = [2 * math.pi * k / count for k in range(count)]
        pins += [(x + radius * math.cos(turn), radius * math.sin(turn)) for turn in turns]
    length = float(MultiPoint(pins).convex_hull.exterior.length) / PITCH_MM
    assert chain_links(centre, one, other) == pytest.approx(length, abs=0.1)


def test_a_small_wheel_inside_a_large_one_adds_nothing() -> None:
    assert chain_links(10, 50, 11) == 50
    assert chain_links(0, 11, 50) == 50
    assert chain_links(0, 20, 20) == 20
    assert chain_links(10, 50, 11) == pytest.approx(hull_links(10, 50, 11), abs=1e-3)


@given(centres, teeth, teeth)
def test_which_wheel_is_named_first_does_not_matter(centre: float, one: int, other: int) -> None:
    assert chain_links(centre, one, other) == chain_links(centre, other, one)
    assert handbook_links(centre, one, other) == handbook_links(centre, other, one)


@given(st.floats(0, 480), st.floats(0, 50), st.floats(3, 60), st.floats(0, 10), st.floats(3, 60))
def test_the_length_grows_with_distance_and_teeth(
    centre: float, further: float, one: float, more: float, other: float
) -> None:
    length = chain_links(centre, one, other)
    assert chain_links(centre + further, one, other) >= length - 1e-9
    assert chain_links(centre, one + more, other) >= length - 1e-9


@given(centres, teeth, teeth)
def test_the_handbook_is_close_on_bicycles(centre: float, one: int, other: int) -> None:
    assert handbook_links(centre, one, other) == pytest.approx(chain_links(centre, one, other), abs=0.03)


@given(centres, teeth, teeth)
def test_the_inverse_gives_the_distance_back(centre: float, one: int, other: int) -> None:
    assert centre_for_links_mm(handbook_links(centre, one, other), one, other) == pytest.approx(centre)


@given(centres, teeth, teeth, growths)
def test_suspension_asks_for_a_longer_chain(centre: float, ring: int, sprocket: int, growth: float) -> None:
    rigid = chain_links(centre, ring, sprocket) + 2
    assert rigid <= big_big_links(centre, ring, sprocket, growth) <= rigid + 2 * growth / PITCH_MM + 1e-9


@given(st.floats(0, 1000))
def test_rounding_is_even_and_never_shorter(links: float) -> None:
    rounded = even_links(links)
    assert rounded % 2 == 0
    assert links - 1e-6 <= rounded < links + 2


@given(teeth, st.integers(0, 20), teeth, st.integers(0, 40), st.integers(0, 20))
def test_capacity_adds_up_and_grows_with_both_ranges(ring: int, step: int, sprocket: int, span: int, more: int) -> None:
    needed = capacity_needed_teeth(ring + step, ring, sprocket + span, sprocket)
    assert needed == step + span
    assert capacity_needed_teeth(ring + step + more, ring, sprocket + span, sprocket) == needed + more
    assert capacity_needed_teeth(ring + step, ring, sprocket + span + more, sprocket) == needed + more


def test_a_range_of_teeth_is_never_less_than_none() -> None:
    assert (teeth_apart(34, 50), teeth_apart(34, 34), teeth_apart(50, 34)) == (0, 0, 16)
    assert (teeth_apart(math.inf, 34), teeth_apart(50, math.inf)) == (math.inf, 0)


@pytest.mark.parametrize(
    "call",
    [
        lambda: pitch_diameter_mm(2),
        lambda: chain_links(-1, 20, 20),
        lambda: chain_links(math.inf, 20, 20),
        lambda: handbook_links(0, 20, 20),
        lambda: centre_for_links_mm(20, 40, 20),
        lambda: centre_for_links_mm(41, 60, 9),
        lambda: even_links(-1),
        lambda: even_links(math.nan),
        lambda: capacity_needed_teeth(50, -1, 34, 11),
        lambda: capacity_needed_teeth(50, 34, math.nan, 11),
    ],
)
def test_what_cannot_be_is_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"expected|finite|go round"):
        call()  # type: ignore[operator]
