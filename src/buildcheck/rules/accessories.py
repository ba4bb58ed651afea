"""What hangs on the bike and must suit it: the stays of mudguards, chain cases, stabilisers."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.drivetrain import ring_positions, ring_teeth
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Test, is_word, same_word
from buildcheck.fit.places import place_facts
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, say
from buildcheck.rules.ends import ENDS, REAR


def of_use(view: View, use: str, *attributes: str) -> Iterator[tuple[str, Test]]:
    """The accessories that may be of this use, one by one, each with whether it is; those with these attributes."""
    for name in each(_with(view, attributes)):
        test = is_word(view.word(name, "use"), use)
        if not test.no:
            yield name, test


def _with(view: View, attributes: tuple[str, ...]) -> list[str]:
    """The accessories of a kind that has a use and these attributes."""
    return view.layout.recall(("accessories with", attributes), lambda: [
        name for name in view.of_row("accessory") if view.has(name, "use", *attributes)
    ])  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def mudguard_stays_loose(self: Rule, context: Context) -> Iterator[Finding]:
    """The stays of the mudguards are made for eyelets, and the frame or the fork has none.

    A mudguard that only hangs at its bridge swings into the tyre. In front it folds up between tyre and fork and
    stops the wheel at once.

    Cure: mudguards whose stays are held by bands round the legs, or a fork or frame with eyelets.
    """
    view = context.view
    for name, mudguards in of_use(view, "mudguards", "stays"):
        screwed = is_word(view.word(name, "stays"), "eyelets").both(mudguards)
        for end in each(ENDS):
            holder = view.bike.get(end.holder)
            if holder is None:
                continue
            there = any(place.type == "mudguard.eyelets" for place in holder.part.places)
            without = Answer.NO if holder.part.lists("places") else Answer.UNKNOWN
            test = Test(Answer.YES if there else without, place_facts(holder)).only_if(screwed)
            if self.is_silent(test):
                continue
            told: dict[str, Value] = {"mudguards": view.name(name), "holder": view.name(end.holder)}
            yield from self.judge(
                test,
                (name, end.holder),
                fault=say("The stays of {mudguards} are screwed to eyelets, and {holder} has none.", **told),
                ask=say("whether the stays of {mudguards} find their hold on {holder}", **told),
            )


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the word of its maker; common practice, no source",
)  # fmt: skip
def chain_case_too_small(self: Rule, context: Context) -> Iterator[Finding]:
    """The chain guard or chain case is made for a smaller ring.

    The teeth and the chain run against its inside: they saw it open, and a piece of it that comes loose is drawn
    between chain and ring and locks the cranks.

    Cure: a guard for that ring, or a ring that goes into it.
    """
    view = context.view
    rings = ring_teeth(view)
    for name, covers in of_use(view, "chain-guard", "ring_max_teeth") if rings else ():
        limit = view.amount(name, "ring_max_teeth")
        for position, teeth in zip(ring_positions(view) or ("crankset",), rings, strict=False):
            test = teeth.at_most(limit).only_if(covers)
            if self.is_silent(test):
                continue
            told: dict[str, Value] = {"guard": view.name(name), "ring": view.name(position)}
            yield from self.judge(
                test,
                (name, position),
                fault=say(
                    "{ring} has {teeth}; {guard} takes {limit} at most.",
                    teeth=teeth.told("teeth"), limit=limit.told("teeth"), **told,
                ),
                ask=say("whether {ring} goes into {guard}", **told),
            )  # fmt: skip


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the word of their maker; common practice, no source",
)  # fmt: skip
def stabilisers_of_another_size(self: Rule, context: Context) -> Iterator[Finding]:
    """The stabilisers are made for wheels of another size.

    Those for a smaller wheel hang in the air, so that the child falls before they touch. Those for a larger one lift
    the rear wheel: it turns idly, and its brake stops nothing.

    Cure: stabilisers for this wheel size.
    """
    view = context.view
    if not view.has(REAR.tyre, "bead_seat_mm"):
        return
    for name, stabilisers in of_use(view, "stabilisers", "bead_seat_mm"):
        made_for, seat = view.word(name, "bead_seat_mm"), view.word(REAR.tyre, "bead_seat_mm")
        test = same_word(seat, made_for).only_if(stabilisers)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"stabilisers": view.name(name), "tyre": view.name(REAR.tyre)}
        yield from self.judge(
            test,
            (name, REAR.tyre),
            fault=say(
                "{stabilisers} is made for wheels of {made_for}; {tyre} sits on {seat}.",
                made_for=made_for.told(), seat=seat.told(), **told,
            ),
            ask=say("whether {stabilisers} suits a wheel with {tyre}", **told),
        )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def stabilisers_hit_derailleur(self: Rule, context: Context) -> Iterator[Finding]:
    """The arm of the stabilisers goes where the derailleur hangs.

    Under the right axle nut hang the hanger and the derailleur, and a plain arm presses on them: the derailleur no
    longer stands straight, and the chain comes off into the spokes.

    Cure: stabilisers whose arm goes round a derailleur, or none.
    """
    view = context.view
    if "rear-derailleur" not in view.bike:
        return
    for name, stabilisers in of_use(view, "stabilisers", "passes_derailleur"):
        test = is_word(view.word(name, "passes_derailleur"), "yes").only_if(stabilisers)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"stabilisers": view.name(name), "derailleur": view.name("rear-derailleur")}
        yield from self.judge(
            test,
            (name, "rear-derailleur"),
            fault=say("The arm of {stabilisers} goes where {derailleur} hangs.", **told),
            ask=say("whether {stabilisers} leaves room for {derailleur}", **told),
        )
