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
    trade_inches,
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


@given(centres, teeth, teeth)
def test_the_trade_formula_leaves_the_square_term_out(centre: float, one: int, other: int) -> None:
    square = ((one - other) / (2 * math.pi)) ** 2 / (centre / PITCH_MM)
    assert 2 * trade_inches(centre, one, other) == pytest.approx(handbook_links(centre, one, other) - square + 2)


@given(centres, teeth, teeth, growths)
def test_suspension_asks_for_a_longer_chain(centre: float, ring: int, sprocket: int, growth: float) -> None:
    rigid = chain_links(centre, ring, sprocket) + 2
    assert rigid <= big_big_links(centre, ring, sprocket, growth) <= rigid + 2 * growth / PITCH_MM + 1e-9


@given(st.floats(0, 1000))
def test_rounding_is_even_and_never_shorter(links: float) -> None:
    rounded = even_links(links)
    assert rounded % 2 == 0
    assert links - 1e-6 <= rounded < links + 2


sets = st.lists(teeth, min_size=1, max_size=13)


@given(sets, sets)
def test_capacity_is_never_negative(rings: list[int], sprockets: list[int]) -> None:
    needed = capacity_needed_teeth(rings, sprockets)
    assert needed >= 0
    assert needed == capacity_needed_teeth(rings[::-1], sprockets[::-1])
    assert capacity_needed_teeth([*rings, 60], sprockets) >= needed


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
        lambda: capacity_needed_teeth([], [11]),
        lambda: capacity_needed_teeth([50], []),
    ],
)
def test_what_cannot_be_is_refused(call: object) -> None:
    with pytest.raises(ValueError, match=r"expected|finite|go round"):
        call()  # type: ignore[operator]
