"""Completeness: every position that a bike needs is filled, and a drive that no rule looks at is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Test, is_not_word, is_word
from buildcheck.fit.reading import presence_fact
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.bikes import PRESENCE
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Attribute, Kind, Said, Several, Word, as_said, say
from buildcheck.model.standards import PositionRow


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def position_empty(self: Rule, context: Context) -> Iterator[Finding]:
    """A position that this bike needs has no part.

    Some positions every bike needs; others are needed because of what is fitted elsewhere: a disc brake
    needs a rotor, a cable dropper post needs its cable.

    Cure: fit a part there.
    """
    view = context.view
    for row in view.empty_rows():
        if row.needed:
            yield self.tell(say("This bike has no {what}.", what=as_said(row.what)), (row.id,))
    for need in each(_needs(view)):
        test = need.is_none(view)
        if self.is_silent(test):
            continue
        what = as_said(need.row.what)
        yield from self.judge(
            test,
            (need.row.id,),
            fault=say("This bike has no {what}: {reason}.", what=what, reason=_why(need)),
            ask=say("whether a {what} is needed", what=what),
        )


@rule(Level.UNKNOWN, use_proves=Proof.NOTHING, source="common practice, no source")
def position_untold(self: Rule, context: Context) -> Iterator[Finding]:
    """Nobody said whether anything is at a position of the bike, or of which kind it is, and it matters here.

    What no file tells of may be there or not. What is found here holds whatever is there; where it does not, this is
    asked first, since a look answers it.

    Cure: look, and name the part in the bike's file, or its kind, or write `none`.
    """
    view = context.view
    for name in each(sorted(view.bike.untold)):
        row, spot = view.row(name), view.bike.get(name)
        what = as_said(row.what)
        text = say(_NOBODY_SAID[row.many], what=what)
        if spot is not None and not row.many:
            kinds = Several(tuple(map(Kind, row.kinds)), "or")
            text = say("Nobody said of which kind this is: {what} ({kinds}).", what=what, kinds=kinds)
        found = self.tell(text, (name,), (presence_fact(view.bike, name),))
        yield replace(found, undecided=tuple(item for item in found.evidence if item.attribute == PRESENCE))


# By whether the bike may have many of them.
_NOBODY_SAID = {
    False: "Nobody said whether this is on the bike: {what}.",
    True: "Nobody said whether more of these are on the bike: {what}.",
}


class _Wanted(NamedTuple):
    """Of an empty position: what is fitted elsewhere by which it may be needed, and the words by which it is (not)."""

    row: PositionRow
    position: str
    attribute: str
    words: tuple[str, ...]
    by_others: bool

    def is_none(self, view: View) -> Test:
        """Is the position not needed?"""
        ask = is_word if self.by_others else is_not_word
        return ask(view.word(self.position, self.attribute), *self.words)


def _needs(view: View) -> list[_Wanted]:
    """By what the empty positions of this bike may be needed."""
    return view.layout.recall("needs-of-empty-rows", lambda: [
        need for row in view.empty_rows() for key, words in sorted(row.needed_if.items())
        if view.has((need := _need_of(row, key, words)).position, need.attribute)
    ])  # fmt: skip


def _need_of(row: PositionRow, key: str, words: str) -> _Wanted:
    """A row of `needed_if`: `position.attribute` is one of these words or, with `!`, none of them."""
    position, _, attribute = key.partition(".")
    return _Wanted(row, position, attribute, tuple(words.removeprefix("!").split("|")), words.startswith("!"))


@rule(
    Level.UNKNOWN, use_proves=Proof.NOTHING,
    source="EN 15194 for bicycles with a motor (title known, not read); common practice, no source",
)  # fmt: skip
def motor_not_checked(self: Rule, context: Context) -> Iterator[Finding]:
    """The bike has a motor: its drive, its battery and what it was approved for are not checked.

    A motor pulls harder at chain, sprockets and hub than legs do, and its maker says which parts may be exchanged and
    for which others. Brakes, tyres, frame and fork were approved for the weight and the speed of this very bike. No
    record here tells any of that, so no build with a motor is called fit, whatever else is found.

    Cure: the papers of the bike and the word of its maker for every part that is exchanged; what else is found here
    holds as on any bike.
    """
    motor = context.bike.motor
    if motor is None:
        return
    text = say("This bike has a motor: whether drive, battery and approvals allow this build is not checked here.")
    why = Cause(say("the file of the bike names a motor ({where})", where=Word(motor)))
    at = _MOTOR_AT.get(motor, "frame")
    found = self.tell(text, (at if at in context.bike else "frame",), because=lambda: (why,))
    yield replace(found, whole_bike=True)


_MOTOR_AT = {"at-the-cranks": "crankset", "in-the-front-wheel": "front-wheel", "in-the-rear-wheel": "rear-wheel"}


def _why(need: _Wanted) -> Said:
    """Why a position is needed: as the standards say, or by the fact that it depends on."""
    if need.row.needed_why is not None:
        return as_said(need.row.needed_why)
    return say(
        "the {attribute} of the {position} asks for it",
        attribute=Attribute(need.attribute), position=At(need.position),
    )  # fmt: skip
