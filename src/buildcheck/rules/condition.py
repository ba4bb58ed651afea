"""What somebody saw on any part of this bike: cracks, bends, rust, wear and play. That of brakes stands beside this."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.tape import each
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Several, Value, Word, as_said, say
from buildcheck.rules.seen import by_its_level, has_level, kind_of, noted_on, seen_on

_IN_A_SENTENCE = {"unknown-history": say("of unknown history")}


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def part_cracked(self: Rule, context: Context) -> Iterator[Finding]:
    """A part has a crack.

    Cracks grow with each load and give no second warning. Nobody can tell by the eye how deep one goes; of
    carbon, even the surface tells little. What bears neither a rider nor a load and works no brake is a caution.

    Cure: replace the part. A frame or fork is looked at by its maker or a shop that repairs such frames.
    """
    for spot in seen_on(context, "cracked"):
        part = context.view.name(spot.position)
        fault = say("{part} is cracked: it must not be ridden so.", part=part)
        ask = say("whether {part}, which is cracked, bears a person or a load, or works a brake", part=part)
        caution = say("{part} is cracked: replace it before it falls off or lets water in.", part=part)
        yield from by_its_level(self, context, "cracked", spot, fault=fault, ask=ask, caution=caution)


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def part_bent(self: Rule, context: Context) -> Iterator[Finding]:
    """A part is out of its shape.

    What bears the rider has been loaded past its limit once it is bent, and bending it back weakens it
    again: it breaks later and without warning. Other parts, such as a rotor or a hanger, no longer run true.

    Cure: replace what bears the rider; true or replace the rest.
    """
    for spot in seen_on(context, "bent"):
        part = context.view.name(spot.position)
        always = kind_of(context, spot).seen.levels["bent"] is Level.BLOCKS
        fault = say(_BENT[always], part=part)
        ask = say("whether {part}, which is bent, bears a person", part=part)
        caution = say("{part} is bent: true it, or replace it if it does not come true.", part=part)
        yield from by_its_level(self, context, "bent", spot, fault=fault, ask=ask, caution=caution)


# By whether it is in the nature of the kind to bear the rider, or a matter of what the part is used for.
_BENT = {
    True: "{part} is bent and bears the rider: it must not be ridden so.",
    False: "{part} is bent and bears a person: it must not be ridden so.",
}


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def part_frayed(self: Rule, context: Context) -> Iterator[Finding]:
    """Strands of a cable, or the threads of a casing or a strap, are broken.

    The strands that are left carry the load of those that broke, and go one after the other: a brake cable
    tears in the one hard stop that it is needed for. A tyre whose threads are torn bursts there.

    Cure: a new inner cable, tyre, wire or strap.
    """
    for spot in seen_on(context, "frayed"):
        part = context.view.name(spot.position)
        fault = say("{part} is frayed and can tear at any time: it must not be ridden so.", part=part)
        ask = say("whether a brake or a person depends on {part}, which is frayed", part=part)
        caution = say("{part} is frayed: replace it before it tears.", part=part)
        yield from by_its_level(self, context, "frayed", spot, fault=fault, ask=ask, caution=caution)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def spokes_loose(self: Rule, context: Context) -> Iterator[Finding]:
    """A wheel has spokes without tension.

    The other spokes carry what these should, and break of fatigue one by one; under load from the side the
    rim then folds at once.

    Cure: bring all spokes to an even tension and true the wheel; look for pulled-through eyelets and cracks
    at the holes of rim and hub first.
    """
    for spot in seen_on(context, "loose-spokes"):
        part = context.view.name(spot.position)
        fault = say("{part} has loose spokes: it must not be ridden so.", part=part)
        ask = say("whether {part} has loose spokes", part=part)
        yield from by_its_level(self, context, "loose-spokes", spot, fault=fault, ask=ask)


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def bearing_seized(self: Rule, context: Context) -> Iterator[Finding]:
    """Something that turns in bearings does not turn as it should.

    With a stiff headset nobody keeps a straight line: the bike falls to one side. A wheel that sticks throws
    the rider. Pedals and cranks that stick only wear out, but a pedal may unscrew itself.

    Cure: new bearings, or clean, grease and set them; look why they ran dry.
    """
    for spot in seen_on(context, "seized", of_the_brake=False):
        part = context.view.name(spot.position)
        fault = say("{part} does not turn as it should: it must not be ridden so.", part=part)
        ask = say("whether {part}, which sticks, has to turn", part=part)
        caution = say("{part} does not turn as it should: free it, or renew its bearings.", part=part)
        yield from by_its_level(self, context, "seized", spot, fault=fault, ask=ask, caution=caution)


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def bearing_play(self: Rule, context: Context) -> Iterator[Finding]:
    """There is play in bearings or pivots.

    With play in the headset the fork knocks in the head tube: the front brake judders, and the seats of the
    bearings and the steerer are hammered to pieces. Elsewhere play wears the bearings out and lets a wheel
    run out of true.

    Cure: set the bearings; new ones where play stays or they run rough once it is gone.
    """
    for spot in seen_on(context, "bearing-play"):
        part = context.view.name(spot.position)
        fault = say("{part} has play, so that the steering knocks: it must not be ridden so.", part=part)
        ask = say("whether {part}, which has play, steers", part=part)
        caution = say("{part} has play in its bearings or pivots: set them, or renew them.", part=part)
        yield from by_its_level(self, context, "bearing-play", spot, fault=fault, ask=ask, caution=caution)


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True, settled_at_work=True)
def part_corroded(self: Rule, context: Context) -> Iterator[Finding]:
    """A part that bears a load, or a brake, is corroded.

    Rust eats from inside, too, in a steerer or a chainstay: how much metal is left cannot be seen. White
    powder on aluminium beside steel, or beside carbon, tells of the same.

    Cure: brush it clean and look for pits and cracks, tap thin tubes and measure what is left; replace what is
    pitted.
    """
    for spot in seen_on(context, "corroded", level=Level.CAUTION):
        part = context.view.name(spot.position)
        text = say("{part} is corroded: clean it, and look how deep it goes before it is ridden.", part=part)
        yield self.tell(text, (spot.position,))


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True, settled_at_work=True)
def seal_weeps(self: Rule, context: Context) -> Iterator[Finding]:
    """Oil, sealant or acid comes out of a part that is no brake.

    A suspension fork or a dropper post that loses its oil wears dry and soon sticks; oil that runs down to a
    brake takes its grip. A tyre that weeps loses air.

    Cure: a service with new seals, a new tube or fresh sealant; a battery that leaks goes at once. Keep
    what comes out away from the brakes.
    """
    for spot in seen_on(context, "weeping", level=Level.CAUTION):
        part = context.view.name(spot.position)
        text = say("Something comes out of {part}: seal it, and keep it away from the brakes.", part=part)
        yield self.tell(text, (spot.position,))


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True, settled_at_work=True)
def part_worn(self: Rule, context: Context) -> Iterator[Finding]:
    """A part looks worn.

    A look is no measurement: how much is left decides whether it may stay. A worn part also wears what runs
    on it, a chain its sprockets, a pad its rotor.

    Cure: measure it against its limit; replace it where it is reached.
    """
    for spot in seen_on(context, "worn", level=Level.CAUTION):
        text = say("{part} looks worn: measure it against its limit.", part=context.view.name(spot.position))
        yield self.tell(text, (spot.position,))


@rule(
    Level.EXTRA, use_proves=Proof.NOTHING,
    source="common practice, no source; what to expect: from memory", rider=False, needs_change=True,
)  # fmt: skip
def part_stuck(self: Rule, context: Context) -> Iterator[Finding]:
    """A part that has to come off for the change is seized or corroded.

    It comes off when it wants to. Penetrating oil needs hours, and some parts come off in pieces or take the
    thread with them.

    Cure: tell the customer before the job is begun, soak it the day before, and have the spare at hand.
    """
    before = context.before
    if before is None:
        return
    for spot in each(before.bike.main_spots()):
        words = tuple(Word(word) for word in ("seized", "corroded") if word in spot.condition)
        holds = {spot.position} if spot.on is None else {spot.position, spot.on}
        if words and context.first_changed(*sorted(holds)) is not None:
            text = say(
                "{part} has to come off and is {words}: {expect}.",
                part=before.view.name(spot.position), words=Several(words),
                expect=as_said(context.view.standards.kinds[spot.part.kind].if_stuck),
            )  # fmt: skip
            yield self.tell(text, (spot.position,), (noted_on(spot),))


@rule(Level.NOTE, use_proves=Proof.NOTHING, source="our choice: what was noted is told again")
def condition_noted(self: Rule, context: Context) -> Iterator[Finding]:
    """Something was noted on a part that no other finding tells of.

    Whoever wrote it down wanted it to be seen. It matters when the part is to be used again, or comes off.

    Cure: look at the part, and take the note out of the bike file when it no longer holds.
    """
    for spot in each(context.view.noted()):
        words = [word for word in spot.condition if has_level(context, spot, word, Level.NOTE)]
        if words:
            told = Several(tuple(_IN_A_SENTENCE.get(word, Word(word)) for word in words))
            text = say("It was noted that {part} is {words}.", part=context.view.name(spot.position), words=told)
            yield self.tell(text, (spot.position,), (noted_on(spot),))


@rule(Level.NOTE, source="common practice, no source", needs_change=True, use_proves=Proof.NOTHING)
def wear_partner_kept(self: Rule, context: Context) -> Iterator[Finding]:
    """A part comes new, and the one that wears together with it stays.

    Chain and sprockets wear into each other, and so do pads and rotor, and a cable and its housing. A new part that
    runs on a worn one works badly and wears sooner: a new chain skips on worn sprockets, new pads bear on the edges of
    a grooved rotor only.

    Cure: measure the part that stays while it is at hand, and put it in new as well where it is worn.
    """
    view = context.view
    for new, kept, text in each(_WEAR_TOGETHER):
        for position in each(view.of_row(new)):
            partner = _partner(context, position, kept)
            if partner is not None and context.is_changed(position) and not context.is_changed(partner):
                told: dict[str, Value] = {"new": view.name(position), "kept": view.name(partner)}
                yield self.tell(say(text, **told), (position, partner))


def _partner(context: Context, position: str, row: str) -> str | None:
    """Where the part sits that wears together with another one: on the same line or wheel, or the only one."""
    if row == _ITS_LINE:
        return context.bike[position].on
    return row if row in context.bike else None


# No row: the line that carries a cable.
_ITS_LINE = ""
_CABLE = "{new} is new and {kept} stays: draw the cable through by hand; a rusty or kinked housing goes, too."
_PADS = "{new} are new and {kept} stays: measure the rotor against its limit, and feel for grooves."
_ROTOR = "{new} is new and {kept} stay: pads that wore to the shape of the old rotor do not bear on a new one."
# What is new, what wears together with it, and what is told of the two.
_WEAR_TOGETHER = (
    ("chain", "cassette", "{new} is new and {kept} stays: look at its wear; worn sprockets skip under a new chain."),
    ("cassette", "chain", "{new} is new and {kept} stays: measure how far it is drawn out; a worn chain ruins it."),
    ("front-pads", "front-rotor", _PADS),
    ("rear-pads", "rear-rotor", _PADS),
    ("front-rotor", "front-pads", _ROTOR),
    ("rear-rotor", "rear-pads", _ROTOR),
    *((f"{line}-cable", _ITS_LINE, _CABLE) for line in (
        "front-brake-line", "rear-brake-line", "front-shift-line", "rear-shift-line", "dropper-line",
    )),
)  # fmt: skip
