"""Every change of a single fact that the laws try: of a bike as it stands, or of the bench of a case.

A fact is named by the kind of its part, `stem.length_mm`, or by the list of parts that it stands in,
`passages.bore.diameter_mm`: these are read alike on all kinds.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import cache
from pathlib import Path as FilePath
from typing import Any, NamedTuple

from buildcheck.library.cases import bike_and_change, read_case
from buildcheck.library.records import fields_of
from buildcheck.measure.values import row_for
from buildcheck.model.levels import Level
from buildcheck.model.parts import PART_KINDS, Bore, Mount, Part, Passage, Place, Port, Record
from buildcheck.model.quantities import Interval, Unit, Vocabulary, _FlagField, is_fact
from buildcheck.model.slots import Path, value_at
from laws.bench import bike, catalogue, found_by, vetting
from laws.strategies import Job, part_at, set_slots
from laws.test_evidence import with_own_parts

CASES = FilePath(__file__).parent / "cases"
Decisive = frozenset[tuple[str, tuple[str, ...], Level]]

# Lists in a part, with the record that their rows are.
LISTS: dict[str, type[Record]] = {"passages": Passage, "places": Place, "mounts": Mount, "ports": Port}
# What is neither a fact nor a list: the kind says which facts there are, and an id which row of a list it is.
_NOT_CHANGED = {"kind", "bore", *LISTS}
# What stands for any other name, price or weight.
_OTHER = {
    "id": "other", "maker": "Somebody", "name": "Another", "note": "another", "size_name": "another", "price_eur": 0.01,
    "weight_g": Interval(1.0, 1.0), "offers": (),
}  # fmt: skip


class Single(NamedTuple):
    """One fact of one part changed: the part's position, where the fact stands in it, and what it is set to."""

    position: str
    path: Path
    value: Any


def name_of(part: Part, path: Path) -> str:
    """`stem.length_mm`, `places.width_mm`, `passages.bore.diameter_mm`."""
    steps = [str(step) for step in path if not isinstance(step, int)]
    return ".".join(steps if len(path) > 1 else [part.kind, *steps])


@cache
def all_names() -> frozenset[str]:
    """Every attribute that a part of any kind can have."""
    own = {f"{kind}.{name}" for kind, record in PART_KINDS.items() for name in _changed(record)}
    rows = {f"{table}.{name}" for table, record in LISTS.items() for name in _changed(record)}
    return frozenset(own | rows | {f"passages.bore.{name}" for name in _changed(Bore)})


@cache
def _changed(record: type[Record]) -> tuple[str, ...]:
    inside = record in LISTS.values()
    names = (name for name in fields_of(record) if name not in _NOT_CHANGED)
    return tuple(name for name in names if not (inside and name == "id"))


def paths_in(part: Part) -> Iterator[Path]:
    """Every place in a part where a fact stands, or could stand."""
    yield from ((name,) for name in _changed(type(part)))
    for table, record in LISTS.items():
        for index, row in enumerate(getattr(part, table) or ()):
            yield from ((table, index, name) for name in _changed(record))
            if isinstance(row, Passage):
                yield from ((table, index, "bore", name) for name in _changed(Bore))


@cache
def _pool(record: type[Record], name: str) -> tuple[Any, ...]:
    """What the catalogue has for an attribute, each value once."""
    found: dict[str, Any] = {}
    for part_id in catalogue().ids:
        for row in _rows(catalogue().part(part_id)):
            if type(row) is record and getattr(row, name) is not None:
                found[repr(getattr(row, name))] = getattr(row, name)
    return tuple(value for _, value in sorted(found.items()))


def _rows(part: Part) -> Iterator[Any]:
    yield part
    for table in LISTS:
        yield from getattr(part, table) or ()
    yield from (passage.bore for passage in part.passages or ())


def values_for(part: Part, path: Path) -> list[Any]:
    """What a fact is set to: half, double, nothing, the next size both ways, each other word, unknown."""
    owner, name = value_at(part, path[:-1]), str(path[-1])
    now = getattr(owner, name)
    field = type(owner).model_fields[name]
    if name in _OTHER:
        return [_OTHER[name]] if now != _OTHER[name] else []
    unit = next((mark for mark in field.metadata if isinstance(mark, Unit)), None)
    words = next((mark for mark in field.metadata if isinstance(mark, Vocabulary)), None)
    if unit is not None:
        values = _sizes(part, path, now, unit.minimum)
    elif words is not None:
        values = _words(words, _pool(type(owner), name))
    elif any(isinstance(mark, _FlagField) for mark in field.metadata) or isinstance(field.default, bool):
        values = [True, False]
    else:
        values = _others(name, now, _pool(type(owner), name))
    unknown = [None] if is_fact(field.metadata) and type(None) in getattr(field.annotation, "__args__", ()) else []
    return [value for value in (*unknown, *values) if value != now]


def _sizes(part: Part, path: Path, now: Interval | None, least: float) -> list[Interval]:
    """Next smaller and larger of the sizes known; half, double and nothing. Where it is not told, the ends of them."""
    owner, name = value_at(part, path[:-1]), str(path[-1])
    attribute = f"{path[0]}.x.{name}" if len(path) > 1 else name
    usual = [size for size in row_for(catalogue().standards, part.kind, attribute).usual if size is not None]
    known = sorted({end for size in (*_pool(type(owner), name), *usual) for end in (size.low, size.high)})
    if now is None:
        sizes = {*known[:1], *known[-1:], 0.0}
    else:
        below, above = [x for x in known if x < now.low][-1:], [x for x in known if x > now.high][:1]
        sizes = {0.0, now.low / 2, now.high * 2, *below, *above}
    return [Interval(size, size) for size in sorted(sizes) if size >= least]


def _words(mark: Vocabulary, had: tuple[Any, ...]) -> list[Any]:
    if mark.name == "any":  # words that come from many vocabularies
        return list(had)
    standards = catalogue().standards
    if mark.name == "interface":
        return list(standards.interfaces)
    ids = [term.id for term in standards.vocabularies[mark.name].terms]
    return [(word,) for word in ids] if mark.many else list(ids)


def _others(name: str, now: Any, had: tuple[Any, ...]) -> list[Any]:
    """Of openings, shapes, codes and lists: what the catalogue has; lists of numbers are cut and doubled, too."""
    values = list(had)
    if name == "count":
        return [1, 12]
    if name == "power":
        return [None, "battery", "dynamo"]
    if name == "half":
        return ["upper", "lower"]
    if isinstance(now, tuple) and now and not isinstance(now[0], str):
        values += [now[1:], now[:-1], tuple(min(each * 2, 4.9 if isinstance(each, float) else 60) for each in now)]
    return [None, *values] if name in ("sprockets", "gear_ratios", "opening", "code") else values


class Trial(NamedTuple):
    """A bike as it stands, or with what a case changes, and what is found there: what single facts are tried on."""

    name: str
    job: Job
    found: Decisive


def decisive(job: Job) -> Decisive:
    """The findings of at least a caution, and what is not known."""
    found = found_by(vetting(job.bike), job.change)
    return frozenset((each.name, each.positions, each.level) for each in found if each.level.rank <= Level.CAUTION.rank)


@cache
def bundled(name: str) -> Trial:
    """A bundled bike as it stands."""
    job = Job(bike(name))
    return Trial(name, job, decisive(job))


def _open_to_changes(job: Job) -> Job:
    """What is known of a part before it is fitted is known of the part, where its facts can be changed."""
    told = {part_id: (spot.part, spot.where) for (part_id, _), spot in job.bike.to_come.items()}
    return Job(replace(job.bike, own_parts={**job.bike.own_parts, **told}, to_come={}), job.change)


@cache
def benches(finding: str) -> tuple[Trial, ...]:
    """What the cases of a finding tell of."""
    found = []
    for path in sorted((CASES / finding).glob("*.yaml")):
        job = _open_to_changes(with_own_parts(*bike_and_change(read_case(path), catalogue())))
        found.append(Trial(f"{finding}/{path.stem}", job, decisive(job)))
    return tuple(found)


def facts_of(of: Trial) -> dict[str, list[tuple[str, Path]]]:
    """Every fact of the parts of a trial, by the name of its attribute: position, and where it stands in the part."""
    fitted = [spot.position for spot in of.job.bike.main_spots()]
    found: dict[str, list[tuple[str, Path]]] = {}
    for position in (*fitted, *(f"own:{part_id}" for part_id, _ in of.job.change.fit)):
        part = part_at(of.job.bike, position)
        for path in paths_in(part):
            found.setdefault(name_of(part, path), []).append((position, path))
    return found


def singles(of: Trial, facts: Iterable[tuple[str, Path]]) -> list[Single]:
    """Every change of these facts, each by itself."""
    return [
        Single(position, path, value)
        for position, path in facts for value in values_for(part_at(of.job.bike, position), path)
    ]  # fmt: skip


def decides(of: Trial, single: Single) -> bool:
    """Does this change of a fact bring a finding of at least a caution, or take one away?"""
    changed = set_slots(of.job.bike, {(single.position, single.path): single.value})
    return decisive(Job(changed, of.job.change)) != of.found
