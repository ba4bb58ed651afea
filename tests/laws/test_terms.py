"""What the terms of a shop promise of every remedy, whichever way it was found."""

from __future__ import annotations

import json
from functools import cache
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from buildcheck.jobs import with_parts
from buildcheck.model.bikes import Bike
from buildcheck.model.report import Remedy, Report
from buildcheck.model.terms import InStock, Terms
from buildcheck.vetting import Vetting
from command import Ran, run
from laws.bench import bike, blocking, catalogue, change, context_of, findings_of, vetting
from laws.strategies import Job, jobs

SWAPS = (
    ("city-rim", "tolverne-lantern-100@stem"),
    ("city-rim", "tolverne-hollin-420@handlebar"),
    ("trail-hardtail", "merrowby-sill-780-50@handlebar"),
    ("tourer-cable", "brackwater-gully-4@front-caliper"),
    ("road-rim", "merrowby-beck-11-34-11@cassette"),
    ("trail-hardtail", "wexcombe-hazel-309-350@seatpost"),
)
FEW = settings(max_examples=max(4, settings.default.max_examples // 5))


@cache
def swap(name: str, fit: str) -> Job:
    return Job(bike(name), change(bike(name), fit))


@st.composite
def blocked_jobs(draw: st.DrawFn) -> Job:
    """A change that is blocked: usually one that many remedies are known for."""
    if draw(st.integers(0, 3)):
        return swap(*draw(st.sampled_from(SWAPS)))
    job = draw(jobs().filter(lambda job: bool(job.change.fit)))
    assume(blocking(findings_of(job.bike, job.change)))
    return job


def report(job: Job, rate_eur_per_hour: float = 60.0, **terms: Any) -> Report:
    return Vetting(job.bike, catalogue(), Terms(rate_eur_per_hour, **terms)).swap(job.change)


def after(job: Job, remedy: Remedy | None = None) -> Bike:
    """The bike after the change, and after a remedy."""
    parts = remedy.parts if remedy is not None else ()
    return context_of(job.bike, with_parts(job.change, parts)).bike


def part_at(of: Bike, position: str) -> str | None:
    spot = of.get(position)
    return None if spot is None else spot.part.id


def some_of(names: set[str]) -> st.SearchStrategy[frozenset[str]]:
    return st.frozensets(st.sampled_from(sorted(names)), min_size=1, max_size=4) if names else st.just(frozenset())


@FEW
@given(data=st.data(), job=blocked_jobs())
def test_a_kept_position_is_in_no_remedy(data: st.DataObject, job: Job) -> None:
    asked = {position for _, position in job.change.fit} | set(job.change.take_off)
    touched = {part.position for remedy in report(job).remedies for part in remedy.parts}
    altered = job.bike.with_whole_parts(asked) | after(job).with_whole_parts(asked)
    keep = data.draw(some_of(touched - altered), label="those that remedies would touch")
    keep |= data.draw(some_of(set(job.bike.fitted) - altered), label="others")
    for remedy in report(job, keep=keep).remedies:
        assert keep.isdisjoint(part.position for part in remedy.parts)
        for position in keep:
            assert part_at(after(job, remedy), position) == part_at(after(job), position)


def test_a_one_piece_part_is_kept_under_each_of_its_names() -> None:
    plain = bike("track")
    one_piece = context_of(plain, change(plain, "wexcombe-veil-420-100@handlebar")).bike
    job = Job(one_piece, change(one_piece, "dunreth-weave-tape@bar-tape"))
    assert "handlebar" in {part.position for remedy in report(job).remedies for part in remedy.parts}
    for name in ("stem", "handlebar"):
        for remedy in report(job, keep=frozenset({name})).remedies:
            assert {"stem", "handlebar"}.isdisjoint(part.position for part in remedy.parts)
            assert part_at(after(job, remedy), "stem") == "wexcombe-veil-420-100"


@pytest.mark.parametrize(
    ("name", "fit"),
    [("track", "skarnfell-waymark-under@accessory-bell"), ("city-rim", "merrowby-beck-left-3x9@shifter-right")],
)
def test_no_one_piece_part_takes_the_place_of_what_is_kept(name: str, fit: str) -> None:
    job = swap(name, fit)
    for remedy in report(job, keep=frozenset({"stem"})).remedies:
        assert part_at(after(job, remedy), "stem") == part_at(job.bike, "stem")


def test_no_one_piece_part_takes_the_place_of_what_was_asked_for() -> None:
    job = swap(*SWAPS[0])
    for remedy in report(job, exclude=frozenset({"tolverne-shim-260-254"})).remedies:
        if "stem" not in {part.position for part in remedy.parts}:
            assert part_at(after(job, remedy), "stem") == "tolverne-lantern-100"


@FEW
@given(data=st.data(), job=blocked_jobs())
def test_an_excluded_part_is_in_no_remedy_even_if_the_shop_has_it(data: st.DataObject, job: Job) -> None:
    used = {part.id for remedy in report(job).remedies for part in remedy.parts if part.id is not None}
    exclude = data.draw(some_of(used), label="those that remedies would use")
    exclude |= data.draw(some_of(set(catalogue().ids)), label="others")
    stock = {part_id: InStock(5, 0.0) for part_id in exclude}
    for remedy in report(job, exclude=exclude, stock=stock).remedies:
        assert exclude.isdisjoint(part.id for part in remedy.parts)


def minutes_cost(remedy: Remedy) -> float | None:
    if remedy.total_cost is None or remedy.parts_cost is None:
        return None
    return remedy.total_cost - remedy.parts_cost


RATES = st.floats(1, 500).map(lambda rate: round(rate, 2))


@FEW
@given(job=blocked_jobs(), rates=st.tuples(RATES, RATES).map(sorted))
def test_a_higher_rate_makes_no_remedy_cheaper(job: Job, rates: list[float]) -> None:
    low, high = (report(job, rate_eur_per_hour=rate) for rate in rates)
    at_high = {(remedy.parts, remedy.clears): remedy for remedy in high.remedies}
    for remedy in low.remedies:
        cost, again = minutes_cost(remedy), at_high.get((remedy.parts, remedy.clears))
        if cost is not None:
            rounding = 0.05 / 60 * rates[0]  # the mean is told to a tenth of a minute
            assert cost == pytest.approx(remedy.extra_minutes.mean / 60 * rates[0], abs=0.011 + rounding)
            dearer = None if again is None else minutes_cost(again)
            assert dearer is None or dearer >= cost - 0.011
    best = [min((r.total_cost for r in found.remedies if r.total_cost is not None), default=None)
            for found in (low, high)]  # fmt: skip
    if None not in best:
        assert best[0] <= best[1] + 0.011  # type: ignore[operator]


@FEW
@given(data=st.data(), job=blocked_jobs(), rate=RATES)
def test_terms_change_remedies_and_nothing_of_what_was_found(data: st.DataObject, job: Job, rate: float) -> None:
    plain = vetting(job.bike).swap(job.change)
    some = {"keep": some_of(set(job.bike.fitted)), "exclude": some_of(set(catalogue().ids))}
    found = report(job, rate_eur_per_hour=rate, **{name: data.draw(each, label=name) for name, each in some.items()})
    for name in ("verdict", "findings", "cleared", "measure_first", "gears", "rules_run", "rules_skipped"):
        assert getattr(found, name) == getattr(plain, name)


OPTIONS = (
    ("--rate", "48.50"), ("--keep", "saddle"), ("--keep", "bar-clamp-shim"), ("--keep", "handlebar"),
    ("--exclude", "tolverne-shim-260-254"), ("--exclude", "tolverne-shim-318-254"), ("--set", "saddle.weight_g=300"),
    ("--set", "seatpost.diameter_mm=unknown"), ("--stock", "stock.csv"),
)  # fmt: skip
STOCK = ("tolverne-shim-260-254,1,", "tolverne-lantern-80,0,12.50", "merrowby-tarn-pads-resin,4,3")


@FEW
@given(st.lists(st.sampled_from(OPTIONS), unique=True), st.randoms())
def test_neither_format_nor_order_of_options_changes_an_answer(options: list[tuple[str, str]], random: Random) -> None:
    name, fit = SWAPS[0]
    asked, rows = [("--fit", fit), *options], list(STOCK)

    def answer(*last: str) -> Ran:
        Path("stock.csv").write_text("\n".join(["part,quantity,price_eur", *rows]), encoding="utf-8")
        return run("swap", name, *(word for option in asked for word in option), *last)

    with TemporaryDirectory() as folder, pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        text, plain = answer(), answer("--format", "json")
        assert text.code == plain.code == (0 if json.loads(plain.out)["verdict"].startswith("fits") else 1)
        random.shuffle(asked)
        random.shuffle(rows)
        assert answer("--format", "json") == plain
