"""Facts read off the records of parts: which attributes a kind has, their units, what stands there."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache

from buildcheck.fit.facts import Fact
from buildcheck.fit.patterns import is_of
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Unit
from buildcheck.model.sentences import shown


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
