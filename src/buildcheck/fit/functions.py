"""What a bike must do (catalog/standards/functions.yaml): what is worked on it, by which link, from which control."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import reduce
from typing import NamedTuple

from buildcheck.fit.facts import Answer, Fact, Test, is_not_word, is_word
from buildcheck.fit.reading import has_attribute
from buildcheck.fit.view import Memo, View
from buildcheck.model.bikes import Fitted
from buildcheck.model.functions import Control, FunctionRow, Worked
from buildcheck.model.parts.base import Part, vocabulary_of
from buildcheck.model.standards import Standards

BY_LINE, BY_SIGNAL, BY_REMOTE = "by_line", "by_signal", "by_remote"
BRAKE, SHIFT = "brake", "shift"
_NOTHING = "none"
_WIRE, _TO = "wire-", "-to-"
NO, YES = Test(Answer.NO, ()), Test(Answer.YES, ())


def there(view: View, row: FunctionRow) -> list[Worked]:
    """What a function could work on this bike."""
    return [worked for worked in row.works if view.has(worked.at, worked.by)]


def linked_by(view: View, worked: Worked, *links: str) -> Test:
    """Is it worked by one of these links? Only for what is there."""
    record = type(view.bike[worked.at].part)
    words = view.memo.recall(
        ("linked by", record, worked.by, links), lambda: _linked_words(view.standards, record, worked.by, links)
    )
    return is_word(view.word(worked.at, worked.by), *words)


def _linked_words(standards: Standards, record: type[Part], attribute: str, links: Iterable[str]) -> tuple[str, ...]:
    vocabulary = vocabulary_of(record, attribute)
    return tuple(word for link in links for word in standards.words_with(vocabulary, link))


def works(view: View, row: FunctionRow, worked: Worked) -> Test:
    """Does it do anything, by a link that counts for this function? Only for what is there."""
    test = linked_by(view, worked, *row.links)
    if worked.also is None or not view.has(worked.at, worked.also):
        return test
    return test.both(is_not_word(view.word(worked.at, worked.also), _NOTHING))


def controls(view: View, row: FunctionRow) -> list[Control]:
    """Where a lever is that could be a control."""
    return [each for each in row.controls if each.by is None or view.has(each.at, each.by)]


def control_words(view: View, row: FunctionRow) -> list[Fact]:
    """What the levers that could be a control say of that."""
    return [view.word(each.at, each.by) for each in controls(view, row) if each.by is not None]


def controlled(view: View, row: FunctionRow) -> Test:
    """Does any lever on the bike do something for this function?"""
    return reduce(Test.either, (is_not_word(word, _NOTHING) for word in control_words(view, row)), NO)


def brakes_in_doubt(view: View) -> list[tuple[FunctionRow, Test | None]]:
    """The ends that are not stopped for sure; without a test where there is nothing that could."""
    return view.layout.recall("brakes in doubt", lambda: [
        (row, test) for row in view.standards.chains if row.pull == BRAKE
        if (test := _any([works(view, row, each) for each in there(view, row)])) is None or not test.is_yes
    ])  # fmt: skip


def _any(tests: Sequence[Test]) -> Test | None:
    return reduce(Test.either, tests) if tests else None


def lines_in_doubt(view: View) -> list[tuple[FunctionRow, Test]]:
    """The functions without their line that need one, or may."""
    return view.layout.recall("lines in doubt", lambda: [
        (row, test) for row in view.standards.chains if row.line not in view.bike
        if not (test := _needs_no_line(view, row)).is_yes
    ])  # fmt: skip


def _needs_no_line(view: View, row: FunctionRow) -> Test:
    return reduce(Test.both, (linked_by(view, worked, BY_LINE).opposite() for worked in there(view, row)), YES)


def shifting_in_doubt(view: View) -> list[tuple[FunctionRow, Worked, Test]]:
    """What is worked by a signal, or may be, and gets none for sure from any lever."""
    return view.layout.recall("shifting in doubt", lambda: [
        (row, worked, test) for row in view.standards.chains if BY_SIGNAL in row.links for worked in there(view, row)
        if not (test := linked_by(view, worked, BY_SIGNAL).opposite().either(controlled(view, row))).is_yes
    ])  # fmt: skip


def lines_at_levers(view: View, pull: str) -> list[tuple[str, list[tuple[FunctionRow, Fitted]]]]:
    """The levers at which several lines hang that are pulled with the same, and the lines."""
    return view.layout.recall(("lines at levers", pull), lambda: list(_lines_at_levers(view, pull)))


def _lines_at_levers(view: View, pull: str) -> Iterator[tuple[str, list[tuple[FunctionRow, Fitted]]]]:
    found: dict[str, list[tuple[FunctionRow, Fitted]]] = {}
    for row in view.standards.chains:
        line = view.bike.get(row.line)
        if row.pull == pull and line is not None and line.start is not None:
            found.setdefault(line.start, []).append((row, line))
    return ((lever, lines) for lever, lines in found.items() if len(lines) > 1)


class Idle(NamedTuple):
    """A lever that is sure to work nothing of what it could pull, and the positions that this rests on."""

    lever: str
    pull: str
    test: Test
    beside: tuple[str, ...]


def idle_controls(view: View) -> list[Idle]:
    """The levers that could pull, or send a signal, and that nothing hangs on and nothing listens to."""
    return view.layout.recall("idle controls", lambda: [
        idle for (lever, pull), rows in _rows_by_control(view.standards, view.memo).items()
        if lever in view.bike and (idle := _idle(view, lever, pull, rows)) is not None and idle.test.is_yes
    ])  # fmt: skip


_Rows = tuple[tuple[FunctionRow, Control], ...]


def _rows_by_control(standards: Standards, memo: Memo) -> dict[tuple[str, str], _Rows]:
    """Of each place for a lever, and what it pulls with there, the functions that it can be a control of."""
    return memo.recall("rows by control", lambda: {
        (at, pull): tuple(
            (row, control) for row in standards.chains if row.pull == pull
            for control in row.controls if control.at == at
        )
        for row in standards.chains for at in (control.at for control in row.controls) for pull in [row.pull or ""]
    })  # fmt: skip


def _idle(view: View, lever: str, pull: str, rows: _Rows) -> Idle | None:
    lines = [line for row, _ in rows if (line := view.bike.get(row.line)) is not None]
    if any(line.start in (lever, None) for line in lines):
        return None
    able = reduce(Test.either, (_does(view, control) for _, control in rows), NO)
    heard = reduce(Test.either, (_is_heard(view, row, control) for row, control in rows), NO)
    beside = (position for row, _ in rows for position in (row.line or "", *(each.at for each in row.works)))
    return Idle(lever, pull, able.both(heard.opposite()), tuple(dict.fromkeys(beside)))


def _does(view: View, control: Control) -> Test:
    """Does a lever do this at all, by its record?"""
    if control.by is None:
        return YES
    return is_not_word(view.word(control.at, control.by), _NOTHING) if view.has(control.at, control.by) else NO


def _is_heard(view: View, row: FunctionRow, control: Control) -> Test:
    """Does a lever work anything without a line that this bike would need: by a signal, or with what its post has?"""
    if control.by is None:
        return reduce(Test.either, (linked_by(view, worked, BY_REMOTE) for worked in there(view, row)), NO)
    if BY_SIGNAL not in row.links or not view.has(control.at, control.by):
        return NO
    sends = linked_by(view, Worked(at=control.at, by=control.by), BY_SIGNAL)
    return reduce(Test.either, (sends.both(linked_by(view, each, BY_SIGNAL)) for each in there(view, row)), NO)


def pulls(view: View, row: FunctionRow, lever: str) -> Test:
    """Does a lever pull at the line of this function that hangs on it, as far as its record tells?"""
    by = next((each.by for each in row.controls if each.at == lever), None)
    return YES if by is None or not view.has(lever, by) else is_not_word(view.word(lever, by), _NOTHING)


def ends_of_new(standards: Standards, line: str, fitted: Mapping[str, Fitted]) -> tuple[str | None, str | None]:
    """Where a line leads from and to that is fitted where none was, by what is on the bike; nothing if no row says.

    A wire leads where the name of its position says, such as `wire-front-wheel-to-accessory-lamp`.
    The likeliest control that is not known to do nothing and has no such line yet, to the first thing that a line may
    work. Where no such lever is there, the line leads from the likeliest place for one.
    """
    row = next((row for row in standards.chains if row.line == line), None)
    if row is None:
        return ends_named(standards, line) or (None, None)
    busy = _busy(standards, row, fitted)
    free = [each for each in row.controls if each.at not in busy] or row.controls
    control = next((each for each in free if _may_control(fitted.get(each.at), each)), free[0])
    worked = next((each for each in row.works if _may_be_pulled(standards, fitted.get(each.at), each)), row.works[0])
    return control.at, worked.at


def name_of_wire(start: str, end: str) -> str:
    """The position of a wire between two others, by which it is known where it leads."""
    return f"{_WIRE}{start}{_TO}{end}"


def ends_named(standards: Standards, position: str) -> tuple[str, str] | None:
    """The ends that the name of a wire's position tells."""
    if not position.startswith(_WIRE):
        return None
    words = position.removeprefix(_WIRE).split(_TO)
    pairs = ((_TO.join(words[:number]), _TO.join(words[number:])) for number in range(1, len(words)))
    return next((pair for pair in pairs if all(standards.position(name) is not None for name in pair)), None)


def _busy(standards: Standards, row: FunctionRow, fitted: Mapping[str, Fitted]) -> set[str | None]:
    """The levers at which a line hangs that they pull with the same."""
    lines = (fitted.get(other.line or "") for other in standards.chains if other.pull == row.pull and other is not row)
    return {line.start for line in lines if line is not None}


def _may_control(spot: Fitted | None, control: Control) -> bool:
    if spot is None or control.by is None:
        return spot is not None
    return getattr(spot.part, control.by, _NOTHING) != _NOTHING


def _may_be_pulled(standards: Standards, spot: Fitted | None, worked: Worked) -> bool:
    if spot is None or not has_attribute(type(spot.part), worked.by):
        return False
    word = getattr(spot.part, worked.by)
    return word is None or word in _linked_words(standards, type(spot.part), worked.by, [BY_LINE])
