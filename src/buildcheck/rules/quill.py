"""Quills in the steerer: how deep they go, and where their mark is."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, isfinite

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, of_pattern, worked_out
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import say
from buildcheck.trade.steering import LEAST_QUILL_MARK_DIAMETERS, QUILL_MARK_DIAMETERS, least_quill_mark_mm

# What can hold by a quill in the steerer: its position, the attribute that tells whether it does, the quill's size.
_QUILLS = (("stem", "steerer_section", "quill_mm"), ("quill-adapter", "side_b", "side_b_mm"))


def _quills(view: View) -> Iterator[tuple[str, Amount, Amount, Test]]:
    """What could hold by a quill: its position, its mark, the size of its quill, and whether it has one."""
    for position, section, size in each(_QUILLS):
        if view.has(position, "quill_insertion_min_mm", section, size):
            mark, diameter = view.amount(position, "quill_insertion_min_mm"), view.amount(position, size)
            yield position, mark, diameter, of_pattern(view.word(position, section), "quill*")


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source: the mark is the stem maker's own",
)  # fmt: skip
def quill_has_too_little_room(self: Rule, context: Context) -> Iterator[Finding]:
    """The steerer is shorter than the quill has to be pushed in.

    A quill is pushed in at least as far as its mark. In a steerer that is shorter its wedge comes out at
    the crown, where nothing holds it, and the bar turns without the wheel. How deep it sits on this bike is
    set with the bar height, so it is a step of the work and no fact of a record.

    Cure: a stem or adapter with a shorter quill; never one whose mark is seen above the locknut.
    """
    view = context.view
    if not view.has("fork", "steerer_length_mm"):
        return
    for position, mark, _, quill in _quills(view):
        steerer = view.amount("fork", "steerer_length_mm")
        test = steerer.at_least(mark).only_if(quill)
        if self.is_silent(test):
            continue
        yield from self.judge(
            test,
            (position, "fork"),
            fault=say(
                "The quill has to be {mark} in the steerer, which is {steerer} long.",
                mark=mark.told("mm"), steerer=steerer.told("mm"),
            ),
            ask="whether the steerer takes the quill as far as its mark",
        )  # fmt: skip


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="16 CFR 1512.6(a) and ISO 4210-2:2015 cl. 4.7.3: 2.5 diameters; 1.5 diameters: our choice",
    rider=True,
)
def quill_mark_too_low(self: Rule, context: Context) -> Iterator[Finding]:
    """The mark on the quill lies closer to its lower end than the rule for bicycles allows.

    A mark has to be at least 2.5 diameters from the lower end, so that a quill set to it still has a hold
    above its wedge. An old stem, or one that was sawn off, can have less. Below 1.5 diameters, where the wedge has
    nothing above it, it blocks.

    Cure: set the quill 2.5 diameters deep at least, or fit a stem or adapter with a proper mark.
    """
    for position, mark, diameter, quill in _quills(context.view):
        usual = mark.at_least(least := _least_mark(diameter, QUILL_MARK_DIAMETERS)).only_if(quill)
        if self.is_silent(usual):
            continue
        yield from self.judge_with_limit(
            usual,
            mark.at_least(_least_mark(diameter, LEAST_QUILL_MARK_DIAMETERS)).only_if(quill),
            (position,),
            fault=say(
                "The mark of the quill is {mark} from its lower end; {count} diameters are {least}.",
                mark=mark.told("mm"), count=QUILL_MARK_DIAMETERS, least=least.told("mm"),
            ),
            ask="whether the quill holds at its mark",
        )  # fmt: skip


def _least_mark(diameter: Amount, diameters: float) -> Amount:
    return worked_out(lambda size: least_quill_mark_mm(size, diameters) if isfinite(size) else inf, diameter)
