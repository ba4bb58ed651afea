"""The state of the parts: rotors and pads that are worn down, and what somebody saw on a part of this bike."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Fact, Test, is_not_word
from buildcheck.fit.tape import each
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.model.parts.base import vocabulary_of
from buildcheck.model.parts.brakes import Lever
from buildcheck.model.sentences import Several, Value, Word, as_said, say
from buildcheck.rules.ends import ENDS

# Our choice: what is left when new ones are worth ordering.
_ROTOR_LEFT_MM, _PADS_LEFT_MM = 0.1, 0.5
_IN_A_SENTENCE = {"unknown-history": say("of unknown history")}
_TOLD_OF_ANY = ("bent", "cracked", "worn")


def _seen(spot: Fitted) -> Fact:
    return Fact(spot.home, "condition", spot.condition, "", Origin.MEASURED, spot.written_at("condition"))


def _has_own_rule(context: Context, spot: Fitted, word: str) -> bool:
    if isinstance(spot.part, Lever) and context.view.word(spot.position, "brake").value == "none":
        return word in _TOLD_OF_ANY  # a shifter that sticks stops nobody from braking
    return word in _TOLD_OF_ANY or word in context.view.standards.kinds[spot.part.kind].brakes_badly_if


def _with(context: Context, word: str) -> Iterator[Fitted]:
    """The parts on which this was seen and of which a rule of its own tells it, one by one."""
    for spot in each(context.view.noted()):
        if word in spot.condition and _has_own_rule(context, spot, word):
            yield spot


def _pair(context: Context, position: str) -> tuple[str, ...]:
    """Pads and the rotor that they rub on, the one that was looked at first."""
    pairs = ((end.rotor, end.pads) for end in ENDS)
    other = next((pads if position == rotor else rotor for rotor, pads in pairs if position in (rotor, pads)), "")
    return (position, other) if other in context.bike else (position,)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    source="the limit is the maker's; new rotors of 1.8 mm end at 1.5 mm: from memory; what counts as near: our choice",
)
def rotor_worn_out(self: Rule, context: Context) -> Iterator[Finding]:
    """A rotor is worn to its limit, or nearly.

    A thin rotor warps when it is hot and can tear at its arms. The pistons travel further out, and with worn
    pads one of them can leave its seal: the brake is then gone at once.

    Cure: a new rotor; new pads with it if the old ones are worn to its shape.
    """
    view = context.view
    for position in each(end.rotor for end in ENDS):
        if view.has(position, "thickness_mm", "thickness_min_mm"):
            yield from _worn(self, context, position, _ROTOR_LEFT_MM)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    source="the limit is the maker's, on the pad or in its papers; what counts as near: our choice",
)
def pads_worn_out(self: Rule, context: Context) -> Iterator[Finding]:
    """Brake pads or shoes are worn to their limit, or nearly.

    Below the limit the backing plate, or the metal of a shoe, meets rotor or rim: the brake screams, barely
    holds, and what it rubs on is ruined on one long descent.

    Cure: new pads of the brake's shape, bedded in.
    """
    view = context.view
    for position in each(end.pads for end in ENDS):
        if view.has(position, "thickness_mm", "thickness_min_mm"):
            yield from _worn(self, context, position, _PADS_LEFT_MM)


def _worn(self: Rule, context: Context, position: str, near_mm: float) -> Iterator[Finding]:
    view = context.view
    thickness, least = view.amount(position, "thickness_mm"), view.amount(position, "thickness_min_mm")
    holds, near = thickness.at_least(least), thickness.at_least(least + near_mm)
    if self.is_silent(holds) and self.is_silent(near, Level.CAUTION):
        return
    part = view.name(position)
    told: dict[str, Value] = {"part": part, "thickness": thickness.told("mm"), "least": least.told("mm")}
    yield from self.judge(
        holds,
        (position,),
        fault=say("{part} is {thickness} thick; its limit is {least}.", **told),
        ask=say("whether {part} is worn to its limit", part=part),
    )
    if not holds.no:
        fault = say("{part} is {thickness} thick; its limit is {least}, which is near.", **told)
        yield from self.judge(near, (position,), fault=fault, level=Level.CAUTION)


@rule(Level.BLOCKS, source="common practice, no source")
def brake_contaminated(self: Rule, context: Context) -> Iterator[Finding]:
    """There is oil or brake fluid on brake pads or on a rotor.

    A film that nobody sees halves the braking, and heat only drives it deeper into the pad. The brake
    squeals, holds poorly and grabs without warning. One of the two makes the other oily.

    Cure: new pads, the rotor cleaned with brake cleaner and a fresh rag, both bedded in; look where the oil
    comes from, which may be a caliper that weeps.
    """
    for spot in _with(context, "contaminated"):
        part = context.view.name(spot.position)
        text = say("There is oil or brake fluid on {part}: it must not be ridden so.", part=part)
        yield self.tell(text, _pair(context, spot.position), (_seen(spot),))


@rule(Level.BLOCKS, source="common practice, no source")
def brake_seized(self: Rule, context: Context) -> Iterator[Finding]:
    """A brake or a brake lever does not move as it should.

    A piston or a pivot that sticks either does not brake or does not let go. A brake that drags heats up on
    its own until the fluid boils or the pads burn.

    Cure: free and clean it by the maker's papers, or replace it; then test it on the stand.
    """
    for spot in _with(context, "seized"):
        text = say("{part} sticks: the brake cannot be relied on.", part=context.view.name(spot.position))
        yield self.tell(text, (spot.position,), (_seen(spot),))


@rule(Level.BLOCKS, source="common practice, no source")
def part_cracked(self: Rule, context: Context) -> Iterator[Finding]:
    """A part has a crack.

    Cracks grow with each load and give no second warning. Nobody can tell by the eye how deep one goes; of
    carbon, even the surface tells little.

    Cure: replace the part. A frame or fork is looked at by its maker or a shop that repairs such frames.
    """
    for spot in _with(context, "cracked"):
        text = say("{part} is cracked: it must not be ridden so.", part=context.view.name(spot.position))
        yield self.tell(text, (spot.position,), (_seen(spot),))


@rule(Level.BLOCKS, Level.CAUTION, source="common practice, no source")
def part_bent(self: Rule, context: Context) -> Iterator[Finding]:
    """A part is out of its shape.

    What bears the rider has been loaded past its limit once it is bent, and bending it back weakens it
    again: it breaks later and without warning. Other parts, such as a rotor or a hanger, no longer run true.

    Cure: replace what bears the rider; true or replace the rest.
    """
    for spot in _with(context, "bent"):
        yield from _bent(self, context, spot)


def _bent(self: Rule, context: Context, spot: Fitted) -> Iterator[Finding]:
    seen, spared, part = _seen(spot), _bears_nobody(context, spot), context.view.name(spot.position)
    tape.read((seen,))
    always = isinstance(context.view.standards.kinds[spot.part.kind].bears_a_person, bool)
    yield from self.judge(
        spared,
        (spot.position,),
        fault=say(_BENT[always], part=part),
        ask=say("whether {part}, which is bent, bears a person", part=part),
        because=lambda: causes_of((seen, *spared.facts)),
    )
    if spared.yes:
        text = say("{part} is bent: true it, or replace it if it does not come true.", part=part)
        yield self.tell(text, (spot.position,), level=Level.CAUTION)


# By whether it is in the nature of the kind to bear the rider, or a matter of what the part is used for.
_BENT = {
    True: "{part} is bent and bears the rider: it must not be ridden so.",
    False: "{part} is bent and bears a person: it must not be ridden so.",
}


def _bears_nobody(context: Context, spot: Fitted) -> Test:
    """Is this a part that nobody sits on or is drawn by?"""
    view, bears = context.view, context.view.standards.kinds[spot.part.kind].bears_a_person
    if isinstance(bears, bool):
        return Test(Answer.NO if bears else Answer.YES, ())
    words = view.standards.words_with(vocabulary_of(type(spot.part), bears), "bears_a_person")
    return is_not_word(view.word(spot.position, bears), *words)


@rule(Level.CAUTION, source="common practice, no source")
def rotor_grooved(self: Rule, context: Context) -> Iterator[Finding]:
    """A rotor is worn into grooves.

    New pads touch only the ridges until they are worn to the same shape. Until then the brake is weak and
    loud, and the rotor is thinner in its grooves than a gauge across them says.

    Cure: measure it in the grooves; a new rotor with new pads where the grooves are felt with a fingernail.
    """
    for spot in _with(context, "grooved"):
        part = context.view.name(spot.position)
        text = say("{part} is grooved: measure it in the grooves; new pads bed in badly on it.", part=part)
        yield self.tell(text, _pair(context, spot.position), (_seen(spot),))


@rule(Level.CAUTION, source="common practice, no source")
def pads_glazed(self: Rule, context: Context) -> Iterator[Finding]:
    """The pads are smooth and shiny from heat.

    A glazed pad slides: it squeals and holds poorly. It comes of dragging the brake on a descent, or of pads
    that were never bedded in.

    Cure: sand the shine off on a flat plate if there is enough pad left, clean the rotor, bed both in; else
    new pads.
    """
    for spot in _with(context, "glazed"):
        part = context.view.name(spot.position)
        text = say("{part} is glazed: take the shine off or fit new pads, and bed them in.", part=part)
        yield self.tell(text, _pair(context, spot.position), (_seen(spot),))


@rule(Level.CAUTION, source="common practice, no source")
def part_worn(self: Rule, context: Context) -> Iterator[Finding]:
    """A part looks worn.

    A look is no measurement: how much is left decides whether it may stay. A worn part also wears what runs
    on it, a chain its sprockets, a pad its rotor.

    Cure: measure it against its limit; replace it where it is reached.
    """
    for spot in _with(context, "worn"):
        text = say("{part} looks worn: measure it against its limit.", part=context.view.name(spot.position))
        yield self.tell(text, (spot.position,), (_seen(spot),))


@rule(Level.EXTRA, source="common practice, no source; what to expect: from memory", needs_change=True)
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
            yield self.tell(text, (spot.position,), (_seen(spot),))


@rule(Level.NOTE, source="our choice: what was noted is told again")
def condition_noted(self: Rule, context: Context) -> Iterator[Finding]:
    """Something was noted on a part that no other finding tells of.

    Whoever wrote it down wanted it to be seen. It matters when the part is to be used again, or comes off.

    Cure: look at the part, and take the note out of the bike file when it no longer holds.
    """
    for spot in each(context.view.noted()):
        words = [word for word in spot.condition if not _has_own_rule(context, spot, word)]
        if words:
            told = Several(tuple(_IN_A_SENTENCE.get(word, Word(word)) for word in words))
            text = say("It was noted that {part} is {words}.", part=context.view.name(spot.position), words=told)
            yield self.tell(text, (spot.position,), (_seen(spot),))
