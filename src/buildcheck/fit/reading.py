"""Facts read off the records of parts: which attributes a kind has, their units, what stands there."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from buildcheck.fit.facts import Fact
from buildcheck.fit.patterns import is_of
from buildcheck.model.bikes import PRESENCE, Bike, Fitted
from buildcheck.model.constraints import surely
from buildcheck.model.levels import Origin
from buildcheck.model.parts import Part
from buildcheck.model.parts.base import is_list_of_words
from buildcheck.model.quantities import Interval, Unit
from buildcheck.model.sentences import shown
from buildcheck.model.standards import Standards


def matches(part: Part, where: Mapping[str, str]) -> bool:
    """Has a part all these attributes, each matching one of its patterns (`*` stands for anything, `|` parts them)?"""
    return all(
        has_attribute(type(part), name)
        and any(is_of(shown(getattr(part, name)), pattern) for pattern in patterns.split("|"))
        for name, patterns in where.items()
    )


_UNITS: dict[tuple[type, str], str] = {}


def unit_of(record: type, attribute: str) -> str:
    """The unit of an attribute, from the record's own field; empty for words."""
    key = (record, attribute)
    if key not in _UNITS:
        field = record.model_fields.get(attribute)  # type: ignore[attr-defined]
        marks = field.metadata if field is not None else []
        _UNITS[key] = next(
            (mark.name for mark in marks if isinstance(mark, Unit)), "mm" if attribute.endswith("_mm") else ""
        )
    return _UNITS[key]


def least_of(record: type, attribute: str) -> float:
    """The least that a size of an attribute can be: 0 for most, less where it may be negative."""
    marks = record.model_fields[attribute].metadata  # type: ignore[attr-defined]
    return next((mark.minimum for mark in marks if isinstance(mark, Unit)), 0.0)


@cache
def attributes_of(record: type) -> frozenset[str]:
    """What a part of this kind has: its fields, and what is worked out from them."""
    every = (pair for base in record.__mro__ for pair in vars(base).items())
    worked_out = (name for name, value in every if isinstance(value, property))
    return frozenset((*record.model_fields, *worked_out))  # type: ignore[attr-defined]


def has_attribute(record: type, attribute: str) -> bool:
    """Does a part of this kind have such an attribute at all?"""
    return attribute in attributes_of(record)


def read_fact(spot: Fitted, attribute: str) -> Fact:
    """The fact as the bike's record or the catalogue has it; unknown for a kind without such an attribute."""
    fact: Fact | None = spot.kept.get(attribute)
    if fact is None:
        fact = spot.kept[attribute] = _read_anew(spot, attribute)
    return fact


def _read_anew(spot: Fitted, attribute: str) -> Fact:
    origin = Origin.MEASURED if attribute in spot.measured else Origin.STATED
    where = spot.written_at(attribute)
    record = type(spot.part)
    return Fact(spot.home, attribute, getattr(spot.part, attribute, None), unit_of(record, attribute), origin, where)


def presence_fact(bike: Bike, position: str) -> Fact:
    """That nobody knows whether anything is at a position, or of which kind it is."""
    spot = bike.get(position)
    where = spot.written_at("") if spot is not None else ""
    return Fact(position, PRESENCE, None, "", Origin.STATED, where)


def told_by_itself(spot: Fitted, attribute: str, standards: Standards) -> Fact | None:
    """What a record does not say, and what the rest of it leaves no choice of: a cable brake holds no fluid."""
    key = f"told by itself: {attribute}"
    if key not in spot.kept:
        spot.kept[key] = _tell_by_itself(spot, attribute, standards)
    found: Fact | None = spot.kept[key]
    return found


def _tell_by_itself(spot: Fitted, attribute: str, standards: Standards) -> Fact | None:
    if spot.part.kind == "accessory" and attribute == "use":
        return _told_by_its_name(spot, standards)
    for row in standards.implications.get((spot.part.kind, attribute), ()):
        facts = tuple(read_fact(spot, name) for name in row.when)
        if all(surely(fact.held, row.when[fact.attribute]) for fact in facts):
            unit, where = unit_of(type(spot.part), attribute), facts[0].where
            value = _of_its_type(type(spot.part), attribute, row.word)
            return Fact(spot.home, attribute, value, unit, Origin.INFERRED, where, facts)
    return None


def _told_by_its_name(spot: Fitted, standards: Standards) -> Fact | None:
    """What a thing is for that the bike's file calls accessory-bell or accessory-bag-rack-2."""
    called = spot.home.partition("-")[2].rstrip("0123456789").rstrip("-")
    words = {term.id for term in standards.vocabularies["accessory-use"].terms}
    return Fact(spot.home, "use", called, "", Origin.INFERRED, spot.home) if called in words else None


def _of_its_type(record: type[Part], attribute: str, word: str) -> Interval | str | tuple[str, ...]:
    if unit_of(record, attribute):
        return Interval(float(word), float(word))
    return (word,) if is_list_of_words(record, attribute) else word
