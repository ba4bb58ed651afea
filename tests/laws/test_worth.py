"""Law: no remedy takes away what another set does not, and what it takes away is told, as is what was passed over."""

from __future__ import annotations

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildcheck.model.bikes import Bike, Change
from buildcheck.model.levels import Level
from buildcheck.model.report import Report
from buildcheck.remedies import TAKEN_AWAY
from buildcheck.rules import RULES
from laws.bench import bike, blocking, change, findings_of, usual_swap, vetting
from laws.strategies import jobs
from laws.test_remedies import SWAPS, taken, with_parts


def hold_to_the_law(of: Bike, asked: Change, report: Report) -> None:
    assert len({taken(of, asked, remedy.parts) for remedy in report.remedies}) <= 1
    for remedy in report.remedies:
        all_in_all = taken(of, asked, remedy.parts)
        assert len(remedy.gives_up) == all_in_all // TAKEN_AWAY
        assert len(remedy.passed_over) <= 3
        for other in remedy.passed_over:
            assert other.total_cost < (remedy.total_cost or 0.0)
            assert taken(of, asked, other.parts) > all_in_all
            assert len(other.gives_up) == taken(of, asked, other.parts) // TAKEN_AWAY
            assert not blocking(findings_of(of, with_parts(asked, other.parts)))


@pytest.mark.parametrize(("name", "part"), SWAPS)
def test_usual_swaps(name: str, part: str) -> None:
    of = bike(name)
    hold_to_the_law(of, change(of, part), usual_swap(name, part))


@settings(max_examples=max(3, settings.default.max_examples // 5))
@given(data=st.data())
def test_random_swaps(data: st.DataObject) -> None:
    job = data.draw(jobs().filter(lambda job: bool(job.change.fit)), label="job")
    assume(blocking(findings_of(job.bike, job.change)))
    hold_to_the_law(job.bike, job.change, vetting(job.bike).swap(job.change))


def test_what_is_settled_at_work_can_be_a_caution() -> None:
    settled = [rule for rule in RULES if rule.settled_at_work]
    assert settled
    assert all(Level.CAUTION in rule.levels for rule in settled)
