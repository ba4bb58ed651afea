"""Records that contradict themselves, by the table of constraints: in a catalogue, in a bike, or by an option."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping
from typing import Any, NamedTuple

from buildcheck.library.problems import FileLine, InputError, Problem
from buildcheck.library.records import fields_of, nested_record
from buildcheck.library.yaml_text import Document, Where
from buildcheck.model.constraints import ComparedSide, Constraint, is_any_of, patterns_of, surely, words_of
from buildcheck.model.parts import PART_KINDS, Part, Record
from buildcheck.model.parts.base import vocabulary_of
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import shown
from buildcheck.model.slots import name_to_tell

_ROUNDING = 1e-9  # of binary fractions, no size of a bicycle
_ANY_KIND = "*"
_SAID = {"at-most": "at most", "below": "less than", "at-least": "at least", "equal": "the same as"}
_MADE: dict[str, Callable[[Any], float]] = {"count": len, "least": min, "most": max}


class Contradiction(NamedTuple):
    """What a record says that cannot be, and the ways to the attributes of its row, the first to look at first.

    `at_odds` are those of them that cannot go together, by name.
    """

    ways: tuple[Where, ...]
    text: str
    at_odds: tuple[str, ...]


class Constraints:
    """The table of constraints, from rows that were checked when they were read. A row is made when first asked for."""

    def __init__(self, tables: Mapping[str, list[Any]]) -> None:
        self._tables = tables
        self._of: dict[str, tuple[Constraint, ...]] = {}

    def of(self, kind: str) -> tuple[Constraint, ...]:
        """The rows about parts of a kind."""
        if kind not in self._of:
            rows = (item["row"] for item in self._tables.get("constraints", ()))
            found = (row for row in rows if kind in row["kinds"] or _ANY_KIND in row["kinds"])
            self._of[kind] = tuple(Constraint.model_construct(set(row), **row) for row in found)
        return self._of[kind]

    def size_of(self, vocabulary: str, word: str) -> float | None:
        """The size that a word stands for, or None."""
        rows = (item["row"] for item in self._tables.get("vocabularies", ()) if item["row"]["id"] == vocabulary)
        return next((term.get("value") for row in rows for term in row["terms"] if str(term["id"]) == word), None)

    def broken_by(self, part: Part, measured: Collection[str] = ()) -> Iterator[Contradiction]:
        """What the record says that cannot be. Of what was `measured` on a bike, wear is no contradiction."""
        for row in self.of(part.kind):
            if row.as_sold and not set(row.attributes()).isdisjoint(measured):
                continue
            for before, record in _records(part, row):
                names, text = self._broken(row, record)
                if text:
                    ways = tuple((*before, name) for name in row.attributes())
                    at_odds = tuple(str(before[0]) if before else name for name in names)
                    yield Contradiction(ways, f"{text}: {row.why}", at_odds)

    def _broken(self, row: Constraint, record: Record) -> tuple[tuple[str, ...], str]:
        """The attributes of a record that cannot go together, and what is expected; empty where nothing contradicts."""
        if not all(surely(getattr(record, name), patterns) for name, patterns in row.when.items()):
            return (), ""
        told = _told(record, row.when)
        after = f" where {told}" if told else ""
        if row.then:
            wrong = {name: word for name, word in row.then.items() if _never(getattr(record, name), word)}
            expected = " and ".join(f"{name} {_in_words(row.then[name])}" for name in wrong)
            text = f"{_told(record, wrong)}, but expected is {expected}{after}" if wrong else ""
            return (*wrong, *row.when), text
        first, second = row.sides()
        a, b = (self._amount(side, record) for side in (first, second))
        if a is None or b is None or not _apart(row, a, b):
            return (), ""
        expected = f"{_SAID[row.compare or 'equal']} {_name(second)}{_is(second, b)}"
        return row.attributes(), f"{_name(first)} is {a}, but expected is {expected}{after}"

    def _amount(self, side: ComparedSide, record: Record) -> Interval | None:
        if side.number is not None:
            return Interval(side.number, side.number)
        value = getattr(record, side.attribute)
        if value is not None and side.made == "value":
            vocabulary = side.vocabulary or vocabulary_of(type(record), side.attribute)  # type: ignore[arg-type]
            value = self.size_of(vocabulary, value)
        elif value is not None and side.made:
            value = _MADE[side.made](value)
        return value if value is None or isinstance(value, Interval) else Interval(float(value), float(value))


def _records(part: Part, row: Constraint) -> Iterator[tuple[Where, Record]]:
    if row.inside is None:
        yield (), part
        return
    for index, record in enumerate(getattr(part, row.inside)):
        yield (row.inside, index), record


def _apart(row: Constraint, a: Interval, b: Interval) -> bool:
    """Does every value of both contradict the row?"""
    room = row.tolerance + _ROUNDING
    over, under = a.low - b.high > room, b.low - a.high > room
    return {
        "at-most": over,
        "below": a.low - b.high > -_ROUNDING,
        "at-least": under,
        "equal": over or under,
    }[row.compare or "equal"]


def _never(held: Any, text: str) -> bool:
    """Is a fact known, and nothing that it holds matches?"""
    negated, patterns = patterns_of(text)
    values = words_of(held)
    if values is None:
        return not negated and isinstance(held, Interval) and not any(_holds(held, pattern) for pattern in patterns)
    return all(is_any_of(value, patterns) is negated for value in values)


def _holds(held: Interval, pattern: str) -> bool:
    """Could an interval be the number of a pattern? Any pattern that is no plain number is none of ours to refuse."""
    try:
        number = float(pattern)
    except ValueError:
        return True
    return held.low <= number <= held.high


def _in_words(text: str) -> str:
    negated, patterns = patterns_of(text)
    return ("other than " if negated else "") + " or ".join(patterns)


def _told(record: Record, names: Collection[str]) -> str:
    return " and ".join(f"{name} is {_text(getattr(record, name))}" for name in names)


def _text(held: Any) -> str:
    return ", ".join(map(shown, held)) if isinstance(held, tuple) else shown(held)


def _name(side: ComparedSide) -> str:
    if side.number is not None:
        return f"{side.number:g}"
    return f"the {side.made} of {side.attribute}" if side.made else side.attribute


def _is(side: ComparedSide, amount: Interval) -> str:
    return "" if side.number is not None else f" ({amount})"


def refuse_contradictions(
    part: Part,
    constraints: Constraints,
    place_of: Callable[[Where], FileLine | None],
    measured: Collection[str] = (),
    *,
    all_told: bool = False,
) -> None:
    """Nothing for a record that can be. Raises InputError with a line for each contradiction.

    It stands at the first of its attributes that has a place; with `all_told` it counts only where all of them have.
    """
    problems = []
    for found in constraints.broken_by(part, measured):
        places = [place_of(way) for way in found.ways]
        first = next((place for place in places if place is not None), None)
        if first is not None and not (all_told and None in places):
            problems.append(Problem(first, found.text, "meaning"))
    if problems:
        raise InputError(problems)


def set_aside(part: Part, constraints: Constraints, told: Collection[str]) -> tuple[Part, frozenset[str]]:
    """The part without what its record says that cannot be beside the facts that were `told`; and the names of that.

    Nobody knows then what is so in its place, or the table of constraints tells it.
    """
    gone: set[str] = set()
    while True:
        known = {*told, *gone}
        broken = constraints.broken_by(part, known)
        found = [{name_to_tell(part, name) for name in each.at_odds} for each in broken]
        names = {name for each in found if each & known for name in each - known}
        if not names:
            return part, frozenset(gone)
        part = part.model_copy(update=dict.fromkeys(names))
        gone |= names


def within(document: Document, path: Where, value: Any) -> Callable[[Where], FileLine | None]:
    """Where the attributes of a record are written in a document; None for what is not."""

    def place_of(way: Where) -> FileLine | None:
        return document.place((*path, *way)) if way[0] in value else None

    return place_of


def constraint_problems(tables: dict[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    """Rows that name a kind or an attribute that is not there."""
    for item in tables.get("constraints", ()):
        row = item["row"]
        kinds = list(PART_KINDS) if _ANY_KIND in row["kinds"] else row["kinds"]
        names = Constraint.model_validate(row).attributes()
        for record in (PART_KINDS[kind] for kind in kinds if kind in PART_KINDS):
            of = _inner(record, row.get("inside"))
            for name in names:
                if name not in of.model_fields and not hasattr(of, name):
                    yield item, f"{row['id']}: the kind {_kind(record)} has no attribute {name!r}"


def _inner(record: type[Part], inside: str | None) -> type[Record]:
    found = nested_record(fields_of(record)[inside]) if inside else record
    assert found is not None
    return found


def _kind(record: type[Part]) -> str:
    return next(kind for kind, other in PART_KINDS.items() if other is record)
