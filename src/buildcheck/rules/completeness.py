"""Completeness: every position that a bike needs is filled, and a drive that no rule looks at is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Test, is_not_word, is_word
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level
from buildcheck.model.sentences import At, Attribute, Said, Word, as_said, say
from buildcheck.model.standards import PositionRow


@rule(Level.BLOCKS, source="common practice, no source")
def position_empty(self: Rule, context: Context) -> Iterator[Finding]:
    """A position that this bike needs has no part.

    Some positions every bike needs; others are needed because of what is fitted elsewhere: a disc brake
    needs a rotor, a cable dropper post needs its cable.

    Cure: fit a part there.
    """
    view = context.view
    for row, conditions in each(view.empty_rows()):
        what = as_said(row.what)
        if row.needed:
            yield self.tell(say("This bike has no {what}.", what=what), (row.id,))
        for key, word in each(conditions):
            test = _not_needed(view, key, word)
            if self.is_silent(test):
                continue
            yield from self.judge(
                test,
                (row.id,),
                fault=say("This bike has no {what}: {reason}.", what=what, reason=_why(row, key)),
                ask=say("whether a {what} is needed", what=what),
            )


@rule(Level.UNKNOWN, source="EN 15194 for bicycles with a motor (title known, not read); common practice, no source")
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


def _why(row: PositionRow, key: str) -> Said:
    """Why a position is needed: as the standards say, or by the fact that it depends on."""
    if row.needed_why is not None:
        return as_said(row.needed_why)
    position, _, attribute = key.partition(".")
    return say("the {attribute} of the {position} asks for it", attribute=Attribute(attribute), position=At(position))


def _not_needed(view: View, key: str, word: str) -> Test:
    """Is `position.attribute` none of these words (or, with `!`, one of them)?"""
    position, _, attribute = key.partition(".")
    ask = is_word if word.startswith("!") else is_not_word
    return ask(view.word(position, attribute), *word.removeprefix("!").split("|"))
