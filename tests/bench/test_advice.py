"""Preventive notes of real changes: only what lies open, and nothing that the job does or replaces."""

from __future__ import annotations

from buildcheck.bench.advice import advice_for
from laws.bench import bike, change, context_of
from laws.test_work import work_of


def notes(name: str, *fits: str, off: tuple[str, ...] = ()) -> set[tuple[str, str]]:
    of = bike(name)
    asked = change(of, *fits, take_off=off)
    return {(note.id, note.position) for note in advice_for(context_of(of, asked), work_of(of, asked).operations)}


def test_the_demo_looks_at_what_the_opened_brakes_lay_bare() -> None:
    found = notes("allroad-wired", "wexcombe-veil-420-100@handlebar")
    assert {
        ("pad-thickness", "front-pads"), ("rotor-thickness", "rear-rotor"), ("hub-feel", "front-wheel"),
        ("axle-grease", "rear-axle"), ("tyre-pressure", "front-tyre"), ("steerer-look", "fork"),
    } <= found  # fmt: skip
    assert not {name for name, _ in found} & {"bar-under-tape", "mineral-oil-look"}


def test_a_bar_that_stays_is_looked_at_under_its_tape() -> None:
    assert ("bar-under-tape", "handlebar") in notes("allroad-wired", "wexcombe-wrap-32@bar-tape")
    assert ("bar-under-tape", "handlebar") not in notes("allroad-wired", "tolverne-hollin-440@handlebar")


def test_a_cassette_shows_its_freehub_body_and_chain() -> None:
    found = notes("allroad-wired", "merrowby-tarn-11-36@cassette")
    assert {("freehub-body", "rear-wheel"), ("chain-wear", "chain"), ("axle-grease", "rear-axle")} <= found
    assert ("axle-grease", "front-axle") not in found


def test_no_advice_for_what_the_job_does() -> None:
    found = notes("allroad-wired", "ostmoor-thru-12x142-172@rear-axle", "quillbeck-moor-front-dynamo@front-wheel")
    assert not found
    assert ("tyre-pressure", "rear-tyre") not in notes("allroad-wired", "dunreth-drover-45-622@rear-tyre")


def test_no_change_is_no_advice() -> None:
    of = bike("city-rim")
    assert advice_for(context_of(of), []) == ()
