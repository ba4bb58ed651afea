"""What the card says of what goes into opened things: fluid, hose ends, the link of the chain."""

from __future__ import annotations

from typing import Any

from buildcheck.jobs import Agreed, job_card
from laws.bench import bike, change, vetting, with_facts

VEIL = ("allroad-wired", "wexcombe-veil-420-100@handlebar")
CALIPER = ("trail-hardtail", "brackwater-rift-2@front-caliper")
CRANKSET = ("road-disc", "merrowby-leat-crank-165@crankset")


def cautions(job: tuple[str, str], **facts: Any) -> list[str]:
    name, *fits = job
    of = with_facts(bike(name), **facts)
    return [str(said) for said in job_card(vetting(of), change(of, *fits), Agreed()).cautions]


def test_the_fluid_of_a_brake_that_is_bled_is_told() -> None:
    assert "front brake line: only mineral-b goes into this brake; another fluid ruins its seals" in cautions(CALIPER)
    assert not any("not on record" in text for text in cautions(CALIPER))


def test_a_fluid_that_the_hose_does_not_tell_is_that_of_lever_and_caliper() -> None:
    told = cautions(CALIPER, **{"front-brake-line__fluid": "unknown"})
    assert "front brake line: only mineral-b goes into this brake; another fluid ruins its seals" in told
    assert any(text.startswith("front brake line: its fluid is not on record") for text in told)


def test_a_fluid_that_nobody_knows_is_asked_for_where_it_is_missing() -> None:
    told = cautions(VEIL, **{"front-caliper__fluid": "unknown"})
    assert any(text.startswith("front caliper: its fluid is not on record") for text in told)


def test_inserts_and_olives_of_a_hose_that_nobody_knows_are_asked_for() -> None:
    whole = ("front-brake-line__hose_system", "front-caliper__hose_system", "lever-left__hose_system")
    told = cautions(CALIPER, **dict.fromkeys(whole, "unknown"))
    assert any(text.startswith("front brake line: its hose system is not on record") for text in told)


def test_the_link_of_a_chain_that_is_opened_is_told() -> None:
    assert any(text.startswith("chain: the quick link or joining pin is one for") for text in cautions(CRANKSET))
    told = cautions(CRANKSET, chain__speeds="unknown")
    assert any(text.startswith("chain: no record tells for how many speeds it is") for text in told)
