"""Small cases are what they say: they block, all that can be chosen is there, and often there are several ways out."""

from __future__ import annotations

import os

from hypothesis import given, settings

from buildcheck.candidates.domains import ANOTHER_BIKE
from buildcheck.model.levels import Level
from buildcheck.vetting import Vetting
from laws.bench import findings_of
from small_cases import SmallCase, sets_of, small_case, small_cases

# Every set of a case is vetted: `make prove` looks at ten cases, every run at the four of them that are made soonest,
# with fewer sets.
PROVE = os.environ.get("HYPOTHESIS_PROFILE") == "prove"
SEEDS, MOST_SETS = (range(10), 100) if PROVE else (range(3, 7), 50)


def blocks(case: SmallCase) -> list[bool]:
    """Does the change block, and with each set of parts on top of it?"""
    bench = Vetting(case.bike, case.catalogue)
    return [any(f.level is Level.BLOCKS for f in bench._vet(change)[0].findings) for change in case.changes()]


def ways_out(case: SmallCase) -> list[frozenset[tuple[str | None, str]]]:
    """The sets after which nothing blocks and of which no part can be spared."""
    sets = [
        frozenset([*change.fit, *((None, at) for at in change.take_off)]).difference(case.change.fit)
        for change in case.changes()
    ]
    clear = [each for each, blocked in zip(sets, blocks(case), strict=True) if not blocked]
    return [each for each in clear if not any(other < each for other in clear)]


@settings(max_examples=max(4, settings.default.max_examples // 5))
@given(small_cases(positions=2, per_position=5, most_sets=60))
def test_a_small_case_is_whole(case: SmallCase) -> None:
    assert not any(finding.level is Level.BLOCKS for finding in findings_of(case.bike))
    assert next(case.changes()) == case.change
    assert len(list(case.changes())) == len(set(case.changes())) == sets_of(case.choices) <= 60
    assert any(f.level is Level.BLOCKS for f in Vetting(case.bike, case.catalogue).swap(case.change).findings)
    after = Vetting(case.bike, case.catalogue)._context(case.change).bike
    ((_, asked),) = case.change.fit
    for spot in after.main_spots():
        row = case.catalogue.standards.position(spot.position)
        assert row is not None
        ids = {part.id for part in case.catalogue.of_kinds(row.kinds)}
        options = set(case.choices.get(spot.position, ())) - {None}
        if spot.position == asked or row.way_rank >= ANOTHER_BIKE:
            assert not options
        else:
            assert options <= ids if row.keeps else options == ids


def test_the_seed_makes_the_case() -> None:
    one, two = small_case(4), small_case(4)
    assert (one.change, one.choices, one.catalogue._content) == (two.change, two.choices, two.catalogue._content)


def test_most_have_a_way_out_and_many_have_several() -> None:
    ways = [len(ways_out(small_case(seed, most_sets=MOST_SETS))) for seed in SEEDS]
    assert sum(count >= 1 for count in ways) >= len(SEEDS) / 2
    assert sum(count >= 2 for count in ways) >= len(SEEDS) / 5
