"""What the operations of a job open: rows of the workshop's tables, and the parts that they are about."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from typing import Generic, NamedTuple, Protocol, TypeVar

from buildcheck.fit.context import Build, Context
from buildcheck.fit.facts import Answer, Test, of_pattern
from buildcheck.fit.reading import has_attribute
from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.workshop import Opened

_PULLED = ("hose", "housing")  # lines that work what hangs at their ends
_ENDS = ("front", "rear")

Row = TypeVar("Row", bound=Opened)


class Done(Protocol):
    """An operation of a job: a planned operation, or a step of a job card."""

    @property
    def id(self) -> str:
        """The id of its row, with `@` and the position where it is done at one."""

    @property
    def position(self) -> str | None:
        """Where it is done; None for the whole job."""


class OpenedPlace(NamedTuple, Generic[Row]):
    """A row that a job opens, and the part that it is about; `doubts` names the attributes that are not known."""

    row: Row
    spot: Fitted
    doubts: tuple[str, ...]


def opened_places(context: Context, operations: Iterable[Done], rows: Iterable[Row]) -> Iterator[OpenedPlace[Row]]:
    """Each row with each part of the bike after the change that it is about, where an operation opens it."""
    done = _done(operations)
    for row in rows:
        for place in _places(context, row):
            if any(_opens(row, place.spot, context.bike, *one) for one in done):
                yield place


def parted_places(context: Context, operations: Iterable[Done], rows: Iterable[Row]) -> Iterator[OpenedPlace[Row]]:
    """Each row with each part that comes off and is not put back."""
    if context.before is None:
        return
    done = _done(operations)
    table = context.view.standards.operations
    for row in rows:
        for place in _places(context.before, row):
            spot, now = place.spot, context.bike.get(place.spot.position)
            stays = now is not None and now.part.id == spot.part.id and not now.renewed
            if not stays and any(at == spot.position and spot.part.kind in table[name].takes_off for name, at in done):
                yield place


def done_at(bike: Bike, operations: Iterable[Done], names: Collection[str], position: str) -> bool:
    """Is one of these operations done at a position, where it reaches that position, or for the whole job?"""
    return any(
        name in names and (at is None or at == position or _reaches(bike, at, position))
        for name, at in _done(operations)
    )


def _done(operations: Iterable[Done]) -> list[tuple[str, str | None]]:
    return [(one.id.partition("@")[0], one.position) for one in operations]


def _places(build: Build, row: Row) -> Iterator[OpenedPlace[Row]]:
    for at in row.at:
        for name in build.view.of_row(at):
            spot = build.bike[name]
            tests = {attribute: suits(build.view, spot, attribute, words) for attribute, words in row.where.items()}
            if not any(test.no for test in tests.values()):
                yield OpenedPlace(row, spot, tuple(attribute for attribute, test in tests.items() if not test.yes))


def suits(view: View, spot: Fitted, attribute: str, words: str) -> Test:
    """Is the part's attribute of these words? `|` parts several patterns, `!` in front turns them round.

    `*` alone asks only whether parts of this kind have such an attribute.
    """
    if not has_attribute(type(spot.part), attribute):
        return Test(Answer.NO, ())
    fact = view.fact(spot, attribute)
    if words == "*":
        return Test(Answer.YES, (fact,))
    test = Test(Answer.NO, (fact,))
    for pattern in words.removeprefix("!").split("|"):
        test = test.either(of_pattern(fact, pattern))
    return test.opposite() if words.startswith("!") else test


def _opens(row: Opened, spot: Fitted, bike: Bike, operation: str, position: str | None) -> bool:
    if operation in row.operations and position in (None, spot.position):
        return True
    return operation in row.elsewhere and (position is None or _reaches(bike, position, spot.position))


def _reaches(bike: Bike, one: str, other: str) -> bool:
    """Are the two at one line, or else at one wheel? What belongs to no wheel is reached from anywhere."""
    one, other = _line_of(bike, one), _line_of(bike, other)
    lines = [{spot.position, spot.start, spot.end} for spot in bike.fitted.values() if spot.part.kind in _PULLED]
    at_ends = set().union(*lines)
    if one in at_ends and other in at_ends:
        return any({one, other} <= line for line in lines)
    ends = {end for name in (one, other) for end in _ENDS if name.startswith(end + "-")}
    return len(ends) < len(_ENDS)


def _line_of(bike: Bike, position: str) -> str:
    """The position itself, or that of the line which an inner cable runs in."""
    spot = bike.get(position)
    carrier = bike.get(spot.on) if spot is not None else None
    return carrier.position if carrier is not None and carrier.part.kind in _PULLED else position
