"""A search that takes long: its line on a terminal, its limit, and that giving up is never told as impossible."""

from __future__ import annotations

import io
import json
import os
import sys
from time import monotonic, sleep

import pytest

from buildcheck.cli.progress import DEFAULT_LIMIT_S, Watch
from buildcheck.model.report import Outcome
from buildcheck.vetting import Vetting
from command import run
from laws.bench import bike, catalogue, change

BLOCKED = ["swap", "allroad-wired", "--fit", "wexcombe-veil-420-100@handlebar"]
# Each is searched for anew at every step: `make prove` does so for both, every run for the one that takes moments.
STOPPED = [
    ("city-rim", "merrowby-twill-ring-46@chainring-single"), ("allroad-wired", "wexcombe-veil-420-100@handlebar"),
][: None if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else 1]  # fmt: skip
IMPOSSIBLE = ("road-disc", "dunreth-packhorse-42-622@rear-tyre")


class _Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def _shown(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, times_s: list[float], limit_s: float = 60) -> Watch:
    monkeypatch.setattr(sys, "stderr", stream)
    watch = Watch(limit_s, iter(times_s).__next__)
    for number in range(len(times_s)):
        watch(number)
    return watch


def test_a_terminal_is_told_after_half_a_second_and_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = _Terminal()
    watch = _shown(monkeypatch, stream, [10.0, 10.4, 10.6, 10.7, 12.0])
    assert stream.getvalue().split("\r")[1:] == [
        "looking for remedies; sets of parts vetted: 2, 1 s",
        "looking for remedies; sets of parts vetted: 4, 2 s",
    ]
    watch.clear()
    assert stream.getvalue().endswith("\r" + " " * 50 + "\r")
    watch.clear()
    assert stream.getvalue().count("\r") == 4


def test_a_terminal_is_told_of_any_work(monkeypatch: pytest.MonkeyPatch) -> None:
    stream = _Terminal()
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr("buildcheck.cli.progress._EVERY_S", 0.01)
    begun, seconds = monotonic(), iter(range(10, 10_000))
    with Watch(60, lambda: float(next(seconds))):
        while "at work, 3 s" not in stream.getvalue() and monotonic() < begun + 30:
            sleep(0.01)
    assert stream.getvalue().startswith("\rat work, 1 s\rat work, 2 s\rat work, 3 s")
    assert stream.getvalue().endswith(" \r")
    told = stream.getvalue()
    sleep(0.05)
    assert stream.getvalue() == told


def test_nothing_is_said_elsewhere_or_where_it_takes_no_time(monkeypatch: pytest.MonkeyPatch) -> None:
    for stream, times in ((io.StringIO(), [0.0, 30.0]), (_Terminal(), [0.0, 0.1, 0.4])):
        _shown(monkeypatch, stream, times).clear()
        assert stream.getvalue() == ""


def test_the_limit_counts_from_the_first_step_and_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    assert _shown(monkeypatch, io.StringIO(), [100.0, 159.9]).reached == ""
    assert _shown(monkeypatch, io.StringIO(), [100.0, 160.0, 170.0]).reached == (
        "the limit of 60 s was reached; sets of parts vetted: 1"
    )


@pytest.mark.parametrize(("name", "fit"), STOPPED)
def test_a_search_that_was_stopped_at_some_step_never_says_impossible_or_cheapest_for_nothing(
    name: str, fit: str
) -> None:
    of = bike(name)
    asked = change(of, fit)
    whole = Vetting(of, catalogue()).swap(asked)
    outcomes = set()
    for most in range(whole.search.vetted + 1):
        report = Vetting(of, catalogue(), stop=lambda vetted, most=most: "enough" if vetted > most else "").swap(asked)
        outcomes.add(report.search.outcome)
        assert report.search.outcome is not Outcome.IMPOSSIBLE
        assert report.search.lower_bound is not None
        assert report.search.lower_bound <= whole.remedies[0].total_cost
        if report.search.outcome is Outcome.CHEAPEST:
            assert report.remedies == whole.remedies[: len(report.remedies)]
            assert report.search.limit == "enough" or report.search == whole.search
    assert outcomes == {Outcome.GAVE_UP, Outcome.CHEAPEST}


def test_what_is_impossible_needs_its_whole_search() -> None:
    of = bike(IMPOSSIBLE[0])
    report = Vetting(of, catalogue(), stop=lambda _: "enough").swap(change(of, IMPOSSIBLE[1]))
    assert (report.search.outcome, report.search.limit) == (Outcome.GAVE_UP, "enough")


def test_a_limit_is_told_in_the_report() -> None:
    short = run(*BLOCKED, "--keep", "bar-tape", "--limit", "0")
    assert "stopped before it found a remedy, if there is one: the limit of 0 s" in " ".join(short.out.split())
    ran = run(*BLOCKED, "--keep", "bar-tape", "--limit", "0", "--why")
    assert (short.code, ran.code) == (1, 1)
    assert "The search stopped: the limit of 0 s was reached" in ran.out
    assert "that there is none is not proven" in " ".join(ran.out.split())
    again = json.loads(run(*BLOCKED, "--keep", "bar-tape", "--limit", "0", "--format", "json").out)
    assert again["search"]["outcome"] == "gave-up"


def test_a_job_card_tells_the_limit_beside_the_card() -> None:
    ran = run("job", *BLOCKED[1:], "--limit", "0", "--format", "json")
    assert ran.err.startswith("buildcheck: the search for remedies stopped: the limit of 0 s was reached")


@pytest.mark.parametrize("limit", ["-1", "x", ""])
def test_a_limit_is_a_number_of_seconds(limit: str) -> None:
    assert run(*BLOCKED, "--limit", limit).code == 2
    assert DEFAULT_LIMIT_S >= 60
