"""Interval arithmetic includes every point, and tests answer for all points at once."""

from __future__ import annotations

from math import cos, inf, radians

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.facts import (
    EPSILON,
    Amount,
    Answer,
    Fact,
    Test,
    amount_of,
    is_not_word,
    is_word,
    largest,
    one_of,
    same_word,
    shown,
    smallest,
    worked_out,
)
from buildcheck.fit.reading import has_attribute, read_fact, unit_of
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval
from fit.make import fitted, part

finite = st.floats(-1000, 1000).map(lambda x: round(x, 3))
amounts = st.tuples(finite, st.floats(0, 50)).map(lambda pair: Amount(pair[0], pair[0] + pair[1]))
answers = st.sampled_from(Answer)


def fact(value: object, attribute: str = "size_mm", unit: str = "mm") -> Fact:
    return Fact("stem", attribute, value, unit, Origin.STATED, "file:1")


@st.composite
def with_point(draw: st.DrawFn) -> tuple[Amount, float]:
    amount = draw(amounts)
    return amount, draw(st.floats(amount.low, amount.high))


@given(a=with_point(), b=with_point())
def test_sums_and_differences_hold_every_point(a: tuple[Amount, float], b: tuple[Amount, float]) -> None:
    total, rest = a[0] + b[0], a[0] - b[0]
    assert total.low - EPSILON <= a[1] + b[1] <= total.high + EPSILON
    assert rest.low - EPSILON <= a[1] - b[1] <= rest.high + EPSILON


@given(a=with_point(), b=with_point(), tolerance=st.floats(0, 5))
def test_a_decided_test_holds_for_every_point(
    a: tuple[Amount, float], b: tuple[Amount, float], tolerance: float
) -> None:
    points = Amount(a[1], a[1]), Amount(b[1], b[1])
    for whole, point in (
        (a[0].at_most(b[0]), points[0].at_most(points[1])),
        (a[0].at_least(b[0]), points[0].at_least(points[1])),
        (a[0].within(b[0], tolerance), points[0].within(points[1], tolerance)),
    ):
        assert point.answer is not Answer.UNKNOWN
        assert whole.answer in (point.answer, Answer.UNKNOWN)


@given(a=amounts, b=amounts)
def test_tests_of_points_are_decided_by_the_numbers(a: Amount, b: Amount) -> None:
    low, high = Amount(a.low, a.low), Amount(b.low, b.low)
    assert low.at_most(high).yes is (a.low <= b.low + EPSILON)
    assert low.at_least(high).yes is (a.low >= b.low - EPSILON)
    assert low.within(high, 1.0).yes is (abs(a.low - b.low) <= 1.0 + EPSILON)


@pytest.mark.parametrize(
    ("low", "high", "answer"),
    [
        (31.8, 31.9, Answer.YES),
        (31.7, 31.8, Answer.YES),
        (31.85, 32.5, Answer.UNKNOWN),
        (30.0, 31.75, Answer.UNKNOWN),
        (30.0, 32.5, Answer.UNKNOWN),
        (31.9, 32.5, Answer.UNKNOWN),
        (31.91, 32.5, Answer.NO),
        (30.0, 31.69, Answer.NO),
    ],
)
def test_sizes_are_within_a_tenth_or_not_by_all_that_they_may_be(low: float, high: float, answer: Answer) -> None:
    bar, clamp = Amount(31.8, 31.8), Amount(low, high)
    assert clamp.within(bar, 0.1).answer is bar.within(clamp, 0.1).answer is answer


@given(first=answers, second=answers)
def test_both_is_no_if_one_is_and_yes_only_if_both_are(first: Answer, second: Answer) -> None:
    a, b = Test(first, (fact(1, "a_mm"),)), Test(second, (fact(2, "b_mm"),))
    both = a.both(b)
    if Answer.NO in (first, second):
        assert both.no
        assert len(both.facts) == 1, "a no rests on the failing test alone"
    else:
        assert both.yes is (first is second is Answer.YES)
        assert both.facts == a.facts + b.facts


@given(first=answers, second=answers)
def test_either_is_yes_if_one_is_and_no_only_if_both_are(first: Answer, second: Answer) -> None:
    a, b = Test(first, (fact(1, "a_mm"),)), Test(second, (fact(2, "b_mm"),))
    either = a.either(b)
    if Answer.YES in (first, second):
        assert either.yes
        assert len(either.facts) == 1, "a yes rests on the test that holds"
    else:
        assert either.no is (first is second is Answer.NO)
        assert either.facts == a.facts + b.facts


@given(test=answers, applies=answers, filled=st.sampled_from([Answer.YES, Answer.NO]), really=st.booleans())
def test_a_test_with_a_condition_holds_for_every_filling(
    test: Answer, applies: Answer, filled: Answer, really: bool
) -> None:
    told = Test(test, ()).only_if(Test(applies, ()))
    if applies is not Answer.UNKNOWN:
        really = applies is Answer.YES
    if test is not Answer.UNKNOWN:
        filled = test
    truth = filled if really else Answer.YES
    assert told.answer in (truth, Answer.UNKNOWN)


@given(applies=answers)
def test_what_holds_in_any_case_holds_whether_its_condition_does_or_not(applies: Answer) -> None:
    assert Test(Answer.YES, ()).only_if(Test(applies, ())).yes


def test_an_unknown_fact_may_be_any_number_from_the_minimum_up() -> None:
    assert (amount_of(fact(None)).low, amount_of(fact(None)).high) == (0.0, inf)
    assert amount_of(fact(None), -inf).low == -inf
    assert not amount_of(fact(None)).known
    assert amount_of(fact(Interval(3, 5))).middle == 4
    assert amount_of(fact(7)).low == 7
    assert amount_of(fact(Interval(1, 1))).known


@pytest.mark.parametrize(
    ("ours", "theirs", "answer"),
    [
        ("a", "a", Answer.YES),
        ("a", "b", Answer.NO),
        ("a", ("b", "a"), Answer.YES),
        (("a", "c"), ("b", "c"), Answer.YES),
        (("a",), ("b",), Answer.NO),
        (None, "a", Answer.UNKNOWN),
        ("a", None, Answer.UNKNOWN),
    ],
)
def test_words_are_the_same_if_one_of_them_is(ours: object, theirs: object, answer: Answer) -> None:
    assert same_word(fact(ours), fact(theirs)).answer is answer


@pytest.mark.parametrize(
    ("value", "text"),
    [
        (True, "yes"),
        (False, "no"),
        (31.80, "31.8"),
        (Interval(31.8, 31.8), "31.8"),
        (Interval(7.9, 8.3), "7.9..8.3"),
        (("622", "584"), "622 or 584"),
        ("mineral-a", "mineral-a"),
    ],
)
def test_values_in_words(value: object, text: str) -> None:
    assert shown(value) == text
    assert fact(value).evidence().value == text


def test_a_missing_fact_is_missing_in_the_evidence() -> None:
    assert fact(None).evidence().missing


@pytest.mark.parametrize(
    ("amount", "text"),
    [
        (Amount(5.04, 5.04), "5 mm"),
        (Amount(5, 6.26), "5..6.3 mm"),
        (Amount(5, inf), "at least 5 mm"),
        (Amount(0, inf), "an unknown number of mm"),
        (Amount(-inf, inf), "an unknown number of mm"),
    ],
)
def test_amounts_in_words(amount: Amount, text: str) -> None:
    assert amount.shown("mm") == text


def test_units_come_from_the_record() -> None:
    stem = part("stem", length_mm=100, angle_deg=-6)
    assert unit_of(type(stem), "length_mm") == "mm"
    assert unit_of(type(stem), "angle_deg") == "deg"
    assert unit_of(type(stem), "steerer_section") == ""


def test_a_headset_has_the_attributes_of_its_code() -> None:
    headset = part("headset", half="upper", code="IS52/28.6")
    assert has_attribute(type(headset), "seat")
    assert has_attribute(type(headset), "stack_mm")
    assert not has_attribute(type(headset), "steerer_mm")
    assert read_fact(fitted("headset-upper", headset), "seat").value == "IS52"


def test_a_fact_knows_where_it_stands_and_whether_it_was_measured() -> None:
    spot = fitted(
        "stem", part("stem", length_mm=100), measured=["length_mm"], where={"length_mm": "bike:7", "": "parts:1"}
    )
    length, angle = read_fact(spot, "length_mm"), read_fact(spot, "angle_deg")
    assert (length.origin, length.where) == (Origin.MEASURED, "bike:7")
    assert (angle.origin, angle.where, angle.value) == (Origin.STATED, "parts:1", None)


@given(a=with_point(), b=with_point())
def test_the_largest_and_the_smallest_hold_every_point(a: tuple[Amount, float], b: tuple[Amount, float]) -> None:
    big, small = largest([a[0], b[0]]), smallest([a[0], b[0]])
    assert big.low - EPSILON <= max(a[1], b[1]) <= big.high + EPSILON
    assert small.low - EPSILON <= min(a[1], b[1]) <= small.high + EPSILON


def test_the_largest_rests_on_all_of_them() -> None:
    one, other = Amount(1.0, 2.0, (fact(1, "length_mm"),)), Amount(3.0, 4.0, (fact(2),))
    assert largest([one, other]).facts == smallest([one, other]).facts == one.facts + other.facts


@given(a=with_point(), b=with_point(), divisor=st.floats(0.1, 10))
def test_opposite_share_and_one_of_two_hold_every_point(
    a: tuple[Amount, float], b: tuple[Amount, float], divisor: float
) -> None:
    opposite, share, either = -a[0], a[0] / divisor, one_of(a[0], b[0])
    assert opposite.low - EPSILON <= -a[1] <= opposite.high + EPSILON
    assert share.low - EPSILON <= a[1] / divisor <= share.high + EPSILON
    assert all(either.low - EPSILON <= point <= either.high + EPSILON for point in (a[1], b[1]))


@given(length=with_point(), angle=st.tuples(st.floats(0, 80), st.floats(0, 10), st.floats(0, 1)))
def test_a_formula_worked_out_holds_every_point(
    length: tuple[Amount, float], angle: tuple[float, float, float]
) -> None:
    # It rises with the length for some angles and with none of them is its direction told.
    lean = Amount(angle[0], angle[0] + angle[1])
    found = worked_out(lambda size, at: size * cos(radians(at)) - size, length[0], lean)
    at = angle[0] + angle[1] * angle[2]
    assert found.low - 1e-6 <= length[1] * cos(radians(at)) - length[1] <= found.high + 1e-6


def test_a_formula_with_open_ends_stays_open() -> None:
    open_size, closed = Amount(10.0, inf, (fact(None),)), Amount(1.0, 2.0, (fact(1, "length_mm"),))
    difference = worked_out(lambda one, other: one - other, open_size, closed)
    assert (difference.low, difference.high) == (8.0, inf)
    assert difference.facts == open_size.facts + closed.facts
    both_open = worked_out(lambda one, other: one - other, open_size, open_size)
    assert (both_open.low, both_open.high) == (-inf, inf)


def test_one_word_of_several() -> None:
    word = fact("steel", "material", "")
    assert is_word(word, "carbon", "steel").yes
    assert is_not_word(word, "carbon", "steel").no
    assert is_word(word, "carbon", "titanium").no
    assert is_not_word(word, "carbon", "titanium").yes
    nobody_knows = fact(None, "material", "")
    assert is_word(nobody_knows, "carbon").answer is is_not_word(nobody_knows, "carbon").answer is Answer.UNKNOWN


def test_a_size_with_one_end_is_told_by_that_end() -> None:
    assert Amount(-inf, 12.0).shown("mm") == "at most 12 mm"
    assert Amount(12.0, inf).shown("mm") == "at least 12 mm"
    assert Amount(-inf, inf).shown("mm") == Amount(0.0, inf).shown("mm") == "an unknown number of mm"
