"""Where a fact of a part stands in its record, by the name that findings, `--set` and the list of measurements use.

`steerer_length_mm` is an attribute, `passages.port.bore.diameter_mm` a size of the bore of one way through the part,
`places.bar-left.width_mm` one of a place on it, `mounts.clamp.round.width_mm` one of a way to mount it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import reduce
from typing import Any, TypeVar, cast

from buildcheck.model.parts.base import Part, Record

P = TypeVar("P", bound=Part)
Path = tuple[str | int, ...]

# The lists of a part, and what tells their rows apart.
LISTS: Mapping[str, str] = {"passages": "id", "places": "id", "mounts": "type"}
# What is worked out from another attribute cannot be told by itself.
READ_FROM: Mapping[str, str] = {"seat": "code", "fits_mm": "code", "plugs": "ports"}


def name_to_tell(part: Part, attribute: str) -> str:
    """The attribute to tell so that this one is known."""
    return attribute if attribute in type(part).model_fields else READ_FROM.get(attribute, attribute)


def paths_of(part: Part, attribute: str) -> list[Path]:
    """Where an attribute stands; twice for a size of two mounts of one type, nowhere if the part has no such thing."""
    table, dot, rest = attribute.partition(".")
    if not dot:
        return [(attribute,)] if attribute in type(part).model_fields else []
    return list(_inside(part, table, rest)) if table in LISTS else []


def _inside(part: Part, table: str, rest: str) -> Iterator[Path]:
    for index, row in enumerate(getattr(part, table) or ()):
        name = f"{getattr(row, LISTS[table])}."
        steps = rest.removeprefix(name).split(".")
        if rest.startswith(name) and _has(row, steps):
            yield table, index, *steps


def _has(row: Record, steps: list[str]) -> bool:
    owner = row if len(steps) == 1 else getattr(row, steps[0], None)
    return len(steps) <= 2 and isinstance(owner, Record) and steps[-1] in type(owner).model_fields


def value_at(record: Any, path: Path) -> Any:
    """What stands at a path; the record itself at the empty one."""
    return reduce(lambda at, step: at[step] if isinstance(step, int) else getattr(at, step), path, record)


def with_value(part: P, attribute: str, value: object) -> P:
    """The part with another value of one attribute, which is of the right type already. Raises KeyError."""
    paths = paths_of(part, attribute)
    if not paths:
        raise KeyError(attribute)
    return reduce(lambda now, path: cast(P, with_value_at(now, path, value)), paths, part)


def with_value_at(record: Any, path: Path, value: object) -> Any:
    """The same record with another value at a path."""
    if not path:
        return value
    step, rest = path[0], path[1:]
    if isinstance(step, int):
        return (*record[:step], with_value_at(record[step], rest, value), *record[step + 1 :])
    return record.model_copy(update={step: with_value_at(getattr(record, step), rest, value)})


def with_plain_value(part: Part, attribute: str, value: object) -> dict[str, Any]:
    """The list that an attribute stands in, in the form that files have, with a value as a file has it.

    Empty where the part has no such attribute inside one of its lists.
    """
    found: dict[str, Any] = {}
    for table, index, *steps in paths_of(part, attribute) if "." in attribute else ():
        if not found:
            found = part.model_dump(mode="json", by_alias=True, exclude_unset=True, include={str(table)})
        row = found[str(table)][index]
        for step in steps[:-1]:
            row = row[step]
        row[steps[-1]] = value
    return found
