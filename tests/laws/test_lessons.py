"""Laws of what the search for remedies learns: it holds for every set of parts that shows the same.

A condition that is too strong would rule out a remedy that does, and one work too many would make it too dear: then
what is called the cheapest is not. So, after a search, sets of parts are drawn at random that meet a condition,
whatever else they exchange, and each is vetted whole.
"""

from __future__ import annotations

import json
import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from random import Random
from typing import TypeVar

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on
from buildcheck.candidates.features import KIND, PartCandidate
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.remedies import Cube, Features, GaveUpError, Given, Literal, Observation
from buildcheck.vetting import Vetting
from generated import bundled_parts, generated_catalogue, load_once
from laws.bench import bike, change, with_facts
from oracles import Case, PartSearch, blocked_case

FEW = settings(max_examples=max(4, settings.default.max_examples // 5))
# Our choice: how long a search goes on; how much that it learned is tried, how often; what else is exchanged.
# `make prove` goes on for longer, and in more and larger catalogues.
VETTINGS, TRIED, CATALOGUES = (25, 30, 4) if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else (12, 12, 2)
DRAWS, OTHERS = 2, 4
SWAPS = (
    ("allroad-wired", "wexcombe-veil-420-100@handlebar"), ("city-rim", "tolverne-lantern-100@stem"),
    ("trail-hardtail", "wexcombe-hazel-309-350@seatpost"), ("tourer-cable", "brackwater-gully-4@front-caliper"),
    ("road-rim", "merrowby-beck-11-34-11@cassette"),
)  # fmt: skip
# Positions that most bikes leave empty: each of the standards, and some of those of which there may be several.
ROWS = [row for row in load_once().standards.positions.values() if not row.line]
SPACERS = [f"{row.id}-{number}" for row in ROWS if "spacer" in row.id for number in (1, 2, 3)]
EMPTY = frozenset([*(row.id for row in ROWS if not row.many), *SPACERS])

T = TypeVar("T")
Picked = Mapping[str, PartCandidate]
Lesson = Observation[PartCandidate]


@cache
def catalogue_no(number: int) -> Catalogue:
    """The bundled catalogue, or one of several that are twice as large and more."""
    return load_once() if number == 0 else generated_catalogue(2 * len(bundled_parts()) * number, number)


def searched(case: Case) -> PartSearch:
    """The search after two remedies, or after some vettings."""
    search = case.search(most=VETTINGS)
    try:
        for _ in zip(search, range(2), strict=False):
            pass
    except GaveUpError:
        pass
    return search


def of(search: PartSearch) -> PartsOracle:
    assert isinstance(search.oracle, PartsOracle)
    return search.oracle


class Sets:
    """Random sets of parts for the search's bike."""

    def __init__(self, search: PartSearch, random: Random) -> None:
        self.search, self.random = search, random
        bike = of(search).stock.start.bike
        self.filled = frozenset(spot.position for spot in bike.main_spots())
        self.positions = sorted({*(spot.position for spot in bike.main_spots()), *search.store.domains, *EMPTY})
        self._options: dict[str, Sequence[PartCandidate]] = {}

    def options(self, at: str) -> Sequence[PartCandidate]:
        """What may be there, what is there now first."""
        if at not in self._options:
            stock = of(self.search).stock
            self._options[at] = self.search.store.domains.get(at) or (() if stock.fixed(at) else stock.of(at))
        return self._options[at]

    def like(self, lesson: Lesson) -> dict[str, PartCandidate]:
        """A set that shows what a lesson rests on."""
        assert lesson.needs is not None
        now = {at: lesson.picked.get(at) or self.options(at)[0] for at in lesson.needs if self.options(at)}
        traits = {at: tuple(sorted(lesson.needs[at] | {KIND}, key=str)) for at in now}
        condition = frozenset(Literal(at, traits[at], option.values(at, traits[at])) for at, option in now.items())
        return self.meeting(condition, lesson.needs.keys())

    def meeting(self, condition: Cube, fixed: Collection[str] = ()) -> dict[str, PartCandidate]:
        """A set that meets a condition; anything may be exchanged where the condition says nothing."""
        picked = {}
        for at in sorted({literal.slot for literal in condition}):
            shown = [(literal.features, literal.values) for literal in condition if literal.slot == at]
            options = self.options(at)
            showing = [option for option in options if all(option.values(at, trait) == value for trait, value in shown)]
            picked[at] = self.random.choice(showing)
        others = [at for at in self.positions if at not in picked and at not in fixed and self.options(at)]
        for at in self.random.sample(others, min(len(others), self.random.randint(0, OTHERS))):
            picked[at] = self.random.choice(self.options(at))
        for at in sorted(set(others) & picked.keys()):  # the first numbers first
            if self.leaves_a_gap(at, picked):
                del picked[at]
        return {at: option for at, option in picked.items() if option.changed}

    def leaves_a_gap(self, at: str, picked: Picked) -> bool:
        """Is a place of many filled while the one before it is empty? The same parts without a gap are a set, too."""
        row, _, number = at.rpartition("-")
        before = f"{row}-{int(number) - 1}" if number.isdigit() and number != "1" else ""
        return bool(before) and before not in self.filled and (before not in picked or not picked[before].id)

    def tell(self, picked: Picked) -> dict[str, str]:
        """The set in words."""
        return {at: option.id or "left off" for at, option in picked.items()}


def conflicts_of(search: PartSearch) -> Iterator[tuple[str, Lesson]]:
    """What was learned from each thing that blocks, and the whole of what it rests on."""
    for lesson in search.store.conflicts:
        assert isinstance(lesson.conflict, FindingReason)
        yield f"learned from {lesson.conflict.finding.message}", lesson
    for assessed in search.assessed.values():
        gone: dict[str, Features] = {at: frozenset() for at, option in assessed.picked.items() if option.part is None}
        for reason in assessed.conflicts:
            assert isinstance(reason, FindingReason)
            needs = {**gone, **rests_on(reason.context, reason.finding)}
            yield f"seen in {reason.finding.message}", Lesson(needs, assessed.picked)


def hold_to_what_was_learned(search: PartSearch, random: Random) -> int:
    """How many sets were vetted."""
    sets, vetted = Sets(search, random), 0
    for what, lesson in some_of(conflicts_of(search), random):
        for _ in range(DRAWS):
            picked, vetted = sets.like(lesson), vetted + 1
            assert blocks(search, picked), f"{what}: not with {sets.tell(picked)}, as with {sets.tell(lesson.picked)}"
    joints = [nogood.body for nogood in search.store.nogoods() if isinstance(nogood.derivation, Given)]
    for condition in some_of(joints, random):
        picked, vetted = sets.meeting(condition), vetted + 1
        assert blocks(search, picked), f"{set(condition)} does with {sets.tell(picked)}"
    charges = [(unit, each) for unit, (_, lessons) in search.store.costs.items() for each in lessons if each.needs]
    for unit, lesson in some_of(charges, random):
        picked, vetted = sets.like(lesson), vetted + 1
        assert unit in units(search, picked) or has_no_way(search, picked, unit), (
            f"no {unit} with {sets.tell(picked)}, as with {sets.tell(lesson.picked)} by {lesson.needs}"
        )
    return vetted


def hold_to_what_was_vetted(search: PartSearch) -> None:
    """No set that the search vetted itself, the bare change first, is charged with work that it does not need."""
    for assessed in search.assessed.values():
        needed = units(search, assessed.picked)
        for unit in search.store.costs.keys() - needed:
            charged = search.store.is_charged(unit, assessed.picked)
            assert not charged or has_no_way(search, assessed.picked, unit), f"no {unit} with {set(assessed.picked)}"


def some_of(learned: Iterable[T], random: Random) -> list[T]:
    """At most so many as are tried after one search."""
    every = list(learned)
    return random.sample(every, min(TRIED, len(every)))


def blocks(search: PartSearch, picked: Picked) -> bool:
    return bool(of(search).vetted(picked).blocking)


def has_no_way(search: PartSearch, picked: Picked, unit: str) -> bool:
    """Is the work about a line that has no way, and blocks? What is learned of lines holds for those that have one."""
    line = unit.partition("@")[2]
    blocking = of(search).vetted(picked).blocking
    return any(finding.name == "line-has-no-way" and line in finding.positions for finding in blocking)


def units(search: PartSearch, picked: Picked) -> set[str]:
    return {cost.name for cost in of(search).assess(picked)[1]}


@FEW
@given(st.integers(0, 2**32 - 1))
def test_what_was_learned_holds_for_every_set_that_shows_the_same(seed: int) -> None:
    random = Random(seed)
    search = searched(blocked_case(random, catalogue_no(random.randrange(CATALOGUES))))
    hold_to_what_was_vetted(search)
    hold_to_what_was_learned(search, random)


@pytest.mark.parametrize(("name", "part"), SWAPS)
def test_so_it_does_for_usual_swaps(name: str, part: str) -> None:
    case = Case(Vetting(bike(name), load_once()), change(bike(name), part))
    search = searched(case)
    hold_to_what_was_vetted(search)
    assert hold_to_what_was_learned(search, Random(name))


def test_work_that_was_needed_before_is_charged_only_where_something_of_it_is_exchanged(tmp_path: Path) -> None:
    # The chain was too long before anything was asked for: it is shortened by who exchanges the cassette.
    long, usual = with_facts(bike("allroad-wired"), chain__links=126), load_once()
    own = usual.part(long["cassette"].part.id).model_dump(mode="json", by_alias=True, exclude_unset=True)
    twin = {**own, "id": "lindhowe-twin", "freehub": "stepped-threaded-long", "price_eur": 1.0, "offers": []}
    (tmp_path / "parts").mkdir()
    (tmp_path / "parts" / "twin.yaml").write_text(json.dumps({"parts": [twin]}), encoding="utf-8")
    asked = change(long, "quillbeck-moor-rear-stepped@rear-wheel")
    search = searched(Case(Vetting(long, load([tmp_path])), asked))
    work = {tuple(assessed.picked): units(search, assessed.picked) for assessed in search.assessed.values()}
    assert "shorten-chain@chain" not in work[()]
    assert "shorten-chain@chain" in work["cassette",]
    hold_to_what_was_vetted(search)
