"""Law 6: every operation once, never before what it needs, and more work for more changes."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.model.bikes import Bike, Change
from buildcheck.model.report import Work
from buildcheck.work.plan import plan_work
from buildcheck.work.precedence import PHASES
from laws.bench import bike, change, vetting
from laws.strategies import jobs

CLOSING = ("test", "finish")


def work_of(of: Bike, asked: Change, findings: bool = True) -> Work:
    """The bench work of a change as asked, without remedies; with or without what the findings ask for."""
    bench = vetting(of)
    vetted = bench._vet(asked)[0]
    positions = frozenset(position for _, position in asked.fit) | frozenset(asked.take_off)
    told = vetted.findings if findings else ()
    rate = bench.agreed.rate_eur_per_hour
    return plan_work(vetted.context, told, bench._pinned(vetted.context, positions), rate, {})


def total(work: Work) -> float:
    return work.asked_minutes.likely + work.extra_minutes.likely


@given(data=st.data())
def test_operations_stand_once_and_after_what_they_need(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    work = work_of(job.bike, job.change)
    ids = [operation.id for operation in work.operations]
    assert len(set(ids)) == len(ids)
    for index, operation in enumerate(work.operations):
        assert set(operation.after) <= set(ids[:index])
    assert total(work) == sum(operation.minutes.likely for operation in work.operations)


@given(data=st.data())
def test_tests_follow_all_fitting_and_the_tape_goes_on_last(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    phases = [operation.phase for operation in work_of(job.bike, job.change).operations]
    for index, phase in enumerate(phases):
        if phase in CLOSING:
            later = phases[index + 1 :]
            assert all(PHASES.index(other) >= PHASES.index(phase) for other in later)


@given(data=st.data())
def test_a_part_comes_off_before_it_goes_on(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    first: dict[str, int] = {}
    for index, operation in enumerate(work_of(job.bike, job.change).operations):
        if operation.position is not None and operation.phase == "fit":
            first.setdefault(operation.position, index)
        if operation.position is not None and operation.phase == "strip":
            assert operation.position not in first


@given(data=st.data())
def test_the_work_of_a_change_is_at_least_that_of_a_part_of_it(data: st.DataObject) -> None:
    """For the handling of parts that are fitted. What is taken off for good saves putting it back; and two parts can
    cancel each other's findings (a lower cover and a higher spacer leave no steerer to be cut), so the work that
    findings ask for is left out.
    """
    job = data.draw(jobs().filter(lambda job: len(job.change.fit) > 1), label="job")
    whole = total(work_of(job.bike, job.change, findings=False))
    for some in combinations(job.change.fit, len(job.change.fit) - 1):
        assert whole >= total(work_of(job.bike, replace(job.change, fit=some), findings=False)) - 1e-6


def test_the_tape_is_wrapped_after_the_brakes_are_tested() -> None:
    of = bike("allroad-wired")
    work = work_of(of, change(of, "tolverne-lych-420-100@handlebar"))
    order = {operation.phase: index for index, operation in enumerate(work.operations)}
    assert order["test"] < order["finish"]
    assert [operation for operation in work.operations if operation.phase == "test"]


def test_no_change_is_no_work() -> None:
    assert work_of(bike("city-rim"), Change()) == Work()
