"""Law 9: the verdict on a change to a bike that is ridden today holds for every filling that use does not rule out.

Use rules a filling out where the bike before the change would then have a fault with which it could not be assembled or
ridden: what blocks by a row or a rule of which use proves that. The bundled bikes have none, so that a verdict without
some of their facts has to be the one with all of them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from math import isfinite
from typing import Any

import pytest
from hypothesis import given, note
from hypothesis import strategies as st

from buildcheck.fit.facts import Fact
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Origin, Proof, Since, Verdict
from buildcheck.model.quantities import Interval
from buildcheck.model.slots import value_at
from buildcheck.rules import RULES
from buildcheck.rules.pages import on_use
from buildcheck.vetting import verdict_of
from laws.bench import BIKES, bike, catalogue, findings_of, known_all_the_same, verdict, vetting
from laws.strategies import (
    Job,
    Slot,
    asks_for_no_position_twice,
    bikes,
    changes,
    doubts,
    fillings,
    part_at,
    pool_of,
    set_slots,
    slots_of,
)
from laws.test_evidence import hold_to_the_law, with_own_parts

FITS = (Verdict.FITS, Verdict.FITS_WITH_EXTRA_WORK)
ON_USE = on_use(catalogue().standards)


def ridden(of: Bike) -> Bike:
    return replace(of, in_use=True)


def vet(of: Bike, asked: Change) -> tuple[Verdict, tuple[Finding, ...]]:
    findings = findings_of(of, asked)
    return verdict_of(findings, changed=True), findings


def is_ruled_out(of: Bike) -> bool:
    """Has the bike as it stands a fault with which it could not be ridden today?"""
    found = vetting(of).ran_before.findings
    return any(f.level is Level.BLOCKS and ON_USE[f.name].proves is not Proof.NOTHING for f in found)


def told(findings: tuple[Finding, ...]) -> list[tuple[Level, str, tuple[str, ...], bool]]:
    return [(f.level, f.name, f.positions, f.counts) for f in findings]


def hold_is_right(now: Verdict, findings: tuple[Finding, ...], then: Verdict, found: tuple[Finding, ...]) -> None:
    """A decided verdict is right where the facts are these.

    What was not known before the change, and is left alone by it, is told and does not count, whatever it turns out.
    """
    if now is Verdict.BLOCKED:
        assert then not in FITS
    elif now in FITS:
        left = {f.key for f in findings if f.level is Level.UNKNOWN and f.since is Since.BEFORE}
        assert not {f.key for f in found if f.level is Level.BLOCKS and f.counts} - left


@st.composite
def changes_to(draw: st.DrawFn, of: Bike) -> Change:
    return draw(changes(of).filter(asks_for_no_position_twice))


# ---------------------------------------------------------------- soundness


@given(data=st.data())
def test_what_is_decided_without_facts_of_a_bundled_bike_is_so_with_them(data: st.DataObject) -> None:
    full = ridden(bike(data.draw(st.sampled_from(BIKES))))
    asked = data.draw(changes_to(full), label="change")
    gone = data.draw(st.lists(st.sampled_from(slots_of(full)), min_size=1, max_size=30, unique=True), label="gone")
    now, findings = vet(set_slots(full, dict.fromkeys(gone)), asked)
    then, found = vet(full, asked)
    note(f"{asked}: {now} {told(findings)} -> {then} {told(found)}")
    hold_is_right(now, findings, then, found)
    if now in FITS:
        assert then in FITS


def proven_of(of: Bike, draw: st.DrawFn, true: Bike) -> dict[tuple[str, str], Fact]:
    """What is known of a bike though no record tells it; of a size without an end, as far as sizes go."""
    known = known_all_the_same(of) | {
        key: fact for key, fact in vetting(of).inferred.items() if fact.origin is Origin.IN_USE
    }  # fmt: skip
    return {key: _drawable(fact, draw, true) for key, fact in known.items()}


def _drawable(fact: Fact, draw: st.DrawFn, true: Bike) -> Fact:
    held = fact.held
    if isinstance(held, Interval) and not isfinite(held.high):
        real = getattr(true[fact.position].part, fact.attribute)
        held = Interval(held.low, 2 * max(held.low, real.high if isinstance(real, Interval) else 1.0))
    elif fact.possible:
        word = draw(st.sampled_from(fact.possible))
        held = {"yes": True, "no": False}.get(word, word) if fact.one_word else (word,)
    return replace(fact, held=held, number=None)


@st.composite
def fillings_of(draw: st.DrawFn, true: Bike, doubt: Mapping[Slot, Any]) -> Bike:
    """The bike with its doubts settled in a way that use may rule out or not."""
    return set_slots(true, draw(fillings(true, doubt, proven_of(set_slots(true, doubt), draw, true))))


@given(data=st.data())
def test_a_verdict_on_a_bike_in_use_holds_for_every_filling(data: st.DataObject) -> None:
    true = ridden(data.draw(bikes(), label="bike"))
    asked = data.draw(changes_to(true), label="change")
    doubt = data.draw(doubts(true), label="doubt")
    now, findings = vet(set_slots(true, doubt), asked)
    note(f"{now} {told(findings)}")
    for _ in range(3):
        filled = data.draw(fillings_of(true, doubt), label="filling")
        if not is_ruled_out(filled):
            then, found = vet(filled, asked)
            note(f"-> {then} {told(found)}")
            hold_is_right(now, findings, then, found)


@given(data=st.data())
def test_each_value_that_use_rules_out_is_one_with_which_the_bike_could_not_be_ridden(data: st.DataObject) -> None:
    """What is inferred is no more than what the rows and rules say: the rest of the values are faults before."""
    full = ridden(bike(data.draw(st.sampled_from(BIKES))))
    slot = data.draw(st.sampled_from(slots_of(full, nested=False)), label="fact")
    proven = vetting(set_slots(full, {slot: None})).inferred.get((slot[0], str(slot[1][0])))
    if proven is None or proven.origin is not Origin.IN_USE:
        return
    for value in pool_of(part_at(full, slot[0]), slot[1]):
        if _contradicts(proven, value):
            assert is_ruled_out(set_slots(full, {slot: value})), (slot, value, proven)


def _contradicts(proven: Fact, value: Any) -> bool:
    if isinstance(proven.held, Interval):
        return value.high < proven.held.low or value.low > proven.held.high
    if proven.held is not None:
        return bool(value != proven.held)
    words = value if isinstance(value, tuple) else ({True: "yes", False: "no"}.get(value, value),)
    return not set(words) & set(proven.possible)


# ---------------------------------------------------------------- learning, evidence


@given(data=st.data())
def test_learning_a_fact_never_unsettles_a_verdict_on_a_bike_in_use(data: st.DataObject) -> None:
    true = ridden(data.draw(bikes(), label="bike"))
    asked = data.draw(changes_to(true), label="change")
    doubt = data.draw(doubts(true), label="doubt")
    of = set_slots(true, doubt)
    final = data.draw(fillings_of(true, doubt), label="filling")
    if is_ruled_out(final):
        return
    now, _ = vet(of, asked)
    for position, path in data.draw(st.permutations(sorted(doubt)), label="order"):
        of = set_slots(of, {(position, path): value_at(part_at(final, position), path)})
        then, findings = vet(of, asked)
        note(f"{position} {path}: {now} -> {then} {told(findings)}")
        assert now is Verdict.UNDECIDED or then is not Verdict.UNDECIDED
        now = then


@given(data=st.data())
def test_the_evidence_named_is_enough_on_a_bike_in_use(data: st.DataObject) -> None:
    """Of what rests on use; what does not is held to the law by test_evidence.py."""
    full = ridden(bike(data.draw(st.sampled_from(BIKES))))
    asked = data.draw(changes_to(full), label="change")
    gone = data.draw(st.lists(st.sampled_from(slots_of(full)), min_size=1, max_size=12, unique=True), label="gone")
    job = with_own_parts(set_slots(full, dict.fromkeys(gone)), asked)
    found = [finding for finding in findings_of(job.bike, asked) if any(item.behind for item in finding.evidence)]
    hold_to_the_law(Job(job.bike, asked), found)


# ---------------------------------------------------------------- what each row and rule says


def test_each_row_and_rule_says_what_use_proves_and_all_of_one_name_the_same() -> None:
    said: dict[str, set[tuple[Proof, bool | None]]] = {}
    for row in catalogue().standards.joints:
        said.setdefault(row.name, set()).add((row.use_proves, row.endangers))
    for rule in RULES:
        said.setdefault(rule.name, set()).add((rule.use_proves, rule.endangers))
    assert said.keys() == ON_USE.keys()
    assert [name for name, every in said.items() if len(every) > 1] == []


@pytest.mark.parametrize("name", BIKES)
def test_a_bundled_bike_can_be_in_use(name: str) -> None:
    assert not is_ruled_out(bike(name))
    assert verdict(ridden(bike(name))) is verdict(bike(name))
