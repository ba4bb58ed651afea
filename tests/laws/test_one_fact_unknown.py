"""Laws 1 and 2 swept through: each fact of each bundled bike unknown by itself, then every value the catalogue has.

A verdict that fits without the fact must fit with every value that the parts fitted now do not rule out.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from laws.bench import BIKES, bike, catalogue, known_all_the_same, verdict

# The sweep over all bikes takes minutes; `make prove` does it all, every run one of them with each other fact
# and some values of it.
PROVE = os.environ.get("HYPOTHESIS_PROFILE") == "prove"
SWEPT = BIKES if PROVE else ("city-rim",)
EACH = 1 if PROVE else 2
MOST_VALUES = 4  # our choice: spread over all there are, the first and the last among them
# Names and prices decide nothing; lists have laws of their own (test_unknown_ways.py); what the code of a headset
# says is read off its neighbours under other names (seat, fits_mm), so that a filling could contradict them.
NOT_SWEPT = {
    "kind", "id", "maker", "name", "price_eur", "weight_g", "offers", "note", "size_name", "passages", "places",
    "mounts", "ports", "power", "charge_port", "half", "code", "interface",
}  # fmt: skip


@cache
def values(record: type[Part], name: str) -> list[Any]:
    """What the catalogue's parts of one kind have there; for numbers also some beyond them."""
    found = {repr(value): value for part in parts(record) if (value := getattr(part, name)) is not None}
    numbers = [value for value in found.values() if isinstance(value, Interval)]
    if numbers:
        low, high = min(value.low for value in numbers), max(value.high for value in numbers)
        found |= {f"beyond {x}": Interval(x, x) for x in (0.0, low * 0.5, low * 0.9, high * 1.1, high * 2) if x >= 0}
    every = list(found.values())
    if PROVE or len(every) <= MOST_VALUES:
        return every
    return [every[at * (len(every) - 1) // (MOST_VALUES - 1)] for at in range(MOST_VALUES)]


def parts(record: type[Part]) -> Iterator[Part]:
    return (part for part in map(catalogue().part, catalogue().ids) if type(part) is record)


def with_value(of: Bike, spot: Fitted, name: str, value: Any) -> Bike:
    part = spot.part.model_copy(update={name: value})
    homes = {key: replace(old, part=part) if old.home == spot.home else old for key, old in of.fitted.items()}
    return of.with_fitted(homes)


@pytest.mark.parametrize("name", SWEPT)
def test_what_fits_without_a_fact_fits_with_every_value_of_it(name: str) -> None:
    of = bike(name)
    swept = 0
    for spot in of.main_spots():
        for attribute in sorted(fields_of(type(spot.part)).keys() - NOT_SWEPT)[::EACH]:
            unknown = with_value(of, spot, attribute, None)
            if (spot.position, attribute) in known_all_the_same(unknown) or not verdict(unknown).startswith("fits"):
                continue
            swept += 1
            for value in values(type(spot.part), attribute):
                told = verdict(with_value(of, spot, attribute, value))
                assert told.startswith("fits"), (spot.position, attribute, value)
    assert swept > 50
