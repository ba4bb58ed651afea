"""Law: nothing that cannot be undone is done before the tests that could show it to be wrong."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.model.bikes import Bike, Change
from buildcheck.work.precedence import PHASES
from laws.bench import bike, catalogue, change
from laws.strategies import jobs
from laws.test_work import work_of

ROWS = catalogue().standards.operations
FINAL = {name: row for name, row in ROWS.items() if row.final}
# Old tape comes off without any test; new tape on a bike that is otherwise left alone needs none either.
WITHOUT_A_TEST = {"wrap-bar-tape"}


def test_each_such_operation_names_its_tests_and_each_of_these_is_a_hold() -> None:
    assert FINAL.keys() >= {
        "cut-steerer",
        "cut-line-to-length",
        "cut-line-end",
        "shorten-chain",
        "fit-chain",
        "wrap-bar-tape",
    }
    for name, row in FINAL.items():
        assert row.proven_by, name
        for test in row.proven_by:
            assert PHASES.index(ROWS[test].phase) <= PHASES.index(row.phase), f"{test} comes after {name}"
            assert ROWS[test].hold or test == "test-ride", f"the job does not stop at {test}"


@given(data=st.data())
def test_the_tests_of_an_operation_that_cannot_be_undone_come_before_it(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    hold(work_ids(job.bike, job.change))


def test_so_they_do_in_a_full_conversion() -> None:
    of = bike("allroad-wired")
    ids = work_ids(of, change(of, "tolverne-lych-420-100@handlebar", "merrowby-beck-11-36-9@cassette"))
    assert hold(ids)


def work_ids(of: Bike, asked: Change) -> list[tuple[str, str | None]]:
    return [(each.id.partition("@")[0], each.position) for each in work_of(of, asked).operations]


def hold(ids: list[tuple[str, str | None]]) -> int:
    """How many operations of a job cannot be undone."""
    count = 0
    for index, (name, position) in enumerate(ids):
        if name in FINAL:
            count += 1
            about = [
                place for place, (test, at) in enumerate(ids)
                if test in FINAL[name].proven_by and (at == position or None in (at, position))
            ]  # fmt: skip
            assert all(place < index for place in about), f"{name} before one of its tests"
            assert about or name in WITHOUT_A_TEST, f"nothing is tried before {name}"
    return count
