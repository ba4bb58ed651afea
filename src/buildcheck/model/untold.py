"""Parts that are there and have no record: of a kind, and nobody knows more of them than was measured."""

from __future__ import annotations

from functools import cache
from typing import Any, TypeVar

from buildcheck.model.parts import PART_KINDS
from buildcheck.model.parts.base import UNTOLD, Part

P = TypeVar("P", bound=Part)

# What the name of a position tells of a part there.
_BY_POSITION = {"headset-upper": {"half": "upper"}, "headset-lower": {"half": "lower"}}


@cache
def part_of_kind(kind: str, position: str = "") -> Part:
    """A part of a kind of which nothing is known. Raises KeyError for a word that is no kind."""
    said = {"kind": kind, "id": f"{UNTOLD}{kind}", "maker": "", "name": "not on record"}
    said |= _BY_POSITION.get(position, {})
    return with_unknowns(PART_KINDS[kind].model_construct(set(said), **said), frozenset(said))


def with_unknowns(part: P, known: frozenset[str]) -> P:
    """A part without a record in which nothing holds only because a record that does not say it means it."""
    assumed: dict[str, Any] = {name: None for name in _not_to_assume(type(part)) if name not in known}
    copy = part.model_copy(update=assumed)
    copy.__pydantic_fields_set__.difference_update(assumed)
    return copy


@cache
def _not_to_assume(record: type[Part]) -> tuple[str, ...]:
    """The attributes that a record must say, or has the usual of where it says nothing."""
    said = ("kind", "id", "maker", "name")
    fields = ((name, field) for name, field in record.model_fields.items() if name not in said)
    return tuple(name for name, field in fields if field.is_required() or field.default not in (None, ()))
