"""Whole jobs take what a workshop would quote for them: the ranges are from memory, minutes at the bench with tests.

Both the likely total and the mean that the card tells lie in the range.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import NamedTuple

import pytest

from buildcheck.model.report import Work
from laws.bench import bike, change, usual_swap, usual_vetting
from laws.test_work import work_of


class Quote(NamedTuple):
    """A job on a bundled bike, and the range that a workshop would quote."""

    job: str
    low_min: float
    high_min: float
    bike: str
    fits: tuple[str, ...]


with (Path(__file__).parent / "whole_jobs.csv").open(encoding="utf-8", newline="") as _file:
    QUOTES = [
        Quote(row["job"], float(row["low_min"]), float(row["high_min"]), row["bike"], tuple(row["fits"].split()))
        for row in csv.DictReader(_file)
    ]
# What the customer asks for is blocked there, and planned with its cheapest remedy.
WITH_REMEDY = "enclosed one-piece bar, hydraulic, wired"


def _work(quote: Quote) -> Work:
    if quote.job == WITH_REMEDY:
        return usual_swap(quote.bike, *quote.fits).work
    of = bike(quote.bike)
    asked = change(of, *quote.fits)
    assert not usual_vetting(quote.bike).vetted(asked).blocking
    return work_of(of, asked)


@pytest.mark.parametrize("quote", QUOTES, ids=lambda quote: f"{quote.job} of {quote.bike}")
def test_a_whole_job_takes_what_a_workshop_would_quote(quote: Quote) -> None:
    work = _work(quote)
    asked, extra = work.asked_minutes, work.extra_minutes
    assert quote.low_min <= asked.likely + extra.likely <= quote.high_min
    assert quote.low_min <= asked.mean + extra.mean <= quote.high_min
    assert asked.low + extra.low < asked.likely + extra.likely < asked.high + extra.high


def test_the_table_has_a_range_for_each_kind_of_job() -> None:
    ranges: dict[str, set[tuple[float, float]]] = {}
    for quote in QUOTES:
        ranges.setdefault(quote.job, set()).add((quote.low_min, quote.high_min))
    assert len(ranges) == 19
    assert all(len(each) == 1 for each in ranges.values())
