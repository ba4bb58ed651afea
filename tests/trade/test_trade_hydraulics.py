"""Laws of pistons, and what a brake-fluid grade means."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.hydraulics import DOT_MIN_BOILING_C, clamp_ratio, fluid_base, pressure_pa

bore = st.floats(1, 100)


@given(bore, bore, st.floats(0, 5000))
def test_both_pistons_see_the_same_pressure(master: float, piston: float, force: float) -> None:
    at_piston = force * clamp_ratio(master, piston)
    assert pressure_pa(at_piston, piston) == pytest.approx(pressure_pa(force, master))


@given(bore, bore)
def test_the_way_back_is_the_inverse(master: float, piston: float) -> None:
    assert clamp_ratio(master, piston) * clamp_ratio(piston, master) == pytest.approx(1)


def test_water_always_lowers_the_boiling_point() -> None:
    assert all(grade.wet_c < grade.dry_c for grade in DOT_MIN_BOILING_C.values())


@pytest.mark.parametrize("text", ["DOT 5.1", "dot5.1", " Dot-5.1 ", "DOT_5.1"])
def test_a_grade_is_read_however_it_is_written(text: str) -> None:
    assert fluid_base(text) == "glycol ether"


def test_the_bases_that_must_not_mix() -> None:
    assert fluid_base("DOT 5") == "silicone" != fluid_base("DOT 5.1")
    assert fluid_base("mineral-oil") == "mineral oil"
    assert all(fluid_base(grade) for grade in DOT_MIN_BOILING_C)


@pytest.mark.parametrize("text", ["", "DOT", "DOT 6", "oil", "DOT 51"])
def test_other_grades_are_refused(text: str) -> None:
    with pytest.raises(ValueError, match="expected DOT 3"):
        fluid_base(text)


@pytest.mark.parametrize(
    "call",
    [
        lambda: clamp_ratio(0, 22),
        lambda: clamp_ratio(10, -1),
        lambda: clamp_ratio(math.nan, 22),
        lambda: pressure_pa(-1, 10),
        lambda: pressure_pa(1, 0),
    ],
)
def test_impossible_sizes_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match="finite number"):
        call()  # type: ignore[operator]
