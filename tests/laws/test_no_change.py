"""Law 7: fitting what is there changes nothing, nor does a swap and its reverse; what was there before is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildcheck.fit.change import apply_change
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import Work
from buildcheck.rules.hydraulics import renewed_facts
from buildcheck.vetting import verdict_of
from laws.bench import bike, change, findings_of, vetting, with_facts
from laws.strategies import jobs
from laws.test_work import work_of

HOMELESS = ("accessory-without-place", "junction-without-place")


def _bare(findings: tuple[Finding, ...]) -> list[Finding]:
    """The findings as those of before, without what the search keeps of a change: a bike that is only checked has none.

    Nothing of that is told to anybody, and a rule that asks whether a part was changed asks it only beside a change.
    """
    old = (replace(finding, since=Since.BEFORE, turns_on=(), threaded=()) for finding in findings)
    return sorted(old, key=Finding.sort_key)


def _after(of: Bike, asked: Change) -> Bike:
    bench = vetting(of)
    return apply_change(of, asked, bench._look_up, bench.catalogue.standards)


@given(data=st.data())
def test_fitting_the_part_that_is_there_changes_nothing(data: st.DataObject) -> None:
    of = data.draw(jobs(), label="job").bike
    position = data.draw(st.sampled_from(sorted(spot.position for spot in of.main_spots())))
    same = Change(((of[position].part.id, position),))
    told = findings_of(of, same)
    assert all(finding.since is Since.BEFORE for finding in told)
    assert _bare(told) == _bare(findings_of(of))
    assert work_of(of, same) == Work()


@given(data=st.data())
def test_a_swap_and_its_reverse_give_the_first_findings_again(data: st.DataObject) -> None:
    job = data.draw(jobs().filter(lambda job: bool(job.change.fit)), label="job")
    of = replace(job.bike, own_parts={})
    there = _after(of, Change(job.change.fit))
    # a one-piece part displaces what sat in the other positions that it fills
    displaced = [s for s in of.main_spots() if s.position not in there or there[s.position].part is not s.part]
    assume(not any(spot.measured for spot in displaced))
    # a thing that had no place at first is given one, where there is one, when it is fitted again
    assume(not any(finding.name in HOMELESS for finding in findings_of(of)))
    added = tuple(position for position in there.fitted if position not in of)  # an adapter where there was none
    back = Change(tuple((spot.part.id, spot.position) for spot in displaced), added)
    assert findings_of(_after(there, back)) == findings_of(of)


@given(data=st.data())
def test_since_and_cleared_tell_the_two_bikes_apart(data: st.DataObject) -> None:
    job = data.draw(jobs().filter(lambda job: bool(job.change.fit)), label="job")
    bench = vetting(job.bike)
    before, after = bench.check().findings, bench._vet(job.change)[0].findings
    old = {finding.identity: finding.level for finding in before}
    for finding in after:
        if finding.since is Since.BEFORE:
            assert old[finding.identity] is finding.level
        elif old.get(finding.identity) is finding.level:
            near = {*finding.positions, *(item.position for item in finding.evidence)}
            context, asked = bench._context(job.change), {(each.position, each.attribute) for each in finding.undecided}
            told = "nothing of it was touched or filled anew, so it was there before"
            assert near & context.touched or asked & renewed_facts(context), told
    now, places = {finding.identity for finding in after}, {finding.key for finding in after}
    cleared = bench._cleared(after)
    assert {f.key for f in cleared} >= {f.key for f in before} - places
    assert all(finding.identity in old and finding.identity not in now for finding in cleared)


@settings(max_examples=max(5, settings.default.max_examples // 3))
@given(data=st.data())
def test_an_old_unknown_that_is_not_touched_does_not_count(data: st.DataObject) -> None:
    of = with_facts(bike("city-rim"), saddle__rails="unknown", stem__bar_clamp_mm="unknown")
    assert verdict_of(findings_of(of), changed=False) is Verdict.UNDECIDED
    position = data.draw(st.sampled_from(["accessory-bell", "pedals", "rear-pads", "accessory-lamp-rear"]))
    asked = Change((), (position,)) if position.startswith("accessory") else Change(((of[position].part.id, position),))
    told = findings_of(of, asked)
    assert {f.name for f in told if f.level is Level.UNKNOWN} == {"bar-clamp-mismatch", "saddle-rails-mismatch"}
    assert verdict_of(told, changed=True) in (Verdict.FITS, Verdict.FITS_WITH_EXTRA_WORK)


def test_an_old_unknown_that_is_touched_counts() -> None:
    of = with_facts(bike("allroad-wired"), stem__bar_clamp_mm="unknown")
    told = findings_of(of, change(of, "tolverne-hollin-440@handlebar"))
    assert verdict_of(told, changed=True) is Verdict.UNDECIDED


def test_an_old_unknown_of_a_brake_that_is_opened_counts() -> None:
    of = with_facts(bike("allroad-wired"), **{"front-caliper__fluid": "unknown"})
    opened = findings_of(of, change(of, "wexcombe-veil-420-100@handlebar"))
    assert [f.since for f in opened if f.name == "brake-fluid-mismatch"] == [Since.CHANGE]
    assert any(f.name == "brake-line-opened" and f.positions == ("front-brake-line",) for f in opened)
    closed = findings_of(of, change(of, "tolverne-hollin-440@handlebar"))
    assert [f.since for f in closed if f.name == "brake-fluid-mismatch"] == [Since.BEFORE]
    assert verdict_of(closed, changed=True) in (Verdict.FITS, Verdict.FITS_WITH_EXTRA_WORK)


def test_what_a_change_clears_is_told() -> None:
    of = with_facts(bike("allroad-wired"), handlebar__clamp_mm=26.0)
    report = vetting(of).swap(change(of, "tolverne-hollin-440@handlebar"))
    assert [finding.name for finding in report.cleared] == ["bar-clamp-mismatch"]


def test_what_blocks_counts_whenever_it_was_there() -> None:
    of = with_facts(bike("allroad-wired"), seatpost__diameter_mm=26.0)
    told = findings_of(of, change(of, "tolverne-hollin-440@handlebar"))
    assert [f.since for f in told if f.name == "seatpost-bore-mismatch"] == [Since.BEFORE]
    assert verdict_of(told, changed=True) is Verdict.BLOCKED


VEIL = "wexcombe-veil-420-100"


@pytest.mark.parametrize("split", [False, True], ids=["at once", "one after the other"])
@pytest.mark.parametrize("bar_first", [False, True])
def test_a_one_piece_bar_and_back_is_no_change(split: bool, bar_first: bool) -> None:
    of = bike("allroad-wired")
    there = _after(of, change(of, f"{VEIL}@handlebar"))
    back = [("tolverne-alder-100", "stem"), ("tolverne-hollin-420", "handlebar")]
    back = back[::-1] if bar_first else back
    for asked in [[item] for item in back] if split else [back]:
        there = _after(there, Change(tuple(asked)))
    assert there.fitted == of.fitted
    assert findings_of(there) == findings_of(of)


@given(data=st.data())
def test_taking_a_part_off_and_fitting_it_again_is_no_change(data: st.DataObject) -> None:
    of = data.draw(jobs(), label="job").bike
    names = data.draw(
        st.lists(st.sampled_from(sorted(s.position for s in of.main_spots())), min_size=1, max_size=4, unique=True)
    )
    back = tuple((of[name].part.id, name) for name in data.draw(st.permutations(names)))
    off = tuple(data.draw(st.permutations(names)))
    assert _after(of, Change(back, off)).fitted == of.fitted
    there = of
    for step in (*(Change((), (name,)) for name in off), *(Change((item,)) for item in back)):
        there = _after(there, step)
    assert there.fitted == of.fitted
    told = findings_of(of, Change(back, off))
    assert all(finding.since is Since.BEFORE for finding in told)
    assert _bare(told) == _bare(findings_of(of))


def test_what_comes_to_stand_on_another_part_is_touched() -> None:
    unknown = {"spacer_AT_2__section": "unknown", "spacer_AT_3__section": "unknown", "stem__base_section": "unknown"}
    told = findings_of(with_facts(bike("allroad-wired"), **unknown), Change((), ("spacer-2",)))
    assert [(f.positions, f.since) for f in told if f.name == "spacer-section-mismatch"] == [
        (("spacer-3", "spacer-1"), Since.CHANGE)
    ]
    assert verdict_of(told, changed=True) is Verdict.UNDECIDED
