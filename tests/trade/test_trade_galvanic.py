"""Galvanic differences: symmetric, nothing between equals, and only between conductors."""

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.galvanic import ANODIC_INDEX_V, galvanic_difference_v, less_noble
from laws.bench import catalogue

METALS = st.sampled_from(sorted(ANODIC_INDEX_V))


@given(METALS, METALS)
def test_it_is_the_same_from_both_sides(one: str, other: str) -> None:
    assert galvanic_difference_v(one, other) == galvanic_difference_v(other, one)
    assert ANODIC_INDEX_V[less_noble(one, other)] == min(ANODIC_INDEX_V[one], ANODIC_INDEX_V[other])


@given(METALS)
def test_a_material_does_not_corrode_itself(metal: str) -> None:
    assert galvanic_difference_v(metal, metal) == 0


def test_what_does_not_conduct_does_not_corrode() -> None:
    assert galvanic_difference_v("rubber", "aluminium") is None


def test_each_metal_is_a_material_of_the_standards() -> None:
    assert ANODIC_INDEX_V.keys() == set(catalogue().standards.words_with("material", "conducts"))
