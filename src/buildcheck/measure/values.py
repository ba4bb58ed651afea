"""How a fact is measured, and which values it can have."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import isfinite
from typing import Any

from buildcheck.fit.view import View
from buildcheck.model.findings import Evidence
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval, Unit, Vocabulary, is_flag
from buildcheck.model.slots import LISTS, paths_of, value_at
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Measurement

ANY_ATTRIBUTE = "*"
# Into how many sizes a range is cut: our choice.
_SIZES_OF_A_RANGE = 8
# Lists that say nothing where they are empty: nobody wrote down how the part is mounted, or its sockets.
_NOT_KNOWN_IF_EMPTY = ("mounts", "ports")


def how_to_measure(view: View, position: str, attribute: str) -> Measurement:
    """The standards' row for an attribute of the part in a position, or the row for any attribute."""
    spot = view.bike.get(position)
    return row_for(view.standards, spot.part.kind if spot is not None else "", attribute)


def row_for(standards: Standards, kind: str, attribute: str) -> Measurement:
    """The row for an attribute of a kind of part. A size inside a list of the part is named by its last word."""
    table, dot, _ = attribute.partition(".")
    last = attribute.rpartition(".")[2]
    names = (f"{table}.{last}", last, ANY_ATTRIBUTE) if dot and table in LISTS else (attribute, ANY_ATTRIBUTE)
    for name in names:
        for row in standards.measurements:
            if row.attribute == name and (not row.kinds or kind in row.kinds):
                return row
    return Measurement(
        attribute=attribute,
        how="Look it up in the maker's papers, or measure it on the part.",
        minutes=5.0,
        source="our choice",
    )


def possible_values(
    standards: Standards, part: Part, attribute: str, known: Evidence | None, alike: Iterable[Part]
) -> list[Any]:
    """The values that a fact can have, each as likely as the others (our choice).

    The words of its vocabulary; the sizes that are usual, or else those that the parts alike have; where limits are
    known, those between them, or else sizes spread evenly between them. What has neither words nor a size, such as
    the list of ways through a part, can be what it is on the parts alike.
    """
    paths = paths_of(part, attribute)
    if not paths:
        return []
    owner, name = value_at(part, paths[0][:-1]), str(paths[0][-1])
    marks = type(owner).model_fields[name].metadata
    unit = next((mark for mark in marks if isinstance(mark, Unit)), None)
    if unit is not None:
        usual = [size for size in row_for(standards, part.kind, attribute).usual if size is not None]
        sizes = sorted({size for item in usual or _had_by(alike, type(owner), name) for size in _spread(item)})
        return [Interval(size, size) for size in _within(sizes, known)]
    words = next((mark for mark in marks if isinstance(mark, Vocabulary)), None)
    if words is not None and words.name != "any":
        every = _words(standards, words.name)
        return [(word,) for word in every] if words.many else every
    if is_flag(marks):
        return [True, False]
    return _had_by(alike, type(owner), name)


def _words(standards: Standards, vocabulary: str) -> list[str]:
    if vocabulary == "interface":
        return list(standards.interfaces)
    return [term.id for term in standards.vocabularies[vocabulary].terms]


def _had_by(alike: Iterable[Part], record: type, name: str) -> list[Any]:
    """Every value that these parts have, in a fixed order."""
    found: dict[str, Any] = {}
    for part in alike:
        for row in records_of(part):
            value = getattr(row, name) if type(row) is record else None
            if value is not None and (value or name not in _NOT_KNOWN_IF_EMPTY):
                found.setdefault(repr(value), value)
    return [value for _, value in sorted(found.items())]


def records_of(part: Part) -> Iterator[Any]:
    """The record of a part, and those inside it that hold facts of their own."""
    yield part
    for table in LISTS:
        for row in getattr(part, table) or ():
            yield row
            yield getattr(row, "bore", None)


def _spread(size: Interval) -> list[float]:
    """Sizes that stand for a range, both ends among them."""
    if size.low == size.high:
        return [size.low]
    step = (size.high - size.low) / (_SIZES_OF_A_RANGE - 1)
    return [round(size.low + step * index, 3) for index in range(_SIZES_OF_A_RANGE)]


def _within(sizes: list[float], known: Evidence | None) -> list[float]:
    limits = known.fact if known is not None else None
    if not isinstance(limits, Interval):
        return sizes
    inside = [size for size in sizes if limits.low <= size <= limits.high]
    bounded = isfinite(limits.low) and isfinite(limits.high)
    return inside if len(inside) > 1 or not bounded else _spread(limits)


def thinned(values: list[Any], most: int) -> list[Any]:
    """No more than so many of the values, evenly from first to last."""
    if len(values) <= most:
        return values
    return [values[round(index * (len(values) - 1) / (most - 1))] for index in range(most)]
