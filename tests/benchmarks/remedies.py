"""The demo's cheapest remedies on catalogues of any size, as `swap` looks for them; run by bench.py, prints JSON.

`remedy_s_of_N`: the search on a catalogue of N parts once it is loaded. `remedy_growth_exponent`: the slope of that
time against the number of parts, both in logarithms, over the generated catalogues. `remedy_over_cpsat_N`: the
time over that of the same search which chooses with CP-SAT among all single parts instead (tests/oracles.py), its
models built in that time, too; both find remedies of the same costs, or this ends with an error.
`choice_over_cpsat_N`: the same for the choosing alone, without the vettings that both do. CP-SAT is stopped once it has
taken MOST_OVER times as long: the ratios are then upper bounds, and the costs are compared in the smaller sizes alone.

Everything is measured in turn, from a vetting that has nothing in its memory; the medians count.
"""

from __future__ import annotations

import gc
import json
import math
import time
from collections.abc import Iterable
from contextlib import suppress
from itertools import islice
from statistics import linear_regression, median
from typing import NamedTuple

from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.report import MOST_FOR_OTHERS, MOST_REMEDIES
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.model.bikes import Change
from buildcheck.remedies import Assignment, CostCut, Domains, GaveUpError, Solve
from buildcheck.remedies.master import Master
from buildcheck.vetting import Vetting
from generated import generated_catalogue
from laws.bench import bike
from oracles import Case, Groups, cpsat_cheapest, single_parts

BIKE, ASKED = "allroad-wired", (("wexcombe-veil-420-100", "handlebar"),)
SIZES = (1_000, 10_000, 100_000)
ROUNDS = 3
# How the figures of a size are called, and how often CP-SAT is measured, which may take a quarter of an hour.
AGAINST_CPSAT = {10_000: ("10k", 3), 100_000: ("100k", 1)}
MOST_OVER = 20.0


class Searched(NamedTuple):
    """What a search took in all, of that what the choosing took, and what its remedies cost."""

    all_s: float
    choosing_s: float
    costs: tuple[int, ...]


class _TooSlowError(Exception):
    """The time of a search is over."""


def search(
    catalogue: Catalogue,
    solve: Solve[PartCandidate] | None = None,
    groups: Groups | None = None,
    most_s: float = math.inf,
) -> Searched:
    """One search for the demo's remedies, timed; without remedies if it is stopped after `most_s`."""
    choosing_s = 0.0
    choose = solve or Master[PartCandidate]().cheapest  # one for a whole search, as it has it without being asked

    def timed(domains: Domains[PartCandidate], cuts: Iterable[CostCut]) -> Assignment[PartCandidate] | None:
        nonlocal choosing_s
        start = time.perf_counter()
        choice = choose(domains, cuts)
        choosing_s += time.perf_counter() - start
        if choosing_s > most_s:
            raise _TooSlowError
        return choice

    case = Case(Vetting(bike(BIKE), catalogue), Change(ASKED))
    assert case.start.blocking
    gc.collect()
    start = time.perf_counter()
    looking = case.search(timed, groups)
    looking.most_for_others = MOST_FOR_OTHERS
    found: list[int] = []
    with suppress(GaveUpError):  # the others would take longer than anybody waits for them
        try:
            found.extend(tried.cost for tried in islice(looking, MOST_REMEDIES))
        except _TooSlowError:
            found.clear()
    return Searched(time.perf_counter() - start, choosing_s, tuple(found))


def figures() -> dict[str, float]:
    """All figures."""
    gc.disable()  # buildcheck itself seldom collects
    found: dict[str, float] = {}
    for size in (0, *SIZES):
        catalogue = generated_catalogue(size, seed=1) if size else load()
        ours, theirs = [search(catalogue)], []
        assert ours[0].costs
        name, rounds = AGAINST_CPSAT.get(size, ("", 0))
        for number in range(ROUNDS):
            ours.append(search(catalogue))
            if number < rounds:
                most_s = MOST_OVER * ours[-1].all_s
                theirs.append(search(catalogue, cpsat_cheapest, single_parts(catalogue), most_s))
        assert all(each.costs == ours[0].costs for each in ours), f"other remedies among {size} parts"
        assert all(each.costs in (ours[0].costs, ()) for each in theirs), f"other remedies among {size} parts"
        assert size > min(AGAINST_CPSAT) or all(each.costs for each in theirs), f"CP-SAT is too slow at {size} parts"
        found[f"remedy_s_of_{size or 'bundled'}"] = median(each.all_s for each in ours[1:])
        if theirs:
            found[f"remedy_over_cpsat_{name}"] = ratio(
                [each.all_s for each in ours[1:]], [each.all_s for each in theirs]
            )
            found[f"choice_over_cpsat_{name}"] = ratio(
                [each.choosing_s for each in ours[1:]], [each.choosing_s for each in theirs]
            )
    seconds = [found[f"remedy_s_of_{size}"] for size in SIZES]
    slope = linear_regression([math.log(size) for size in SIZES], [math.log(each) for each in seconds])
    return {**found, "remedy_growth_exponent": slope[0]}


def ratio(ours: list[float], theirs: list[float]) -> float:
    """Of the medians."""
    return median(ours) / median(theirs)


if __name__ == "__main__":
    print(json.dumps(figures()))
