"""Laws 1 and 2: a verdict holds for every way of filling in what is not known, and learning never unsettles one."""

from __future__ import annotations

from hypothesis import given, note
from hypothesis import strategies as st

from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.quantities import Interval
from buildcheck.model.slots import value_at
from buildcheck.vetting import verdict_of
from laws.bench import findings_of, known_all_the_same
from laws.strategies import doubts, fillings, jobs, part_at, set_slots

FITS = (Verdict.FITS, Verdict.FITS_WITH_EXTRA_WORK)


def _vet(of: Bike, change: Change) -> tuple[Verdict, tuple[Finding, ...]]:
    findings = findings_of(of, change)
    return verdict_of(findings, changed=bool(change.fit or change.take_off)), findings


def _keys(findings: tuple[Finding, ...], level: Level, since: Since | None = None) -> set[tuple[str, str]]:
    return {f.key for f in findings if f.level is level and (since is None or f.since is since)}


def _surprises(findings: tuple[Finding, ...], listed: set[tuple[str, str]]) -> set[tuple[str, str]]:
    """What blocks though the verdict was that it fits.

    An unknown that was there before and that the change leaves alone is listed and does not count, so it
    may turn out to block, and so may what was there before for the same reason.
    """
    since = Since.CHANGE if listed else None
    return _keys(findings, Level.BLOCKS, since) - listed


@given(data=st.data())
def test_a_verdict_holds_for_every_filling(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    true, change = job.bike, job.change
    doubt = data.draw(doubts(true), label="doubt")
    open_bike = set_slots(true, doubt)
    before, told = _vet(open_bike, change)
    note(f"told: {[(f.level, f.name, f.positions) for f in told]}")
    listed = _keys(told, Level.UNKNOWN, Since.BEFORE)
    for _ in range(3):
        filled = data.draw(fillings(true, doubt, known_all_the_same(open_bike)), label="filling")
        after, findings = _vet(set_slots(true, filled), change)
        note(f"{before} -> {after}: {[(f.name, f.positions, f.message) for f in findings if f.level is Level.BLOCKS]}")
        if before in FITS:
            assert not _surprises(findings, listed)
        elif before is Verdict.BLOCKED:
            assert after not in FITS


@given(data=st.data())
def test_learning_a_fact_never_unsettles_a_verdict(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    true, change = job.bike, job.change
    doubt = data.draw(doubts(true), label="doubt")
    bike = set_slots(true, doubt)
    verdict, _ = _vet(bike, change)
    final = data.draw(fillings(true, doubt, known_all_the_same(bike)), label="filling")
    for slot in data.draw(st.permutations(sorted(doubt)), label="order"):
        old = value_at(part_at(bike, slot[0]), slot[1])
        learnt = final[slot]
        if isinstance(learnt, Interval) and isinstance(old, Interval) and data.draw(st.booleans()):
            learnt = Interval((old.low + learnt.low) / 2, (old.high + learnt.high) / 2)
        bike = set_slots(bike, {slot: learnt})
        now, findings = _vet(bike, change)
        note(f"{slot} = {learnt}: {verdict} -> {now}: {[(f.level, f.name, f.positions) for f in findings]}")
        if verdict is not Verdict.UNDECIDED:
            assert now is not Verdict.UNDECIDED
        verdict = now
