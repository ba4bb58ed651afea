"""Completeness: every position that a bike needs is filled, and a drive that no rule looks at is told."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

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
    for row, conditions in each(_asked_for(view)):
        what = as_said(row.what)
        if row.needed:
            yield self.tell(say("This bike has no {what}.", what=what), (row.id,))
        for condition in each(conditions):
            test = _not_needed(view, condition)
            if self.is_silent(test):
                continue
            yield from self.judge(
                test,
                (row.id,),
                fault=say("This bike has no {what}: {reason}.", what=what, reason=_why(row, condition)),
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


class _Condition(NamedTuple):
    """That an attribute is one of these words, or another than all of them: then a position is needed."""

    position: str
    attribute: str
    words: tuple[str, ...]
    is_other: bool


def _asked_for(view: View) -> list[tuple[PositionRow, list[_Condition]]]:
    """The empty positions that are needed, or may be: with the conditions about parts that are there."""
    return view.layout.recall("asked-for", lambda: [
        (row, conditions) for row in view.empty_rows() if (conditions := _conditions(view, row)) or row.needed
    ])  # fmt: skip


def _conditions(view: View, row: PositionRow) -> list[_Condition]:
    every = (_condition(key, words) for key, words in sorted(row.needed_if.items()))
    return [one for one in every if view.has(one.position, one.attribute)]


def _condition(key: str, words: str) -> _Condition:
    """As a row of the standards writes it: `position.attribute`, and its words with `!` before another than all."""
    position, _, attribute = key.partition(".")
    return _Condition(position, attribute, tuple(words.removeprefix("!").split("|")), words.startswith("!"))


def _why(row: PositionRow, condition: _Condition) -> Said:
    """Why a position is needed: as the standards say, or by the fact that it depends on."""
    if row.needed_why is not None:
        return as_said(row.needed_why)
    attribute, position = Attribute(condition.attribute), At(condition.position)
    return say("the {attribute} of the {position} asks for it", attribute=attribute, position=position)


def _not_needed(view: View, condition: _Condition) -> Test:
    """Does the condition certainly not hold?"""
    position, attribute, words, is_other = condition
    return (is_word if is_other else is_not_word)(view.word(position, attribute), *words)
