"""Groups of parts that no rule can tell apart, held against the records themselves."""

from __future__ import annotations

import random
from collections.abc import Iterable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library import catalogue as module
from buildcheck.library.alike import Group, best_price_eur
from buildcheck.library.catalogue import Catalogue
from buildcheck.model.blind import unseen
from buildcheck.model.parts import PART_KINDS, Part, Record
from generated import bundled_parts, catalogue_of, catalogues

CATALOGUES = catalogues(most=2 * len(bundled_parts()))
KINDS = st.sets(st.sampled_from(sorted(PART_KINDS)), min_size=1, max_size=4)


def seen(part: Part) -> dict[str, Any]:
    """What a rule can see of a record; in the records inside it also which sizes are written at all."""
    return {name: _inside(getattr(part, name)) for name in type(part).model_fields if name not in unseen(part.kind)}


def _inside(value: Any) -> Any:
    if isinstance(value, Record):
        return {name: _inside(getattr(value, name)) for name in value.model_fields_set}
    return [_inside(item) for item in value] if isinstance(value, tuple) else value


def ids_of(groups: Iterable[Group]) -> list[str]:
    return [part_id for group in groups for part_id in group.ids]


def price_rank(part: Part) -> tuple[bool, float, str]:
    price = part.best_price_eur()
    return price is None, price or 0.0, part.id


def stems(*more: dict[str, Any]) -> Catalogue:
    """Stems with one fact each beside their names, as `a`, `b` and so on."""
    rows = {
        part_id: {"kind": "stem", "id": part_id, "maker": "Nobody", "name": "A stem", **facts}
        for part_id, facts in zip("abcdef", more, strict=False)
    }
    return catalogue_of({part_id: {"data": data, "file": "f", "lines": {"": 1}} for part_id, data in rows.items()})


# ---- laws ----


@given(CATALOGUES, KINDS)
def test_groups_share_out_the_parts_of_the_kinds(made: Catalogue, kinds: set[str]) -> None:
    groups = made.groups(kinds)
    assert sorted(ids_of(groups)) == [part.id for part in made.of_kinds(kinds)]
    assert all(group.kind == made.kind_of(part_id) for group in groups for part_id in group.ids)


@given(CATALOGUES, KINDS)
def test_parts_are_in_one_group_if_and_only_if_no_rule_can_tell_them_apart(made: Catalogue, kinds: set[str]) -> None:
    groups = made.groups(kinds)
    for group in groups:
        first, *others = (seen(made.part(part_id)) for part_id in group.ids)
        assert all(other == first for other in others)
    faces = [seen(made.part(group.ids[0])) for group in groups]
    assert all(one != other for at, one in enumerate(faces) for other in faces[:at])


@given(CATALOGUES, KINDS)
def test_the_cheapest_part_and_the_cheapest_group_come_first(made: Catalogue, kinds: set[str]) -> None:
    groups = made.groups(kinds)
    for group in groups:
        ranks = [price_rank(made.part(part_id)) for part_id in group.ids]
        assert ranks == sorted(ranks)
        assert group.price_eur == made.part(group.ids[0]).best_price_eur()
    firsts = [price_rank(made.part(group.ids[0])) for group in groups]
    assert firsts == sorted(firsts) == [group.rank for group in groups]


@given(CATALOGUES, KINDS, st.builds(random.Random, st.integers(0, 2**32 - 1)))
def test_neither_the_order_of_parts_nor_that_of_their_keys_matters(
    made: Catalogue, kinds: set[str], order: random.Random
) -> None:
    def shuffled(value: Any) -> Any:
        if isinstance(value, dict):
            return {name: shuffled(value[name]) for name in order.sample(sorted(value), len(value))}
        return [shuffled(item) for item in value] if isinstance(value, list) else value

    again = catalogue_of(shuffled(made._content["parts"]))
    assert again.groups(kinds) == made.groups(order.sample(sorted(kinds), len(kinds)))
    assert list(again.of_kinds(kinds)) == list(made.of_kinds(kinds))


@given(CATALOGUES)
def test_a_price_is_that_of_the_record(made: Catalogue) -> None:
    for part_id in made.ids:
        assert best_price_eur(made._content["parts"][part_id]["data"]) == made.part(part_id).best_price_eur()


# ---- examples ----


def test_a_fact_left_out_is_one_written_as_unknown_or_with_its_default() -> None:
    made = stems({}, {"length_mm": None, "places": [], "charge_port": False, "weight_g": 120.0}, {"passages": []})
    assert [group.ids for group in made.groups(["stem"])] == [("a", "b"), ("c",)]


@pytest.mark.parametrize(
    ("table", "row", "size"),
    [
        ("mounts", {"type": "clamp.tube"}, "width_mm"),
        ("places", {"id": "top", "type": "clamp.tube"}, "width_mm"),
        ("passages", {"id": "top", "start": "a", "end": "b", "bore": {"shape": "open"}}, "steering_slack_mm"),
    ],
)
def test_inside_a_part_a_size_left_out_is_not_one_that_is_unknown(table: str, row: dict[str, Any], size: str) -> None:
    """Left out it sets no limit; written as unknown it may be any."""
    made = stems({table: [row]}, {table: [{**row, size: None}]}, {table: [row]})
    assert [group.ids for group in made.groups(["stem"])] == [("a", "c"), ("b",)]


def test_the_price_that_counts_is_the_best_offer() -> None:
    offers = [{"supplier": "Northgate Parts", "price_eur": price} for price in (30.0, 7.5)]
    made = stems({"price_eur": None}, {"price_eur": 8.0}, {"price_eur": 9.0, "offers": offers}, {"price_eur": 0.0})
    assert made.groups(["stem"]) == (Group("stem", ("d", "c", "b", "a"), 0.0),)


def test_no_record_is_made_for_groups(monkeypatch: pytest.MonkeyPatch) -> None:
    made = stems({"length_mm": 90.0}, {"length_mm": 100.0})
    monkeypatch.setattr(module, "rebuilt", None)
    assert len(made.groups(["stem", "bar-stem"])) == 2
    assert made.groups([]) == made.groups(["bar-stem"]) == ()
    assert made.groups(["stem"]) is made.groups({"stem"})
