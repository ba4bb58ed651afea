"""Law 4: a remedy leaves nothing that blocks, and none of its proper subsets does so that takes no more away."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, combinations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildcheck.jobs import with_parts
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.report import Remedy, RemedyPart
from buildcheck.remedies import TAKEN_AWAY
from laws.bench import bike, blocking, catalogue, change, findings_of, usual_swap, vetting
from laws.strategies import jobs
from oracles import BruteForce, Case, brought

# Up to here every proper subset is vetted; of larger sets those that lack one part.
_ALL_SUBSETS_UP_TO = 5

SWAPS = [
    ("allroad-wired", "wexcombe-veil-420-100@handlebar"),
    ("allroad-wired", "tolverne-lych-420-100@handlebar"),
    ("trail-hardtail", "merrowby-sill-780-50@handlebar"),
    ("city-rim", "tolverne-hollin-420@handlebar"),
    ("tourer-cable", "brackwater-gully-4@front-caliper"),
]


def taken(of: Bike, asked: Change, parts: tuple[RemedyPart, ...]) -> int:
    """How much a set takes away, counted by other means than the search's."""
    case = Case(vetting(of), asked)
    brute = BruteForce(case, ())
    bought = [(part.position, catalogue().part(part.id)) for part in parts if part.id is not None]
    off = [part for part in parts if part.id is None and part.position.startswith("accessory")]
    done = case.vetting.vetted(with_parts(asked, parts))
    by_itself = sum(brute.takes_away(position, part) for position, part in bought)
    return by_itself + TAKEN_AWAY * (len(off) + len(brought(done, case.start)))


def hold_to_the_law(of: Bike, asked: Change, remedy: Remedy) -> None:
    assert not blocking(findings_of(of, with_parts(asked, remedy.parts)))
    count = len(remedy.parts)
    sizes = range(count) if count <= _ALL_SUBSETS_UP_TO else (count - 1,)
    for parts in chain.from_iterable(combinations(remedy.parts, size) for size in sizes):
        if not blocking(findings_of(of, with_parts(asked, parts))):
            assert taken(of, asked, parts) > taken(of, asked, remedy.parts), f"{[part.id for part in parts]} would do"


@pytest.mark.parametrize(("name", "part"), SWAPS)
def test_remedies_of_usual_swaps(name: str, part: str) -> None:
    of = bike(name)
    asked = change(of, part)
    report = usual_swap(name, part)
    assert blocking(report.findings)
    for remedy in report.remedies:
        hold_to_the_law(of, asked, remedy)


@settings(max_examples=max(3, settings.default.max_examples // 5))
@given(data=st.data())
def test_remedies_of_random_swaps(data: st.DataObject) -> None:
    job = data.draw(jobs().filter(lambda job: bool(job.change.fit)), label="job")
    assume(blocking(findings_of(job.bike, job.change)))
    for remedy in vetting(job.bike).swap(job.change).remedies:
        hold_to_the_law(job.bike, job.change, remedy)


def test_a_change_that_fits_needs_no_remedy() -> None:
    report = usual_swap("allroad-wired", "tolverne-alder-110@stem")
    assert not blocking(report.findings)
    assert report.remedies == ()


def test_the_report_of_a_remedied_swap_counts_its_work() -> None:
    of = bike("allroad-wired")
    asked = change(of, "wexcombe-veil-420-100@handlebar")
    report = usual_swap("allroad-wired", "wexcombe-veil-420-100@handlebar")
    done = vetting(of).swap(with_parts(asked, report.remedies[0].parts))
    ids = {operation.id for operation in report.work.operations}
    assert ids == {operation.id for operation in done.work.operations}
    assert report.work_note
    split = ("asked_minutes", "extra_minutes", "asked_cost", "extra_cost")  # more was asked for there
    assert replace(report.work, **{name: getattr(done.work, name) for name in split}) == done.work
