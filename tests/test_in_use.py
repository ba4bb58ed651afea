"""The verdict on a change to a bike that is ridden today with faults: which of them count, and in which order."""

from __future__ import annotations

from dataclasses import replace

from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import Outcome, Report
from laws.bench import bike, change, vetting, with_facts

TYRE = "dunreth-yoke-42-622@rear-tyre"
# It shifts badly: eight sprockets under a lever for nine.
SHIFTS_BADLY = {"cassette__speeds": 8, "cassette__sprocket_pitch_mm": 4.8}
TURNS_IN_THE_STEM = {"handlebar__clamp_mm": 25.4, "stem__bar_clamp_mm": 26.0}


def _bike(*, in_use: bool, **facts: object) -> Bike:
    return replace(with_facts(bike("tourer-cable"), **facts), in_use=in_use)


def _swap(of: Bike) -> Report:
    return vetting(of).swap(change(of, TYRE))


def _blocking(report: Report) -> list[Finding]:
    return [finding for finding in report.findings if finding.level is Level.BLOCKS]


def test_a_fault_that_is_ridden_with_does_not_block_a_change_that_leaves_it_alone() -> None:
    report = _swap(_bike(in_use=True, **SHIFTS_BADLY))
    assert report.verdict is Verdict.FITS
    assert {(f.name, f.since, f.counts) for f in _blocking(report)} == {
        ("clicks-miss-sprockets", Since.BEFORE, False)
    }  # fmt: skip
    assert not report.remedies
    assert report.measure_first == ()


def test_it_blocks_the_change_of_a_bike_that_is_not_in_use() -> None:
    report = _swap(_bike(in_use=False, **SHIFTS_BADLY))
    assert report.verdict is Verdict.BLOCKED
    assert all(finding.counts for finding in _blocking(report))


def test_it_blocks_the_bike_as_it_stands() -> None:
    report = vetting(_bike(in_use=True, **SHIFTS_BADLY)).check()
    assert report.verdict is Verdict.BLOCKED


def test_it_blocks_a_change_that_touches_it() -> None:
    of = _bike(in_use=True, **SHIFTS_BADLY)
    report = vetting(of).swap(change(of, "brackwater-scar-rear-36@rear-derailleur"))
    assert report.verdict is Verdict.BLOCKED


def test_what_endangers_the_rider_blocks_still_and_stands_first() -> None:
    of = _bike(in_use=True, **SHIFTS_BADLY, **TURNS_IN_THE_STEM)
    asked = change(of, "dunreth-yoke-42-622@rear-tyre", "dunreth-bowline-23-622@front-tyre")
    found = vetting(of).findings(asked)
    assert next((f.name, f.endangers) for f in found) == ("bar-clamp-mismatch", True)
    blocking = [f for f in found if f.level is Level.BLOCKS]
    assert [f.name for f in blocking][-1] == "clicks-miss-sprockets"
    assert not blocking[-1].counts
    assert any(f.since is Since.CHANGE for f in blocking[1:-1]), "what the change brings stands between the two"
    assert _swap(of).verdict is Verdict.BLOCKED


def test_records_that_contradict_use_count() -> None:
    report = _swap(_bike(in_use=True, front_AT_wheel__tyre_width_min_mm=50))
    assert report.verdict is Verdict.BLOCKED
    told = next(finding for finding in report.findings if finding.name == "tyre-too-narrow-for-rim")
    assert (told.level, told.since, told.counts) == (Level.BLOCKS, Since.BEFORE, True)
    assert "The records contradict that the bike is ridden so" in str(told.message)


def test_what_was_not_known_before_and_is_left_alone_does_not_count() -> None:
    of = _bike(in_use=False, handlebar__clamp_mm="unknown", stem__bar_clamp_mm="unknown")
    found = vetting(of).findings(change(of, TYRE))
    assert [(f.level, f.counts) for f in found if f.name == "bar-clamp-mismatch"] == [(Level.UNKNOWN, False)]


def test_a_remedy_need_not_clear_what_does_not_count() -> None:
    of = _bike(in_use=True, **SHIFTS_BADLY)
    asked = change(of, "dunreth-fallow-28-622@rear-tyre")
    report = vetting(of).swap(asked)
    assert report.verdict is Verdict.BLOCKED
    assert report.search.outcome is Outcome.CHEAPEST
    parts = report.remedies[0].parts
    assert [part.position for part in parts] == ["rear-tube"], "a tube for the narrow tyre, and no other shifter"
    with_parts = Change((*asked.fit, *((part.id, part.position) for part in parts if part.id is not None)))
    after = vetting(of).swap(with_parts)
    assert after.verdict in (Verdict.FITS, Verdict.FITS_WITH_EXTRA_WORK)
    assert any(f.name == "clicks-miss-sprockets" and not f.counts for f in after.findings)


def test_a_search_learns_from_what_was_read_off_a_neighbour() -> None:
    """The size of the rim is known from the tyre that comes off; the one that is asked for is another."""
    of = with_facts(bike("folding-small-wheel"), rear_AT_wheel__bead_seat_mm="unknown")
    for in_use in (False, True):
        report = vetting(replace(of, in_use=in_use)).swap(change(of, "dunreth-lapwing-32-622@rear-tyre"))
        assert report.verdict is Verdict.BLOCKED
        assert report.search.outcome is Outcome.IMPOSSIBLE
