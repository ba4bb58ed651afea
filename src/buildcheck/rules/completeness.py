"""Completeness: every position that a bike needs is filled."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Test, is_not_word, is_word
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level


@rule(Level.BLOCKS, source="common practice, no source")
def position_empty(self: Rule, context: Context) -> Iterator[Finding]:
    """A position that this bike needs has no part.

    Some positions every bike needs; others are needed because of what is fitted elsewhere: a disc brake
    needs a rotor, a cable dropper post needs its cable.

    Cure: fit a part there.
    """
    view = context.view
    for row in view.standards.positions.values():
        if any(True for _ in view.of_row(row.id)):
            continue
        if row.needed:
            yield self.tell(f"This bike has no {row.what}.", (row.id,))
        for key, word in sorted(row.needed_if.items()):
            test = _condition(view, key, word)
            if test is not None and not test.no:
                reason = row.needed_why or f"{key} is {word.removeprefix('!')}"
                yield from self.judge(
                    Test(Answer.NO if test.yes else Answer.UNKNOWN, test.facts),
                    (row.id,),
                    fault=f"This bike has no {row.what}: {reason}.",
                    ask=f"whether a {row.what} is needed",
                )


def _condition(view: View, key: str, word: str) -> Test | None:
    """Is `position.attribute` one of these words (or, with `!`, another)? None where nothing sits there."""
    position, _, attribute = key.partition(".")
    if not view.has(position, attribute):
        return None
    ask = is_not_word if word.startswith("!") else is_word
    return ask(view.word(position, attribute), *word.removeprefix("!").split("|"))
