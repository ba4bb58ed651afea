"""Texts of a language: reading them, what is told where one is missing, numbers, money, dates and durations."""

from __future__ import annotations

import re
from datetime import date, timedelta
from math import inf
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.folders import Content
from buildcheck.library.problems import InputError
from buildcheck.library.texts import languages, load_texts, texts_from
from buildcheck.model.sentences import (
    At,
    Attribute,
    Exact,
    Fixing,
    Kind,
    PartAt,
    Said,
    Several,
    Size,
    Value,
    Word,
    named,
    say,
)
from buildcheck.model.texts import TextFile, Texts, placeholders

ENGLISH = TextFile.model_validate(
    {
        "labels": {"step": "Step {number}", "only-here": "only here"},
        "positions": {"spacer": {"mechanic": "spacer", "customer": "ring"}},
        "findings": {"line-too-long": "The line is too long."},
    }
)


def read(text: str, english: TextFile | None = None) -> TextFile:
    return texts_from([Content("texts/xx.yaml", text.encode(), "texts")], english)


def problems(text: str, english: TextFile | None = None) -> list[str]:
    with pytest.raises(InputError) as caught:
        read(text, english)
    return [str(problem) for problem in caught.value.problems]


@pytest.fixture(scope="module", params=languages())
def texts(request: pytest.FixtureRequest) -> Texts:
    return load_texts(request.param, strict=True)


# ---------------------------------------------------------------- reading


def test_there_are_two_languages() -> None:
    assert languages() == ("de", "en")


def test_a_language_that_is_not_there() -> None:
    with pytest.raises(InputError, match=r"--language: no texts in 'fr'; there are de, en"):
        load_texts("fr")


def test_a_fault_is_told_with_its_line() -> None:
    text = "labels:\n  step: 3\nheadings: {}\nphases:\n  strip: {mechanic: strip}\n"
    assert problems(text) == [
        "texts/xx.yaml:2:9: schema: labels.step: text is expected (a number that is a name goes in quotes), not 3",
        "texts/xx.yaml:5:10: schema: 'customer' is missing in phases.strip",
        "texts/xx.yaml:3:1: schema: 'headings' is not known here — did you mean \"findings\"?",
    ]


@pytest.mark.parametrize(
    ("text", "fault"),
    [
        ("Schritt", "{number} is expected, as in English"),
        ("Schritt {nummer}", "{number} is expected, as in English"),
        ("Schritt {number", "the braces are not in order: expected '}' before end of string"),
        ("Schritt {number.real}", "a plain name is expected in braces, not 'number.real'"),
        ("Schritt {}", "a plain name is expected in braces, not ''"),
    ],
)
def test_placeholders_are_those_of_the_english(text: str, fault: str) -> None:
    assert problems(f'labels:\n  step: "{text}"\n', ENGLISH) == [f"texts/xx.yaml:2:9: meaning: labels.step: {fault}"]


def test_no_placeholder_where_english_has_none() -> None:
    (problem,) = problems('labels: {only-here: "nur {wo}"}\n', ENGLISH)
    assert problem.endswith("no placeholder is expected, as in English")


def test_broken_yaml_is_told_with_its_line() -> None:
    (problem,) = problems("labels: [")
    assert problem.startswith("texts/xx.yaml:")


def test_a_further_folder_adds_texts_and_takes_precedence(tmp_path: Path) -> None:
    folder = tmp_path / "texts"
    folder.mkdir()
    (folder / "de.yaml").write_text("labels: {bike: Velo}\noperations: {our-own: {mechanic: A, customer: B}}\n")
    texts = load_texts("de", [tmp_path])
    assert texts.label("bike") == "Velo"
    assert texts.label("part") == "Teil"
    assert texts.operation("our-own@stem", "customer", "C") == "B"
    assert load_texts("en", [tmp_path]).label("bike") == "Bike"


# ---------------------------------------------------------------- what is told


def test_what_is_missing_is_told_in_english_and_strictly_is_an_error() -> None:
    loose, strict = (Texts("xx", TextFile(), ENGLISH, strict=strict) for strict in (False, True))
    assert loose.label("step", number=3) == "Step 3"
    assert loose.finding("line-too-long") == "The line is too long."
    assert loose.finding("line-too-short") == "line too short"
    assert loose.position("spacer", "customer") == "ring"
    assert loose.operation("fit-stem", "mechanic", "Put the stem on") == "Put the stem on"
    assert loose.told("vice") == "vice"
    assert loose.told(say("{line} is new", line=At("rear-brake-line"))) == "rear brake line is new"
    assert loose.attribute("bar_clamp_mm") == "bar clamp"
    assert loose.unit("sets") == "sets"
    assert loose.advice("chain-wear", "Measure the chain") == "Measure the chain"
    assert loose.advice_why("chain-wear", "It wears") == "It wears"
    assert loose.drawing("scale", "Scale {scale}") == "Scale {scale}"
    for ask in (
        lambda: strict.label("step", number=3),
        lambda: strict.finding("line-too-long"),
        lambda: strict.position("spacer", "customer"),
        lambda: strict.position("nowhere"),
        lambda: strict.operation("fit-stem", "mechanic", "Put the stem on"),
        lambda: strict.told(say("It is new")),
        lambda: strict.attribute("bar_clamp_mm"),
        lambda: strict.unit("sets"),
    ):
        with pytest.raises(KeyError, match="no text"):
            ask()


def test_a_label_that_is_nowhere_is_an_error() -> None:
    with pytest.raises(KeyError, match="no text 'steep' in labels of en"):
        load_texts("en").label("steep")


def test_positions_with_a_number_or_a_name(texts: Texts) -> None:
    names = ("spacer-2", "accessory-bottle-1", "wire-spare-2", "wire-frame")
    assert [texts.position(name) for name in names] == {
        "en": ["spacer no. 2", "bottle cage no. 1", "wire (spare 2)",
               "wire (frame)"],
        "de": ["Distanzring Nr. 2", "Flaschenhalter Nr. 1", "Kabel (spare 2)",
               "Kabel (Rahmen)"],
    }[texts.language]  # fmt: skip


def test_what_english_tables_say_is_as_good_as_a_text() -> None:
    english = load_texts("en", strict=True)
    assert english.operation("fit-stem", "mechanic", "Put the stem on") == "Put the stem on"
    assert english.told("2 mm hex key") == "2 mm hex key"
    assert english.why("bar-tape-disturbed") == english.finding("bar-tape-disturbed")
    assert english.why(say("it runs along the {position}", position=At("stem"))) == "it runs along the stem"
    assert english.attribute("passages.bar.bore.inscribed_mm") == "passages bar bore inscribed"
    assert english.measure("length_mm", "stem", "Read it") == "Read it"


STEM_AND_FORK: dict[str, Value] = {"one": At("stem"), "other": At("fork")}


@pytest.mark.parametrize(
    ("said", "german"),
    [
        (say("as asked"), "gewünscht"),
        (say("it has to come off for the {position}", position=At("spacer-2")),
         "muss dafür abgebaut werden: Distanzring Nr. 2"),
        ("line-can-stay", "Eine Leitung muss neu verlegt werden, ist aber lang genug und bleibt."),
        (say("{compound} between {one} and {other}", compound=Word("grease"), **STEM_AND_FORK),
         "Fett zwischen: Vorbau, Gabel"),
        (say("{wrench} with {crowfoot}",
             wrench=Word("torque wrench 2–20 N·m"), crowfoot=Word("8 mm flare-nut crow-foot")),
         "Drehmomentschlüssel 2–20 N·m, Aufsatz: Hahnenfußschlüssel, offene Ringform, 8 mm"),
        (say("No torque wrench of the shop reaches {low} N·m.", low=5.5),
         "Kein Drehmomentschlüssel der Werkstatt erreicht 5,5 N·m."),
        (named(PartAt("seat-clamp", "Collar 34.9 with two bolts")), "Sattelklemme (Collar 34.9 with two bolts)"),
        (say("{what}, old part",
             what=say("{what} ({tool})", what=Fixing("pedal-left", "Left pedal"), tool=Word("4 mm hex key"))),
         "Linkes Pedal (Innensechskant 4 mm), altes Teil"),
        (say("{lever} works no brake.", lever=PartAt("lever-left", "A Lever")),
         "Linker Hebel (A Lever) betätigt keine Bremse."),
        (say("{part}: {place}", part=Kind("bar-stem"), place=Several((Word("steel"), Word("no such word")), "or")),
         "Lenker-Vorbau-Einheit: Stahl oder no such word"),
        (say("{ring} has {teeth}; the spider takes {limit} or more.", ring=At("chainring"), teeth=Size(1, 1, "teeth"),
             limit=Size(30.5, 30.5, "teeth")),
         "Kettenblatt hat 1 Zahn; der Kurbelstern verlangt mindestens 30,5 Zähne."),
        (say("{line} ({length}) reaches: its new way takes {needed}.", line=At("wire"), length=Size(250, 300, "mm"),
             needed=Size(-inf, 240, "mm")),
         "Kabel (250 bis 300 mm) reicht: Der neue Weg braucht höchstens 240 mm."),
        (say("{size} mm", size=Exact(1234.5, 2)), "1.234,50 mm"),
        (named(Attribute("passages.bar.bore.inscribed_mm")), "dickster Stab, der durch die Bohrung geht"),
        (say("what nobody has translated"), "what nobody has translated"),
    ],
)  # fmt: skip
def test_sentences_are_told_in_the_language(said: Said | str, german: str) -> None:
    assert load_texts("de").why(said) == german


@pytest.mark.parametrize(
    ("said", "plain", "english"),
    [
        (say("it has to come off for the {position}", position=At("spacer-2")),
         "it has to come off for the spacer 2", "it has to come off for the spacer no. 2"),
        (say("{lever} works no brake.", lever=PartAt("lever-left", "A Lever")),
         "Lever left (A Lever) works no brake.", "Left lever (A Lever) works no brake."),
        (say("{ring} has {teeth}.", ring=At("chainring"), teeth=Size(1, 1, "teeth")),
         "Chainring has 1 teeth.", "Chainring has 1 tooth."),
        (say("{size} mm", size=Exact(1234.5, 2)), "1234.50 mm", "1,234.50 mm"),
    ],
)  # fmt: skip
def test_english_sentences_of_a_report_and_of_a_card(said: Said, plain: str, english: str) -> None:
    assert str(said) == plain
    assert load_texts("en", strict=True).told(said) == english


def test_a_sentence_has_the_values_of_its_english() -> None:
    (problem,) = problems('sentences: {"{part} is new": "{teil} ist neu"}\n', ENGLISH)
    assert problem.endswith("sentences.{part} is new: {part} is expected, as in English")


def test_words_by_what_they_are() -> None:
    german = load_texts("de", strict=True)
    assert german.told("links that are taken out") == "herausgenommene Kettenglieder"
    assert german.told("bar height") == "Lenkerhöhe"
    assert german.told("rag") == "Lappen"
    assert german.told("Crosswise, in two rounds.") == "Über Kreuz, in zwei Runden."
    assert german.told("grease") == "Fett"
    assert german.told("crow-foot for headset locknuts") == "Hahnenfußschlüssel für Steuersatz-Kontermuttern"
    assert german.told("grease; rag") == "Fett; Lappen"
    assert german.kind("bar-stem") == "Lenker-Vorbau-Einheit"


def test_how_to_measure_goes_by_kind() -> None:
    german = load_texts("de")
    assert german.measure("diameter_mm", "rotor", "x").startswith("Bremsscheibe lesen")
    assert german.measure("diameter_mm", "seatpost", "x").startswith("Stütze unter ihrer Markierung")
    assert german.measure("passages.bar.bore.inscribed_mm", "stem", "x").startswith("Den dicksten Bohrerschaft")
    assert german.measure("mounts.clamp.width_mm", "accessory", "x").startswith("Messschieber über die Klemme")
    assert german.measure("never_heard_of_mm", "stem", "x").startswith("In den Herstellerunterlagen")


def test_braces_in_a_text() -> None:
    assert placeholders("{a} and {{no}} and {b}") == {"a", "b"}


# ---------------------------------------------------------------- numbers, money, dates, durations


@pytest.mark.parametrize(
    ("language", "number", "money", "day", "time"),
    [
        ("en", "1,234.5", "€1,234.50", "Friday, 4 December 2026", "8 h 18 min"),
        ("de", "1.234,5", "1.234,50\N{NO-BREAK SPACE}€", "Freitag, 4. Dezember 2026", "8 Std. 18 Min."),
    ],
)
def test_ways_of_writing(language: str, number: str, money: str, day: str, time: str) -> None:
    texts = load_texts(language, strict=True)
    assert texts.number(1234.5) == number
    assert texts.money(1234.5) == money
    assert texts.money(None) == texts.label("price-unknown")
    assert texts.date("2026-12-04") == day
    assert texts.date("before Christmas") == "before Christmas"
    assert texts.duration(498) == time
    assert [texts.quantity(amount, "sets") for amount in (1, 2)] == (
        ["1\N{NO-BREAK SPACE}set", "2\N{NO-BREAK SPACE}sets"] if language == "en"
        else ["1\N{NO-BREAK SPACE}Satz", "2\N{NO-BREAK SPACE}Sätze"]
    )  # fmt: skip


@given(minutes=st.floats(0, 100_000))
def test_a_duration_is_its_minutes_to_the_nearest(minutes: float) -> None:
    for language in languages():
        told = load_texts(language).duration(minutes)
        sizes = [int(size.replace(",", "").replace(".", "")) for size in re.findall(r"\d[\d.,]*(?=\s)", told)]
        hours = sizes[0] if re.search("h|Std", told) else 0
        rest = sizes[-1] if "in" in told else 0
        assert abs(hours * 60 + rest - minutes) <= 0.5


@given(value=st.floats(-1e6, 1e6), digits=st.integers(0, 3))
def test_a_number_is_as_near_as_its_digits_allow(value: float, digits: int) -> None:
    english, german = (load_texts(language).number(value, digits) for language in ("en", "de"))
    assert abs(float(english.replace(",", "")) - value) <= 0.5 * 10**-digits + 1e-6
    assert german == english.translate(str.maketrans(",.", ".,"))


@given(days=st.integers(0, 40_000))
def test_a_date_is_told_with_its_day_and_year(days: int) -> None:
    day = date(2000, 1, 1) + timedelta(days)
    for language in languages():
        told = load_texts(language).date(day.isoformat())
        assert str(day.year) in told
        assert str(day.day) in told
