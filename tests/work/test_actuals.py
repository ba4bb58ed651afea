"""Recalibration: nothing recorded changes nothing, more records count more, and the book is never lost."""

from __future__ import annotations

from itertools import pairwise
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.model.workshop import Operation
from buildcheck.trade.durations import spread_of
from buildcheck.trade.pert import pert_mean_min
from buildcheck.work.actuals import AS_GOOD_AS_THE_BOOK, book_times, recalibrate, recalibrated, used_times
from laws.bench import catalogue

STANDARDS = catalogue().standards
operations = st.sampled_from(sorted(STANDARDS.operations)).map(STANDARDS.operations.__getitem__)
records = st.lists(st.floats(0.1, 6000), max_size=30)


@given(operations)
def test_without_a_record_the_book_is_used(operation: Operation) -> None:
    found = recalibrated(operation, [])
    assert found.used == found.book == book_times(operation)
    assert (found.count, found.weight) == (0, 0)


@given(operations, records)
def test_the_used_mean_lies_between_book_and_record(operation: Operation, minutes: list[float]) -> None:
    found = recalibrated(operation, minutes)
    book, used = pert_mean_min(*found.book), pert_mean_min(*found.used)
    low, high = sorted((book, found.sample_mean))
    assert low * (1 - 1e-9) <= used <= high * (1 + 1e-9)
    assert used == pytest.approx(found.weight * found.sample_mean + (1 - found.weight) * book)
    assert found.book == book_times(operation)
    assert all(a <= b for a, b in pairwise(found.used))
    if minutes:
        assert found.sample_mean == pytest.approx(fmean(minutes))


@given(operations, st.floats(0.1, 6000), st.integers(0, 50))
def test_a_longer_record_counts_more(operation: Operation, minutes: float, count: int) -> None:
    less, more = (recalibrated(operation, [minutes] * n) for n in (count, count + 1))
    assert 0 <= less.weight < more.weight < 1
    away = [abs(pert_mean_min(*found.used) - minutes) for found in (less, more)]
    assert away[1] <= away[0] + 1e-6


@given(operations, records)
def test_the_order_of_a_record_changes_nothing(operation: Operation, minutes: list[float]) -> None:
    one, two = (recalibrated(operation, each) for each in (minutes, minutes[::-1]))
    assert one.used == pytest.approx(two.used)


def test_five_records_weigh_as_much_as_the_book() -> None:
    operation = STANDARDS.operations["take-off-bar-tape"]
    assert book_times(operation) == (3, 5, 10)
    found = recalibrated(operation, [11.0] * int(AS_GOOD_AS_THE_BOOK))
    assert found.weight == 0.5
    assert found.used == pytest.approx((4.5, 7.5, 15))
    assert spread_of([found.used]).mean == pytest.approx(8.25)
    assert str(found.text) == (
        "take-off-bar-tape: done 5 times in 11.0 min on average, which counts 50%; "
        "reckoned with 4.5 / 7.5 / 15.0 min, not 3.0 / 5.0 / 10.0 as in the book"
    )
    assert "done once" in str(recalibrated(operation, [5.0]).text)


def test_only_what_was_recorded_changes() -> None:
    found = recalibrate(STANDARDS, {"take-off-stem": (9.0,), "fit-stem": (8.0, 9.0)})
    assert list(found) == ["fit-stem", "take-off-stem"]
    tape = STANDARDS.operations["take-off-bar-tape"]
    assert used_times(tape, found) == book_times(tape)
    assert used_times(STANDARDS.operations["fit-stem"], found) == found["fit-stem"].used
    with pytest.raises(KeyError):
        recalibrate(STANDARDS, {"none": (1.0,)})
