"""Whatever somebody sees on a part of any kind is told at the level that the table has for it, or refused."""

from __future__ import annotations

from collections import Counter
from functools import cache
from itertools import product

import pytest

from buildcheck.fit.engine import run
from buildcheck.library.bikes import set_facts
from buildcheck.library.problems import InputError
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.levels import Level
from buildcheck.model.parts import PART_KINDS
from buildcheck.rules import RULES
from laws.bench import BIKES, NOTHING, bike, catalogue, context_of

STANDARDS = catalogue().standards
WORDS = [term.id for term in STANDARDS.vocabularies["condition"].terms]

@cache
def _with_kind(kind: str) -> tuple[Bike, str]:
    """A bundled bike with a part of this kind, and where it is; put there if no bike has one."""
    for of in map(bike, BIKES):
        for spot in of.main_spots():
            if spot.part.kind == kind:
                return of, spot.position
    position = next(row.id for row in STANDARDS.positions.values() if kind in row.kinds)
    part = next(catalogue().of_kinds([kind]))
    of = bike(BIKES[0])
    return of.with_fitted({**of.fitted, position: Fitted(position, position, part)}), position


def _findings(of: Bike) -> Counter[tuple[str, Level]]:
    return Counter((found.name, found.level) for found in run(context_of(of), RULES).findings)


@cache
def _findings_as_it_is(kind: str) -> Counter[tuple[str, Level]]:
    return _findings(_with_kind(kind)[0])


@pytest.mark.parametrize(("kind", "word"), list(product(PART_KINDS, WORDS)))
def test_each_word_is_told_of_each_kind_at_its_level(kind: str, word: str) -> None:
    plain, position = _with_kind(kind)
    seen = STANDARDS.kinds[kind].seen
    asked = [f"{position}.condition={word}"]
    if word in seen.no_sense:
        with pytest.raises(InputError, match=f"nobody can see {word!r} on a {kind}"):
            set_facts(plain, NOTHING, asked, catalogue())
        return
    new = _findings(set_facts(plain, NOTHING, asked, catalogue())) - _findings_as_it_is(kind)
    levels = {seen.levels[word]} | {Level.BLOCKS for row in seen.blocks_if if word in row.seen}
    assert len(new) == 1
    ((_, level),) = new
    assert level in levels
