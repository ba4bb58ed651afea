"""Each finding's example fires, and what is told to cure it was tried by the rules."""

from __future__ import annotations

import os
from functools import cache
from unittest import mock

import pytest

from buildcheck import explaining
from buildcheck.explaining import Example, example_of
from buildcheck.library.cases import bike_and_change
from buildcheck.library.folders import cases_folder
from buildcheck.model.bikes import Change
from buildcheck.model.levels import Level
from buildcheck.rules.pages import pages
from buildcheck.vetting import Vetting
from laws.bench import catalogue, found_by

PAGES = pages(catalogue().standards)
# A cure tries up to some hundred parts: `make prove` asks for that of every page, every run for that of each fifth.
CURED = list(PAGES)[:: 1 if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else 5]


@cache
def _example(name: str) -> Example:
    return _example_of(name)


def _example_of(name: str) -> Example:
    example = example_of(name, PAGES[name].levels[0], catalogue(), cases_folder())
    assert example is not None
    return example


@pytest.mark.parametrize("name", PAGES)
def test_each_page_has_an_example_that_fires_and_a_case_that_stays_silent(name: str) -> None:
    with mock.patch.object(explaining, "_cure", return_value=None):
        example = _example_of(name)
    assert example.finding.name == name
    assert example.finding.level is PAGES[name].levels[0]
    assert example.differences
    assert example.silent is not None  # `rules/test_cases.py` holds each of these to its name
    assert example.silent.file in {path.name for path in (cases_folder() / name).glob("silent-*.yaml")}


@pytest.mark.parametrize("name", CURED)
def test_a_part_that_cures_it_leaves_it_silent_and_nothing_new_that_blocks(name: str) -> None:
    example = _example(name)
    part = example.part
    if part is None:
        return
    bike, change = bike_and_change(example.case, catalogue())
    fits = tuple(pair for pair in change.fit if pair[1] != part.position)
    left = tuple(position for position in change.take_off if position != part.position)
    cured = Change((*fits, (part.id, part.position)), left) if part.id else Change(fits, (*left, part.position))
    bench = Vetting(bike, catalogue())
    before, after = found_by(bench, change), found_by(bench, cured)
    assert name not in {finding.name for finding in after}
    blocks = [{finding.key for finding in found if finding.level is Level.BLOCKS} for found in (before, after)]
    assert blocks[1] <= blocks[0]


def test_the_cheapest_part_that_does_it_is_told() -> None:
    part = _example("bar-clamp-mismatch").part
    assert part is not None
    assert (part.id, part.position) == ("tolverne-shim-260-254", "bar-clamp-shim")


def test_another_kind_of_accessory_is_no_cure() -> None:
    part = _example("mudguards-too-narrow").part
    assert part is not None
    assert part.id is not None
    assert "mudguards" in part.id


def test_what_is_only_to_be_told_asks_for_no_part() -> None:
    assert _example("bar-position-changes").part is None


def test_most_of_what_blocks_is_cured_by_one_part() -> None:
    serious = [name for name in CURED if PAGES[name].levels[0] is Level.BLOCKS]
    assert len(serious) > 50
    assert sum(_example(name).part is not None for name in serious) > len(serious) / 2
