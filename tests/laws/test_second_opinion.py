"""Law: the joint rows, restated from their tables as a logic program, agree with the engine on generated bikes."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.change import apply_change
from buildcheck.fit.context import Context
from buildcheck.fit.engine import joint_findings
from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.quantities import Interval
from laws.bench import BIKES, bike, catalogue
from laws.second_opinion import Key, Opinion
from laws.strategies import (
    adapters,
    asks_for_no_position_twice,
    facts_in,
    joint_attributes,
    part_at,
    parts_for,
    pool_of,
    set_slots,
)

OPINION = Opinion()
_MOST_PARTS, _MOST_FACTS = 4, 12
# How far a measured size may lie beside one of the catalogue, in its own unit: about the tolerances of the rows.
_OFF = (0, 0, 0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.45, 0.5, 1, 2, 3, 10)


def engine(of: Bike) -> Counter[Key]:
    """What the engine finds at the joints of a bike of which nothing is inferred."""
    context = Context(View(of, catalogue().standards))
    return Counter((f.name, f.positions[0], f.positions[1], str(f.level)) for f in joint_findings(context))


def generated(name: str, seed: int) -> Bike:
    """A bundled bike with other parts and other facts at random positions."""
    chance = random.Random(f"{name} {seed}")
    of = bike(name)
    positions = sorted({*(spot.position for spot in of.main_spots()), *adapters()})
    chosen = chance.sample(positions, chance.randint(0, _MOST_PARTS))
    fits = tuple((chance.choice(adapters().get(at) or parts_for(at)), at) for at in chosen)
    if asks_for_no_position_twice(Change(fits)):
        of = apply_change(of, Change(fits), _look_up, catalogue().standards)
    slots = [
        (spot.position, path) for spot in of.main_spots() for path in facts_in(spot.part, nested=False)
        if path[0] in joint_attributes()
    ]  # fmt: skip
    some = chance.sample(slots, min(len(slots), chance.randint(0, _MOST_FACTS)))
    return set_slots(of, {slot: _value(chance, pool_of(part_at(of, slot[0]), slot[1])) for slot in some})


def _value(chance: random.Random, pool: tuple[Any, ...]) -> Any:
    """Nothing known, or a value of the catalogue; a size also beside one, or only known as lying between two."""
    value = chance.choice(pool)
    if chance.random() < 0.3:
        return None
    if not isinstance(value, Interval):
        return value
    low = round(max(0.0, value.low + chance.choice((-1, 1)) * chance.choice(_OFF)), 4)
    high = round(max(low, value.high) + chance.choice(_OFF), 4) if chance.random() < 0.3 else low
    return Interval(low, high)


def _look_up(part_id: str) -> Any:
    return catalogue().part(part_id), catalogue().where(part_id)


def test_it_agrees_on_the_bundled_bikes() -> None:
    bikes = [bike(name) for name in BIKES]
    assert OPINION.of(bikes) == [engine(of) for of in bikes]


@given(seed=st.integers(0, 2**32 - 1))
def test_it_agrees_on_generated_bikes(seed: int) -> None:
    bikes = [generated(name, seed) for name in BIKES]
    for name, told, found in zip(BIKES, OPINION.of(bikes), map(engine, bikes), strict=True):
        assert told == found, f"generated({name!r}, {seed})"


def test_the_generated_bikes_have_every_answer() -> None:
    bikes = [generated(name, seed) for name in BIKES for seed in range(20)]
    told: Counter[Key] = sum(OPINION.of(bikes), Counter())
    assert {level for *_, level in told} >= {"blocks", "unknown", "extra", "caution"}
    assert {"holds", "fails", "unknown"} <= set(OPINION.known.values())
    names = {name for name, *_ in told}
    assert len(names) > len({row.name for row in catalogue().standards.joints}) / 2, "most rows have their turn"


@pytest.mark.parametrize(("value", "other"), [("cable-a-9", "friction"), ("friction", "cable-a-9")])
def test_it_knows_that_pairs_are_one_way(value: str, other: str) -> None:
    of = bike("tourer-cable")
    changed = set_slots(of, {
        ("lever-right", ("shift_system",)): value, ("rear-derailleur", ("shift_system",)): other,
    })  # fmt: skip
    (told,) = OPINION.of([changed])
    assert any(name == "shift-system-mismatch" for name, *_ in told) is (other == "friction")


def test_it_knows_that_a_row_may_not_be_about_a_part() -> None:
    of = bike("tourer-cable")
    changed = set_slots(of, {("lever-right", ("shift_system",)): None, ("lever-right", ("speeds",)): Interval(7, 7)})
    (told,) = OPINION.of([changed])
    assert told == engine(changed)
    assert ("shifter-clicks-too-few", "lever-right", "cassette", "unknown") in told
