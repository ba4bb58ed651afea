"""Catalogues of any size: the bundled one and invented parts beside it, for tests and benchmarks.

Our choice, after how the trade is: most products are an older product under another name at another price, and the
others come in the sizes that everybody makes. So each bundled part has a dozen designs beside it, the plain copy and
eleven that differ in one to three facts, the first of them the most frequent. However large a catalogue, it
holds no more than twelve designs for each bundled part; what grows is the number of parts of one design.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import cache
from random import Random
from typing import Any

from hypothesis import strategies as st

from buildcheck.library.alike import best_price_eur
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.rebuild import rebuilt
from buildcheck.library.records import fields_of
from buildcheck.model.blind import unseen
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.quantities import Unit, Vocabulary, _FlagField

Data = Mapping[str, Any]

DESIGNS = 12  # of each bundled part; the first is the part itself
MOST_FACTS = 3  # in which a design differs
SHARE_LEFT_OUT = 0.05  # of these facts: nobody states them any more
SHARE_WITHOUT_PRICE = 0.05
SHARE_WITH_OFFERS = 0.2
SUPPLIERS = ("Northgate Parts", "Lowfield Trade")

# What a thing is; a part of another sort is no variant of it.
_SORT = ("kind", "half", "interface", "use", "brake_type")
# Sizes step as they do at the counter (our choice): a few mm, wide ones by 10, two teeth, one of the rest.
_STEPS: dict[str, Callable[[float], float]] = {
    "mm": lambda value: 10.0 if value >= 60 else 1.0 if value >= 10 else 0.5,
    "teeth": lambda value: 2.0,
    "to 1": lambda value: 0.1,
}
# Facts that say one thing together: another design takes them from one bundled part.
_TOGETHER = (
    {"sprockets", "speeds", "smallest_teeth", "largest_teeth"},
    {"rings", "ring_spacing_mm", "largest_ring_teeth", "smallest_ring_teeth"},
    {"hub_shift_system", "gear_ratios"},
    {"hub_brake", "hub_brake_pull"},
    {"brake", "cable_pull", "brake_cable_head", "fluid", "hose_system", "piston_mm", "straddles"},
    {"wheelbase_mm", "front_centre_mm", "chainstay_length_mm", "head_angle_deg",
     "fork_length_mm", "fork_length_max_mm", "fork_offset_mm"},
)  # fmt: skip


def generated_catalogue(parts: int, seed: int) -> Catalogue:
    """The bundled catalogue with generated parts, so many in all; the same seed makes the same parts."""
    bundled = bundled_parts()
    random, templates = Random(seed), sorted(bundled)
    made = []
    for _ in range(parts - len(bundled)):
        # The least of two draws: the first designs are the most frequent.
        number = min(random.randrange(DESIGNS), random.randrange(DESIGNS))
        made.append(design(random.choice(templates), number))
    return catalogue_of({**_content()["parts"], **entries(made, random)})


def catalogues(most: int) -> st.SearchStrategy[Catalogue]:
    """Generated catalogues with at most so many parts in all."""
    return st.builds(generated_catalogue, st.integers(len(bundled_parts()), most), st.integers(0, 2**32 - 1))


def catalogue_of(parts: Mapping[str, Any]) -> Catalogue:
    """A catalogue of these entries, under the bundled standards."""
    made = Catalogue({**_content(), "parts": parts})
    made.standards = load_once().standards
    return made


def entries(made: list[dict[str, Any]], random: Random) -> dict[str, Any]:
    """The entries of a catalogue for these facts, each with a name and prices of its own."""
    found = {}
    makers = sorted({data["maker"] for data in bundled_parts().values()})
    for line, facts in enumerate(made, 1):
        maker, part_id = random.choice(makers), f"generated-{line}"
        own = {"id": part_id, "maker": maker, "name": f"{maker} {facts['kind']} {line}", **_prices(facts, random)}
        found[part_id] = {"data": {**facts, **own}, "file": "generated", "lines": {"": line}}
    return found


def _prices(facts: Data, random: Random) -> dict[str, Any]:
    """Half to twice the price of the part that it is a design of, in cents; what it weighs and who offers it."""
    usual = facts["price_eur"]
    weight = {"weight_g": round(facts["weight_g"] * random.uniform(0.8, 1.2))} if "weight_g" in facts else {}
    if usual is None or random.random() < SHARE_WITHOUT_PRICE:
        return {**weight, "price_eur": None}
    price = round(usual * random.uniform(0.5, 2.0), 2)
    if random.random() >= SHARE_WITH_OFFERS:
        return {**weight, "price_eur": price}
    offers = [
        {
            "supplier": supplier, "price_eur": round(price * random.uniform(0.8, 1.1), 2),
            "in_stock": random.randrange(9), "lead_days": random.randrange(1, 15),
        }
        for supplier in SUPPLIERS[: random.randint(1, len(SUPPLIERS))]
    ]  # fmt: skip
    return {**weight, "price_eur": random.choice([price, price, None]), "offers": offers}


@cache
def design(part_id: str, number: int) -> dict[str, Any]:
    """The facts of one design of a bundled part, with that part's own price; 0 is the part itself."""
    data = dict(bundled_parts()[part_id])
    data["price_eur"] = best_price_eur(data)
    data.pop("offers", None)
    random = Random(f"{part_id} {number}")
    for _ in range(random.randint(1, MOST_FACTS) if number else 0):
        names = [name for name in data if name in _facts(data["kind"])]
        if names:
            other = dict(data)
            _vary(other, random.choice(sorted(names)), random)
            if _hangs_together(other):
                data = other
    return data


def _hangs_together(data: Data) -> bool:
    """Would a file with this part be taken, as one whose facts do not contradict each other?"""
    part = rebuilt(PART_KINDS[data["kind"]], data)
    return next(load_once().constraints.broken_by(part), None) is None


def _vary(data: dict[str, Any], name: str, random: Random) -> None:
    """Another value for one fact, or for those that go with it."""
    together = sorted(_tied(data["kind"], name))
    if len(together) > 1:
        donors = [other for other in _of_sort(_sort(data)) if name in other]
        donor = random.choice(donors)
        for each in together:
            data.pop(each, None)
        data.update({each: donor[each] for each in together if each in donor})
    elif random.random() < SHARE_LEFT_OUT:
        del data[name]
    else:
        data[name] = random.choice(_values(_sort(data), name))


@cache
def _values(sort: tuple[str, ...], name: str) -> tuple[Any, ...]:
    """What a fact may be: all that it is in the bundled parts, the words of its vocabulary, the next sizes."""
    field = fields_of(PART_KINDS[sort[0]])[name]
    found = {repr(data[name]): data[name] for data in _of_sort(sort) if name in data}
    more: list[Any] = []
    for mark in field.metadata:
        if isinstance(mark, Vocabulary) and mark.name != "any":
            words = [term.id for term in load_once().standards.vocabularies[mark.name].terms]
            more += [[word] for word in words] if mark.many else words
        elif isinstance(mark, Unit):
            more += [size for value in found.values() for size in _next_sizes(value, mark)]
        elif isinstance(mark, _FlagField):
            more += [False, True]
    found |= {repr(value): value for value in more}
    return tuple(value for _, value in sorted(found.items()))


def _next_sizes(value: Any, unit: Unit) -> list[float]:
    if not isinstance(value, float) or value == 0.0:  # 0 says that it has none
        return []
    step = _STEPS.get(unit.name, lambda _: 1.0)(abs(value))
    return [size for size in (round(value - step, 3), round(value + step, 3)) if size > 0 and size >= unit.minimum]


@cache
def _facts(kind: str) -> frozenset[str]:
    """What a design may change: the facts that are neither the sort of the thing nor needed to be one."""
    fields = fields_of(PART_KINDS[kind])
    return frozenset(name for name, field in fields.items() if not field.is_required()) - {*unseen(kind), *_SORT}


@cache
def _tied(kind: str, name: str) -> frozenset[str]:
    """The facts that go with this one: a least and a most, or one of those that say one thing together."""
    fields = PART_KINDS[kind].model_fields
    for group in _TOGETHER:
        if name in group:
            return frozenset(group & fields.keys())
    return frozenset(other for other in fields if _stem(other) == _stem(name))


def _stem(name: str) -> str:
    return "_".join(word for word in name.split("_") if word not in ("min", "max"))


def _sort(data: Data) -> tuple[str, ...]:
    return tuple(str(data.get(name, "")) for name in _SORT)


@cache
def _of_sort(sort: tuple[str, ...]) -> tuple[Data, ...]:
    return tuple(data for _, data in sorted(bundled_parts().items()) if _sort(data) == sort)


@cache
def bundled_parts() -> Mapping[str, Data]:
    """The data of the bundled parts, by id."""
    return {part_id: entry["data"] for part_id, entry in _content()["parts"].items()}


@cache
def load_once() -> Catalogue:
    """The bundled catalogue."""
    return load()


def _content() -> dict[str, Any]:
    return load_once()._content
