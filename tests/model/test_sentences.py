"""How values are worded: sizes of which all, one end or nothing is known, sums, lists, capitals, and odd names."""

from __future__ import annotations

import re
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.facts import Amount, Fact
from buildcheck.library.texts import load_texts
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import (
    NOTHING,
    At,
    Attribute,
    Exact,
    Fixing,
    Kind,
    PartAt,
    Said,
    Several,
    Size,
    Sum,
    Value,
    Word,
    as_said,
    named,
    say,
    shown,
)

GERMAN = load_texts("de")
ODD_NAMES = (
    "Veil {420}", "{", "}", "{}", "{part}", "{{it}}", "Fell [mk 2]", "{0.__class__}", "100 %s %d", "\\1 {part!r}",
)  # fmt: skip
names = st.one_of(st.sampled_from(ODD_NAMES), st.text("{}[]()%\\ abc:!.0", max_size=12))
sizes = st.floats(0.1, 900).map(lambda size: round(size, 1))


# ---------------------------------------------------------------- sizes


@pytest.mark.parametrize(
    ("size", "words", "bare"),
    [
        (Size(31.8, 31.8, "mm"), "31.8 mm", "31.8"),
        (Size(40, 42.5, "mm"), "40..42.5 mm", "40..42.5"),
        (Size(-3, 4, "mm"), "-3..4 mm", "-3..4"),
        (Size(0, 0, "mm"), "0 mm", "0"),
        (Size(0, inf, "mm"), "an unknown number of mm", "?"),
        (Size(-inf, inf, "teeth"), "an unknown number of teeth", "?"),
        (Size(0, inf, ""), "an unknown number of", "?"),
        (Size(5, inf, "mm"), "at least 5 mm", "5"),
        (Size(-inf, 5, "mm"), "at most 5 mm", "at most 5"),
        (Size(-inf, -5.5, "mm"), "at most -5.5 mm", "at most -5.5"),
        (Size(11, 11, ""), "11", "11"),
        (Size(0.1 + 0.2, 0.1 + 0.2, "mm"), "0.3 mm", "0.3"),
        (Size(10.01, 10.04, "mm"), "10 mm", "10"),
    ],
)
def test_sizes_in_words(size: Size, words: str, bare: str) -> None:
    assert str(size) == words
    assert str(Size(size.low, size.high, size.unit, bare=True)) == bare


def test_the_rounding_of_binary_fractions_is_not_told() -> None:
    assert str(Size(0.1 + 0.2, inf, "mm")) == "at least 0.3 mm"
    assert str(Size(-inf, 0.1 + 0.2, "mm")) == "at most 0.3 mm"


@given(low=sizes, more=st.floats(0, 90), unit=st.sampled_from(["mm", "teeth", "bar", ""]))
def test_every_end_that_is_known_is_told_and_infinity_never(low: float, more: float, unit: str) -> None:
    high = round(low + more, 1)
    for size in (Size(low, high, unit), Size(low, inf, unit), Size(-inf, high, unit), Size(0, inf, unit)):
        for bare in (False, True):
            told = str(Size(size.low, size.high, unit, bare=bare))
            assert "inf" not in told
            assert told == told.strip()
            numbers = {float(number) for number in re.findall(r"\d+(?:\.\d+)?", told)}
            assert numbers == (set() if size.unknown else {end for end in (size.low, size.high) if abs(end) < inf})


def test_a_fact_that_nobody_knows_is_an_unknown_size_or_word() -> None:
    size, word = (Fact("stem", name, None, unit, Origin.STATED, "") for name, unit in (("a_mm", "mm"), ("a", "")))
    assert [str(fact.told()) for fact in (size, word)] == ["an unknown size", "unknown"]


def test_what_a_sentence_shows_is_told_by_its_values() -> None:
    fact = Fact("stem", "stack_mm", Interval(40.0, 40.0), "mm", Origin.STATED, "")
    amount = Amount(1.0, 2.0, (fact,))
    key = ("stem", "stack_mm")
    for value in (
        fact.told(), amount.told("mm"), amount.bare(), Several((At("stem"), fact.told())),
        Sum(At("stem"), ((At("stem"), amount.bare()),), Size(1, 2, "mm")), say("inner {x}", x=fact.told()),
    ):  # fmt: skip
        assert say("{x}", x=value).shows == {key}
    assert say("{x}", x=At("stem")).shows == frozenset()


# ---------------------------------------------------------------- sums


def test_a_sum_tells_its_terms_with_their_signs_and_its_unit_once() -> None:
    def bare(low: float, high: float | None = None) -> Size:
        return Size(low, low if high is None else high, "", bare=True)

    terms = (
        (At("frame"), bare(150)), (say("height of the rails"), bare(-5)), (Kind("seat-clamp"), bare(2, 3)),
        (At("stem"), bare(-4, -3)), (At("spacer-1"), bare(0, inf)),
    )  # fmt: skip
    told = str(Sum(say("needed"), terms, Size(148, inf, "mm")))
    assert told == (
        "needed: frame 150 - height of the rails 5 + seat clamp 2..3 - stem 3..4 + spacer 1 ? = at least 148 mm"
    )
    first = str(Sum(say("left"), ((At("stem"), bare(-4)),), Size(-4, -4, "mm")))
    assert first == "left: - stem 4 = -4 mm"
    assert str(Sum(say("nothing"), (), Size(0, 0, "mm"))) == "nothing: 0 = 0 mm"


# ---------------------------------------------------------------- lists


@pytest.mark.parametrize(
    ("count", "link", "words"),
    [
        (0, "and", ""), (1, "and", "a"), (2, "and", "a and b"), (3, "and", "a, b and c"), (3, "or", "a, b or c"),
        (1, "; ", "a"), (3, "; ", "a; b; c"), (0, ", ", ""), (2, " > ", "a > b"),
    ],
)  # fmt: skip
def test_lists_in_words(count: int, link: str, words: str) -> None:
    assert str(Several(tuple("abc"[:count]), link)) == words


def test_lists_hold_values_of_any_sort() -> None:
    told = Several((At("front-brake-line"), Kind("rear-derailleur"), Size(5, 5, "mm"), 1.50, say("a {b}", b=2)), "or")
    assert str(told) == "front brake line, rear derailleur, 5 mm, 1.5 or a 2"


# ---------------------------------------------------------------- names and capitals


@pytest.mark.parametrize(
    ("value", "words"),
    [
        (At("front-brake-line"), "front brake line"),
        (PartAt("front-brake-line", "Hose-2"), "front brake line (Hose-2)"),
        (Kind("bar-end-plug"), "bar end plug"),
        (Attribute("bar_clamp_mm"), "bar clamp"),
        (Attribute("passages.bore.diameter_mm"), "passages bore diameter"),
        (Word("square-jis"), "square-jis"),
        (Fixing("lever-clamp", "clamp of the lever"), "clamp of the lever"),
        (Exact(11, 1), "11.0"), (Exact(2.34, 1), "2.3"), (Exact(5, 0, signed=True), "+5"),
        (Exact(-5.25, 1, signed=True), "-5.2"), (1000000.0, "1e+06"), (7, "7"), (2.50, "2.5"), ("as it is", "as it is"),
    ],
)  # fmt: skip
def test_values_in_words(value: Value, words: str) -> None:
    assert str(named(value)) == words


def test_a_sentence_that_begins_with_a_value_begins_with_a_capital() -> None:
    at = At("rear-derailleur")
    assert str(say("{part} is bent.", part=at)) == "Rear derailleur is bent."
    assert str(say("{part} is bent", part=at)) == "rear derailleur is bent", "only a part of a sentence"
    assert str(say("the {part} is bent.", part=at)) == "the rear derailleur is bent."
    assert str(say("{part}.", part="")) == "."
    assert str(named(at)) == "rear derailleur"


def test_nothing_is_said_with_no_words() -> None:
    assert not NOTHING
    assert str(NOTHING) == ""
    assert say("a")
    assert as_said("") == NOTHING


@given(name=names)
def test_names_of_parts_survive_as_they_are(name: str) -> None:
    assert str(PartAt("stem", name)) == f"stem ({name})"
    assert str(say("The {part} is bent.", part=PartAt("stem", name))) == f"The stem ({name}) is bent."
    assert str(say("Only {part} in {{braces}}.", part=Word(name))) == f"Only {name} in {{braces}}."
    assert str(say("{fault} More.", fault=say("Of {part}.", part=name))) == f"Of {name}. More."
    assert str(named(Several((name, PartAt("fork", name))))) == f"{name} and fork ({name})"


@given(text=names)
def test_a_text_without_values_is_said_as_it_is(text: str) -> None:
    said = as_said(text)
    assert str(said) == text
    assert as_said(said) is said
    assert str(say("It says: {it}", it=said)) == f"It says: {text}"


@given(name=names)
def test_names_of_parts_survive_in_another_language(name: str) -> None:
    said = say("{one} is not the only one: {two}", one=PartAt("stem", name), two=name)
    assert GERMAN.told(said) == f"{GERMAN.position('stem')} ({name}) is not the only one: {name}", "no text has it"
    assert GERMAN.told(named(PartAt("stem", name))) == f"{GERMAN.position('stem')} ({name})"


def test_sizes_and_lists_in_another_language() -> None:
    assert GERMAN.told(named(Size(31.8, 31.8, "mm"))) == "31,8 mm"
    assert GERMAN.told(named(Exact(2, 1))) == "2,0"
    assert GERMAN.told(named(Several((At("stem"), At("fork"))))) == "Vorbau und Gabel"
    assert GERMAN.told(named(Size(1, 1, "teeth"))) != GERMAN.told(named(Size(1, 2, "teeth"))).replace("1..2", "1")


# ---------------------------------------------------------------- as data


def test_equal_sentences_are_one_whatever_facts_they_show() -> None:
    fact = Fact("stem", "stack_mm", Interval(40.0, 40.0), "mm", Origin.STATED, "")
    one, two = say("It is {size}.", size=fact.told()), say("It is {size}.", size=Size(40, 40, "mm"))
    assert one == two
    assert hash(one) == hash(two)
    assert one != say("It is {size}.", size=Size(41, 41, "mm"))
    assert isinstance(one, Said)


@pytest.mark.parametrize(
    ("value", "words"), [(True, "yes"), (False, "no"), (1.50, "1.5"), (("a", "b"), "a or b"), ((), "none"), ("x", "x")]
)
def test_values_of_facts_in_words(value: object, words: str) -> None:
    assert shown(value) == words
