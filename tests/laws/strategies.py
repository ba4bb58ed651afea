"""Random bikes, changes and facts, all made from the bundled bikes and the catalogue.

A fact is named by its slot: the position of its part and the path to it inside the part's record, such as
("stem", ("length_mm",)) or ("frame", ("passages", 2, "bore", "diameter_mm")).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from hypothesis import assume
from hypothesis import strategies as st

from buildcheck.fit.change import apply_change
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval, Unit, is_fact
from buildcheck.model.slots import Path, value_at, with_value_at
from laws.bench import BIKES, NOTHING, bike, catalogue

Slot = tuple[str, Path]

# What no rule looks at, or what is no fact about the part.
_NOT_FACTS = {"weight_g", "price_eur", "offers", "note", "code"}
# Left out of a record these mean "has none", not "nobody knows".
_NONE_IF_LEFT_OUT = {
    ("mounts", "diameter_min_mm"), ("mounts", "diameter_max_mm"), ("mounts", "width_mm"),
    ("places", "width_mm"),
}  # fmt: skip


@cache
def _facts_of_record(record: type) -> tuple[str, ...]:
    fields = fields_of(record).items()
    return tuple(name for name, field in fields if name not in _NOT_FACTS and is_fact(field.metadata))


def facts_in(part: Part, nested: bool = True) -> Iterator[Path]:
    """Every fact of a part that has a value."""
    yield from ((name,) for name in _facts_of_record(type(part)) if getattr(part, name) is not None)
    if not nested:
        return
    for table in ("passages", "places", "mounts", "ports"):
        for index, row in enumerate(getattr(part, table) or ()):
            for name in _facts_of_record(type(row)):
                if getattr(row, name) is not None and (table, name) not in _NONE_IF_LEFT_OUT and name != "type":
                    yield table, index, name
            if table == "passages":
                for name in _facts_of_record(type(row.bore)):
                    if getattr(row.bore, name) is not None:
                        yield table, index, "bore", name


@cache
def _pool(record: type, name: str) -> tuple[Any, ...]:
    """Every value that this attribute has somewhere in the catalogue."""
    found: dict[str, Any] = {}
    for part_id in catalogue().ids:
        for row in _records(catalogue().part(part_id)):
            if type(row) is record and getattr(row, name) is not None:
                found[repr(getattr(row, name))] = getattr(row, name)
    return tuple(value for _, value in sorted(found.items()))


def _records(part: Part) -> Iterator[Any]:
    yield part
    for table in ("passages", "places", "mounts", "ports"):
        yield from getattr(part, table) or ()
    yield from (passage.bore for passage in part.passages or ())


def pool_of(part: Part, path: Path) -> tuple[Any, ...]:
    """Every value that the catalogue has for a fact; for one that is only ever measured on a bike, that of the part."""
    return _pool(type(value_at(part, path[:-1])), str(path[-1])) or (value_at(part, path),)


def set_slots(of: Bike, values: Mapping[Slot, Any]) -> Bike:
    """The bike with other values in these slots; a slot of a part that is only in own_parts is named own:ID."""
    parts = {spot.home: spot.part for spot in of.fitted.values()}
    own = dict(of.own_parts)
    for (position, path), value in values.items():
        if position.startswith("own:"):
            part, where = own[position[4:]]
            own[position[4:]] = with_value_at(part, path, value), where
        else:
            parts[position] = with_value_at(parts[position], path, value)
    fitted = {
        name: replace(spot, part=parts[spot.home]) if spot.part is not parts[spot.home] else spot
        for name, spot in of.fitted.items()
    }  # fmt: skip
    return replace(of, fitted=fitted, own_parts=own)


def slots_of(of: Bike, nested: bool = True) -> list[Slot]:
    """Every known fact of the fitted parts and of the bike's own parts."""
    fitted = [(spot.position, path) for spot in of.main_spots() for path in facts_in(spot.part, nested)]
    return fitted + [
        (f"own:{name}", path) for name, (part, _) in of.own_parts.items() for path in facts_in(part, nested)
    ]


def part_at(of: Bike, position: str) -> Part:
    return of.own_parts[position[4:]][0] if position.startswith("own:") else of[position].part


@cache
def parts_for(position: str) -> tuple[str, ...]:
    row = catalogue().standards.position(position)
    assert row is not None
    return tuple(part.id for part in catalogue().of_kinds(row.kinds))


@dataclass(frozen=True)
class Job:
    """A bike and a change to it."""

    bike: Bike
    change: Change = NOTHING

    def __repr__(self) -> str:
        was = bike(self.bike.id).fitted
        parts = {
            name: spot.part.id
            for name, spot in self.bike.fitted.items()
            if name not in was or was[name].part.id != spot.part.id
        }
        gone = sorted(was.keys() - self.bike.fitted.keys())
        return (
            f"Job({self.bike.id} with {parts} without {gone}, fit={self.change.fit}, take_off={self.change.take_off})"
        )

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(repr(self))  # hypothesis would print every field of every part


def _look_up(part_id: str) -> tuple[Part, Mapping[str, str]]:
    return catalogue().part(part_id), catalogue().where(part_id)


@cache
def joint_attributes() -> frozenset[str]:
    return frozenset(name for row in catalogue().standards.joints for name in (row.a_attribute, row.b))


@cache
def alike(part_id: str, position: str) -> tuple[str, ...]:
    """The parts for a position whose joints are as those of this part."""

    def faces(part: Part) -> list[Any]:
        return [getattr(part, name, None) for name in sorted(joint_attributes() - {"length_mm"})]

    own = faces(catalogue().part(part_id))
    return tuple(other for other in parts_for(position) if faces(catalogue().part(other)) == own)


@cache
def adapters() -> dict[str, tuple[str, ...]]:
    """The parts for each position of an adapter, which most bikes leave empty: those of the right interface."""
    found: dict[str, set[str]] = {}
    for row in catalogue().standards.joints:
        for at in row.at if row.adapter is not None else ():
            found.setdefault((row.adapter or "").replace("{at}", at), set()).add(row.interface)
    made = {
        position: tuple(
            part.id for part in catalogue().of_kinds(["adapter"]) if getattr(part, "interface", None) in interfaces
        )
        for position, interfaces in found.items()
    }
    return {position: parts for position, parts in sorted(made.items()) if parts}


@st.composite
def changes(draw: st.DrawFn, of: Bike, most: int = 2) -> Change:
    """One to `most` parts of the right kinds, and now and then a position to empty."""
    fitted = sorted({s.position for s in of.main_spots()})
    positions = draw(st.lists(st.sampled_from([*fitted, *adapters()]), min_size=1, max_size=most, unique=True))
    fits, offs = [], []
    for position in positions:
        if position not in of:
            fits.append((draw(st.sampled_from(adapters()[position])), position))
        elif draw(st.integers(0, 6)) == 0:
            offs.append(position)
        else:
            near = draw(st.integers(0, 3)) > 0
            fits.append(
                (
                    draw(st.sampled_from(alike(of[position].part.id, position) if near else parts_for(position))),
                    position,
                )
            )
    return Change(tuple(fits), tuple(offs))


def asks_for_no_position_twice(change: Change) -> bool:
    """A one-piece bar and another stem cannot both be fitted; the command line refuses that."""
    one_piece = any(catalogue().kind_of(part_id) == "bar-stem" for part_id, _ in change.fit)
    return not (one_piece and any(position == "stem" for _, position in change.fit))


@st.composite
def bikes(draw: st.DrawFn, most_exchanged: int = 2) -> Bike:
    """A bundled bike, some of its parts exchanged for others of the right kinds."""
    base = bike(draw(st.sampled_from(BIKES)))
    if draw(st.booleans()):
        return base
    swapped = apply_change(base, draw(changes(base, most_exchanged)), _look_up, catalogue().standards)
    if any(spot.on is not None and spot.on not in swapped for spot in swapped.fitted.values()):
        return base
    return swapped


@st.composite
def jobs(draw: st.DrawFn) -> Job:
    """A bike as it stands, or with a change; the parts to be fitted are own parts, so that their facts can be set."""
    of = draw(bikes())
    change = draw(changes(of).filter(asks_for_no_position_twice)) if draw(st.integers(0, 3)) else NOTHING
    own = {part_id: (catalogue().part(part_id), catalogue().where(part_id)) for part_id, _ in change.fit}
    return Job(replace(of, own_parts=own), change)


def _least(part: Part, path: Path) -> float:
    """The least that a size can be."""
    field = type(value_at(part, path[:-1])).model_fields[str(path[-1])]
    return next(mark.minimum for mark in field.metadata if isinstance(mark, Unit))


@st.composite
def doubts(draw: st.DrawFn, of: Bike, most: int = 6) -> dict[Slot, Any]:
    """Some facts of a bike that are not known, or known within limits only."""
    slots = draw(st.lists(st.sampled_from(slots_of(of)), min_size=1, max_size=most, unique=True))
    values: dict[Slot, Any] = {}
    for slot in slots:
        true = value_at(part_at(of, slot[0]), slot[1])
        if isinstance(true, Interval) and draw(st.booleans()):
            below, above = draw(st.sampled_from([0.0, 0.5, 3.0, 40.0])), draw(st.sampled_from([0.0, 0.5, 3.0, 40.0]))
            least = _least(part_at(of, slot[0]), slot[1])
            values[slot] = Interval(max(least, true.low - below), true.high + above)
        else:
            values[slot] = None
    return values


def _point(draw: st.DrawFn, low: float, high: float) -> Interval:
    value = draw(st.one_of(st.sampled_from([low, high]), st.floats(low, high)))
    return Interval(value, value)


# How far an unknown number may lie from the true one, where not every size is possible: an irregular bore
# holds its rod, a head tube leans.
_SPREAD = {"inscribed_mm": (0.1, 1.0), "area_mm2": (1.0, 2.0), "head_angle_deg": (0.9, 1.1), "angle_deg": (0.9, 1.1)}


@st.composite
def fillings(
    draw: st.DrawFn, true: Bike, doubt: Mapping[Slot, Any], inferred: Mapping[tuple[str, str], Any]
) -> dict[Slot, Any]:
    """One way in which the facts in doubt could turn out: no record contradicts itself, and what is inferred holds."""
    values: dict[Slot, Any] = {}
    for slot, limits in doubt.items():
        position, path = slot
        part = part_at(true, position)
        real = value_at(part, path)
        read = inferred.get((position, str(path[0]))) if len(path) == 1 else None
        known = read.value if read is not None else limits
        if isinstance(known, Interval):
            options = [_point(draw, known.low, known.high)]
        elif known is not None:
            options = [(known,) if isinstance(real, tuple) and not isinstance(known, tuple) else known]
        else:
            options = [draw(st.sampled_from(pool_of(part, path)))]
            if isinstance(real, Interval):
                low, high = _SPREAD.get(str(path[-1]), (0.5, 2.0))
                near = _point(draw, real.low * low, real.high * high) if real.low >= 0 else real
                options = [near] if path[-1] in _SPREAD or draw(st.booleans()) else options
        if read is None and draw(st.integers(0, 2)) == 0:
            options = [real]
        values[slot] = options[0]
    filled = set_slots(true, values)
    assume(not any(contradicts_itself(part_at(filled, position)) for position, _ in doubt))
    return values


def contradicts_itself(part: Part) -> bool:
    """Would such a record be refused? Wear is no contradiction."""
    return any(True for _ in catalogue().constraints.broken_by(part, type(part).model_fields))
