"""Records from data that was validated before: quick, because nothing is checked a second time.

Building pydantic's validators for every part kind takes longer than a whole vetting. What the catalogue's
cache holds went through them when the cache was written, so here the values are only put back in shape.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any, TypeVar

from buildcheck.library.records import fields_of, nested_record
from buildcheck.model.parts import Record
from buildcheck.model.quantities import LARGEST, Interval, Unit, parse_interval

R = TypeVar("R", bound=Record)


def rebuilt(record: type[R], data: Mapping[str, Any]) -> R:
    """A record from its own `model_dump(mode="json")`, without validation."""
    units = _units(record)
    values = {name: _value(record, name, value, units) for name, value in data.items()}
    return record.model_construct(set(data), **values)


def _value(record: type[Record], name: str, value: Any, units: Mapping[str, Unit]) -> Any:
    if name in units:
        return _interval(value, units[name])
    if isinstance(value, dict):
        return rebuilt(_nested(record, name), value)
    if isinstance(value, list):
        return tuple(rebuilt(_nested(record, name), item) if isinstance(item, dict) else item for item in value)
    return value


def _interval(value: Any, unit: Unit) -> Interval | None:
    if isinstance(value, (int, float)):
        return Interval(float(value), float(value))
    return parse_interval(value, unit.minimum, unit.name)


@cache
def _units(record: type[Record]) -> Mapping[str, Unit]:
    """The fields of a record that are numbers with a unit."""
    found = {}
    for name, field in record.model_fields.items():
        for mark in field.metadata:
            if isinstance(mark, Unit):
                found[name] = mark
    return found


@cache
def _nested(record: type[Record], name: str) -> type[Record]:
    nested = nested_record(fields_of(record)[name])
    if nested is None:
        raise TypeError(f"{record.__name__}.{name} holds no record")
    return nested


def with_numbers(part: R, facts: Mapping[str, Any]) -> R | None:
    """The part with other numbers, or None where a fact is not a plain good number and wants the full check."""
    units = _units(type(part))
    values: dict[str, Any] = {}
    for name, raw in facts.items():
        if name not in units or isinstance(raw, bool) or not isinstance(raw, (int, float)):
            return None
        if not units[name].minimum <= raw <= LARGEST:
            return None
        values[name] = Interval(float(raw), float(raw))
    return part.model_copy(update=values)
