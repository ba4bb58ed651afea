"""Nothing of a job card is lost on its page, whatever stands in it, and the page needs nothing beside it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import html5lib
import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.texts import load_texts
from buildcheck.model.job import JobCard
from buildcheck.model.levels import Verdict
from buildcheck.model.report import Outcome
from buildcheck.model.sentences import At, say
from buildcheck.report.job_page import alike, job_page, phases_of
from report.job_fixture import demo_card, demo_drawings, open_card

AUDIENCES = ("mechanic", "customer")
NASTY = "<b>&\"'</b> </script> é · \N{RIGHT-TO-LEFT OVERRIDE}x"
ENGLISH = load_texts("en")


def page(card: JobCard, audience: Any = "mechanic", **options: Any) -> str:
    return job_page(card, options.pop("texts", ENGLISH), audience, **options)


@cache
def tree(html: str) -> Any:
    """Strict: an error in the syntax raises ParseError."""
    return html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(html)


def words_of(html: str) -> str:
    """What a reader can see or hear, in one line."""
    return " ".join(" ".join(tree(html).find("body").itertext()).split())


def seen(text: str) -> str:
    return " ".join(text.split())


def told(card: JobCard) -> Iterator[str]:
    """What has to be on the mechanic's page."""
    yield from (card.bike_name, card.bike, *map(ENGLISH.told, card.cautions))
    yield from (ENGLISH.told(risk.message) for risk in card.risks)
    for step in card.steps:
        yield from (f"{step.number} ", ENGLISH.operation(step.operation, "mechanic", step.what), ENGLISH.why(step.why))
        yield from (step.final, *step.tools)
    yield from (ENGLISH.told(part.name).removeprefix("leave off ") for part in card.parts)
    for use in card.consumables:
        yield f"{ENGLISH.told(use.what)}: {ENGLISH.quantity(use.amount, use.unit)}"
    for row in card.torques:
        sentences = (row.what, row.compound, row.compound_why, row.source, *row.cautions)
        yield from (row.thread, *map(ENGLISH.told, sentences))
        yield from (ENGLISH.number(value) for value in (row.low_nm, row.high_nm, row.set_nm) if value is not None)
    for advice in card.advice:
        yield from (advice.what, advice.why, ENGLISH.duration(advice.now_min), ENGLISH.duration(advice.later_min))
    yield from (value.how or ENGLISH.told(value.attribute) for value in card.to_fill)
    if card.verdict in (Verdict.BLOCKED, Verdict.UNDECIDED):
        yield from (ENGLISH.told(message) for reason in card.blocking for message in reason.messages)
    if not card.steps:
        return
    yield from (ENGLISH.finding(reason.name) for reason in card.reasons)
    for spread in (card.time.asked, card.time.real):
        yield from (ENGLISH.duration(value) for value in (spread.mean, spread.p50, spread.p80, spread.p95))
    yield from (ENGLISH.duration(card.time.waiting_min), ENGLISH.duration(card.time.elapsed_min))
    yield from map(ENGLISH.told, card.time.notes)


@st.composite
def cards(draw: st.DrawFn) -> JobCard:
    """Any part of the demo's card, in its order, with marks at any step."""

    def some(rows: tuple[Any, ...]) -> tuple[Any, ...]:
        chosen = draw(st.sets(st.integers(0, len(rows) - 1), max_size=8)) if rows else set()
        return tuple(row for index, row in enumerate(rows) if index in chosen)

    whole = draw(st.sampled_from([demo_card(), open_card()]))
    steps = tuple(
        replace(step, hold=draw(st.booleans()), final=draw(st.sampled_from(["", NASTY])),
                waits_min=draw(st.sampled_from([0.0, 45.0])), what=draw(st.sampled_from([step.what, NASTY])))
        for step in some(whole.steps)
    )  # fmt: skip
    parts = tuple(
        replace(part, name=draw(st.sampled_from([part.name, NASTY])),
                price=draw(st.sampled_from([part.price, None])))
        for part in some(whole.parts)
    )  # fmt: skip
    return replace(
        whole, steps=steps, parts=parts, torques=some(whole.torques), advice=some(whole.advice),
        consumables=some(whole.consumables), tools=some(whole.tools), to_fill=some(whole.to_fill),
        reasons=some(whole.reasons), parts_cost=draw(st.sampled_from([whole.parts_cost, None])),
        verdict=draw(st.sampled_from(Verdict)), remedy=draw(st.sampled_from([None, 2])),
        promised=draw(st.sampled_from(["", NASTY, "2026-12-04"])),
    )  # fmt: skip


@given(card=cards())
def test_nothing_of_the_card_is_lost(card: JobCard) -> None:
    shown = words_of(page(card))
    missing = [text for text in told(card) if seen(text) not in shown]
    assert missing == []


@given(card=cards(), audience=st.sampled_from(AUDIENCES))
def test_every_page_is_valid_and_needs_nothing_beside_it(card: JobCard, audience: str) -> None:
    html = page(card, audience, drawings=demo_drawings())
    elements = list(tree(html).iter())
    assert not [element for element in elements if element.tag in ("script", "link", "img", "iframe", "object")]
    addresses = set(re.findall(r"[a-z]+://[^\s\"'<>]+", html))
    assert {address for address in addresses if not address.startswith("http://www.w3.org/")} == set()
    for element in elements:
        for name in ("src", "href"):
            assert element.get(name, "#").startswith("#")
    ids = [element.get("id") for element in elements if element.get("id")]
    assert len(set(ids)) == len(ids)
    assert {element.get("href", "#")[1:] for element in elements} - {""} <= set(ids)
    assert NASTY not in html


@given(card=cards())
def test_every_step_has_its_box_in_its_order(card: JobCard) -> None:
    boxes = [it.get("id") for it in tree(page(card)).iter("label") if (it.get("id") or "").startswith("step-")]
    assert boxes == [f"step-{step.number}" for step in card.steps]
    assert [step for _, runs in phases_of(card.steps) for run in runs for step in run.steps] == list(card.steps)


@given(card=cards())
def test_every_mark_of_a_step_is_shown_beside_it(card: JobCard) -> None:
    by_number = {step.number: step for step in card.steps}
    rows = [row for row in tree(page(card)).iter("li") if "step" in (row.get("class") or "").split()]
    for row in rows:
        classes, text = row.get("class").split(), seen(" ".join(row.itertext()))
        for label in row.iter("label"):
            step = by_number[int(label.get("id").removeprefix("step-"))]
            assert ("is-hold" in classes, "is-final" in classes) == (step.hold, bool(step.final))
            assert (ENGLISH.label("hold-mark") in text.split()) == step.hold
            assert (seen(ENGLISH.label("final-step", what=step.final)) in text) == bool(step.final)
            waiting = ENGLISH.label("waiting", minutes=ENGLISH.duration(step.waits_min))
            assert (waiting in text) == bool(step.waits_min)


def test_equal_work_is_told_once_and_referred_to() -> None:
    runs = [run for _, phase in phases_of(demo_card().steps) for run in phase]
    by_number = {step.number: step for step in demo_card().steps}
    assert any(run.like for run in runs)
    for run in runs:
        assert len({step.what for step in run.steps}) == 1
        if run.like is not None:
            assert by_number[run.like].what == run.first.what
            assert run.like < run.first.number


def test_alike_fasteners_share_a_line_and_keep_their_places() -> None:
    torques = demo_card().torques
    bolts = alike(torques)
    assert len(bolts) < len(torques)
    assert sorted((str(bolt.row.what), position) for bolt in bolts for position in bolt.positions) == sorted(
        (str(row.what), row.position) for row in torques
    )


def test_left_hand_threads_and_missing_wrenches_stand_out() -> None:
    shown = words_of(page(demo_card()))
    assert "left-hand thread" in shown
    assert "no wrench of the shop covers it" in shown
    assert "set to 5.1 N·m" in shown


def test_torques_with_one_limit_or_none() -> None:
    row = demo_card().torques[0]
    rows = (replace(row, low_nm=None), replace(row, high_nm=None), replace(row, low_nm=None, high_nm=None))
    shown = words_of(page(replace(demo_card(), torques=rows)))
    assert "at most 5 N·m" in shown
    assert "at least 4.5 N·m" in shown
    assert "look it up in the maker's documents" in shown
    assert "No fastener with a torque" in words_of(page(replace(demo_card(), torques=())))


def test_the_customer_reads_no_torques_and_no_threads() -> None:
    shown = words_of(page(demo_card(), "customer"))
    for word in ("N·m", "M5x0.8", "grease, carbon-paste"):
        assert word not in shown
    for step in demo_card().steps:
        assert seen(ENGLISH.operation(step.operation, "customer", step.what)) in shown


def test_the_customer_reads_what_is_open_and_must_not_ride_what_blocks() -> None:
    assert "still to be found out" in words_of(page(open_card(), "customer"))
    blocked = replace(open_card(), verdict=Verdict.BLOCKED, remedy=None)
    unsafe = replace(blocked, stands=Verdict.BLOCKED)
    assert "please do not ride the bike" in words_of(page(unsafe, "customer"))
    for sound in (blocked, demo_card()):
        assert "please do not ride the bike" not in words_of(page(sound, "customer"))


@pytest.mark.parametrize("audience", AUDIENCES)
def test_what_is_impossible_is_called_so(audience: Any) -> None:
    because = (say("the catalogue has no other part for the {position}", position=At("fork")),)
    card = replace(open_card(), verdict=Verdict.BLOCKED, remedy=None, search=Outcome.IMPOSSIBLE, impossible=because)
    shown = words_of(page(card, audience))
    assert ENGLISH.outcome("impossible", audience) in shown
    assert ENGLISH.label("not-possible") in shown
    assert ("the catalogue has no other part" in shown) == (audience == "mechanic")
    stopped = words_of(page(replace(card, search=Outcome.GAVE_UP, impossible=()), audience))
    assert ENGLISH.outcome("no-way-found", audience) in stopped


@pytest.mark.parametrize("audience", AUDIENCES)
def test_a_remedy_tells_whether_parts_come_or_go(audience: Any) -> None:
    card = replace(demo_card(), verdict=Verdict.FITS)
    less = replace(card, parts=(replace(card.parts[0], id=None, price=None),))
    for shown, outcome in ((card, "with-parts"), (less, "with-less")):
        assert ENGLISH.outcome(outcome, audience) in words_of(page(shown, audience))
        assert ENGLISH.verdict(Verdict.FITS, audience) not in words_of(page(shown, audience))


def test_a_job_that_cannot_be_done_has_no_order_of_work() -> None:
    card = replace(open_card(), verdict=Verdict.BLOCKED, steps=(), torques=(), parts=(), remedy=None)
    for audience in AUDIENCES:
        shown = words_of(page(card, audience))
        for key in ("order-of-work", "summary-title", "torques", "time", "work-for-customer", "cost-for-customer"):
            assert ENGLISH.label(key) not in shown.replace("Verdict", "")
        assert ENGLISH.label("not-possible") in shown


def test_new_pads_or_rotors_have_to_be_bedded_in() -> None:
    card = demo_card()
    rotor = replace(card.parts[3], position="front-rotor")
    assert "twenty stops" in words_of(page(replace(card, parts=(rotor,)), "customer"))
    assert "twenty stops" not in words_of(page(card, "customer"))


def test_drawings_have_their_titles_and_alternatives() -> None:
    root = tree(page(demo_card(), drawings=demo_drawings()))
    told = [it.text for it in root.iter("{http://www.w3.org/2000/svg}desc")]
    assert told == [drawing.alt for drawing in demo_drawings()]
    regions = [it.get("aria-label") for it in root.iter("div") if it.get("role") == "group"]
    assert regions == [drawing.title for drawing in demo_drawings()]
    assert not list(tree(page(demo_card())).iter("figure"))


@pytest.mark.parametrize("audience", AUDIENCES)
def test_another_language_changes_all_of_the_page_s_own_words(audience: Any) -> None:
    html = page(demo_card(), audience, texts=load_texts("de"))
    assert '<html lang="de">' in html
    headings = [seen("".join(it.itertext())) for it in tree(html).iter("h2")]
    english = [seen("".join(it.itertext())) for it in tree(page(demo_card(), audience)).iter("h2")]
    assert len(headings) == len(english)
    assert not set(headings) & set(english)
