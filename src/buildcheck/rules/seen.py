"""What somebody saw on the parts of this bike, and how serious it is by the table of kinds. No rule is in this file."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule
from buildcheck.fit.facts import Answer, Fact, Test, is_not_word, is_word
from buildcheck.fit.tape import each
from buildcheck.model.bikes import Fitted
from buildcheck.model.conditions import BlocksIf
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.model.parts.base import vocabulary_of
from buildcheck.model.sentences import Said
from buildcheck.model.standards import KindRow


def noted_on(spot: Fitted) -> Fact:
    """What was seen on a part, as a fact of it."""
    return Fact(spot.home, "condition", spot.condition, "", Origin.MEASURED, spot.written_at("condition"))


def kind_of(context: Context, spot: Fitted) -> KindRow:
    """What the table says of this kind of part."""
    return context.view.standards.kinds[spot.part.kind]


def seen_on(
    context: Context, word: str, *, of_the_brake: bool | None = None, level: Level | None = None
) -> Iterator[Fitted]:
    """The parts on which this was seen, one by one; those of the brake alone, or all others, if it is said.

    With a level only those on which it is no more and no less.
    """
    for spot in each(context.view.noted()):
        if word not in spot.condition or of_the_brake not in (None, kind_of(context, spot).of_the_brake):
            continue
        if level is None or has_level(context, spot, word, level):
            yield spot


def by_its_level(
    self: Rule,
    context: Context,
    word: str,
    spot: Fitted,
    *,
    fault: Said,
    ask: Said,
    caution: Said | None = None,
    beside: tuple[str, ...] = (),
) -> Iterator[Finding]:
    """The finding where it blocks, or could; else the caution, if there is one and the table says so of this part.

    `beside` names positions that are to be looked at, too, where it blocks.
    """
    seen, harmless = noted_on(spot), _harmless(context, spot, word)
    tape.read((seen,))
    yield from self.judge(
        harmless,
        (spot.position, *beside),
        fault=fault,
        ask=ask,
        because=lambda: causes_of((seen, *harmless.facts)),
    )
    if caution is not None and kind_of(context, spot).seen.levels[word] is Level.CAUTION and harmless.yes:
        yield self.tell(caution, (spot.position,), level=Level.CAUTION)


def has_level(context: Context, spot: Fitted, word: str, level: Level) -> bool:
    """Is it a caution, or a note, on this part, and nothing makes it block?"""
    tape.read((noted_on(spot),))
    return kind_of(context, spot).seen.levels[word] is level and _harmless(context, spot, word).yes


def _harmless(context: Context, spot: Fitted, word: str) -> Test:
    """Is this part known to be none on which it blocks?"""
    seen = kind_of(context, spot).seen
    if seen.levels[word] is Level.BLOCKS:
        return Test(Answer.NO, ())
    holds = Test(Answer.YES, ())
    for row in seen.blocks_if:
        if word in row.seen:
            holds = holds.both(_none_of(context, spot, row))
    return holds


def _none_of(context: Context, spot: Fitted, row: BlocksIf) -> Test:
    fact = context.view.word(spot.position, row.attribute)
    if row.other_than:
        return is_word(fact, *row.other_than)
    vocabulary = vocabulary_of(type(spot.part), row.attribute)
    having = (context.view.standards.words_with(vocabulary, trait) for trait in row.traits)
    return is_not_word(fact, *row.words, *(word for words in having for word in words))
