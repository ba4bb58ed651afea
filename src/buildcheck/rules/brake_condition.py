"""The state of the brakes: rotors and pads that are worn down, and what somebody saw on a part of a brake."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.tape import each
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, say
from buildcheck.rules.ends import ENDS
from buildcheck.rules.seen import by_its_level, seen_on

# Our choice: what is left when new ones are worth ordering.
_ROTOR_LEFT_MM, _PADS_LEFT_MM = 0.1, 0.5


def _rubs_on(context: Context, position: str) -> tuple[str, ...]:
    """Of pads the rotor that they rub on, of a rotor its pads, if they are there."""
    pairs = ((end.rotor, end.pads) for end in ENDS)
    other = next((pads if position == rotor else rotor for rotor, pads in pairs if position in (rotor, pads)), "")
    return (other,) if other in context.bike else ()


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="the limit is the maker's; new rotors of 1.8 mm end at 1.5 mm: from memory; what counts as near: our choice",
    rider=True,
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
    use_proves=Proof.NOTHING, endangers=True,
    source="the limit is the maker's, on the pad or in its papers; what counts as near: our choice",
    rider=True,
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
    if context.is_changed(position) and not ("thickness_mm" in view.bike[position].measured and thickness.known):
        return  # it comes new from its box, and what is sold has something left to wear
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


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def brake_contaminated(self: Rule, context: Context) -> Iterator[Finding]:
    """There is oil or brake fluid on a brake.

    A film that nobody sees halves the braking, and heat only drives it deeper into the pad. The brake
    squeals, holds poorly and grabs without warning. Pads and rotor make each other oily, and so do shoes and rim.
    On a lever, a hose or a caliper it may be the fluid of the brake itself, which is then missing inside.

    Cure: new pads, the rotor cleaned with brake cleaner and a fresh rag, both bedded in; look where the oil
    comes from, which may be a caliper that weeps.
    """
    for spot in seen_on(context, "contaminated"):
        part = context.view.name(spot.position)
        fault = say("There is oil or brake fluid on {part}: it must not be ridden so.", part=part)
        ask = say("whether the oil on {part} comes to a brake", part=part)
        caution = say("There is oil on {part}: clean it before any comes to the braking surface.", part=part)
        yield from by_its_level(
            self, context, "contaminated", spot, fault=fault, ask=ask, caution=caution,
            beside=_rubs_on(context, spot.position),
        )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def brake_leaks(self: Rule, context: Context) -> Iterator[Finding]:
    """Fluid comes out of a brake.

    What comes out is missing inside: the lever goes softer with each stop, and one day to the bar. The fluid
    finds its way to pads and rotor, and brake fluid of the DOT grades eats paint.

    Cure: find where it weeps; a new olive and insert, new seals where the maker sells them, else a new part;
    bleed the brake, clean what became wet, new pads if they did.
    """
    for spot in seen_on(context, "weeping"):
        part = context.view.name(spot.position)
        fault = say("Fluid comes out of {part}: the brake cannot be relied on.", part=part)
        ask = say("whether what comes out of {part} is the fluid of a brake", part=part)
        yield from by_its_level(self, context, "weeping", spot, fault=fault, ask=ask)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def brake_seized(self: Rule, context: Context) -> Iterator[Finding]:
    """A brake, its lever or its cable does not move as it should.

    A piston or a pivot that sticks either does not brake or does not let go. A brake that drags heats up on
    its own until the fluid boils or the pads burn.

    Cure: free and clean it by the maker's papers, or replace it; then test it on the stand.
    """
    for spot in seen_on(context, "seized", of_the_brake=True):
        part = context.view.name(spot.position)
        fault = say("{part} sticks: the brake cannot be relied on.", part=part)
        ask = say("whether {part}, which sticks, works a brake", part=part)
        yield from by_its_level(self, context, "seized", spot, fault=fault, ask=ask)


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def line_kinked(self: Rule, context: Context) -> Iterator[Finding]:
    """A hose, a housing or a wire is kinked.

    A kinked hose lets fluid through too slowly and can burst there; in a kinked housing the cable drags, so
    that a brake does not let go or does not come on fully. A wire breaks inside where nobody sees it.

    Cure: a new line, laid so that it is nowhere bent more sharply than its maker allows.
    """
    for spot in seen_on(context, "kinked"):
        part = context.view.name(spot.position)
        fault = say("{part} is kinked: the brake cannot be relied on.", part=part)
        ask = say("whether {part}, which is kinked, works a brake", part=part)
        caution = say("{part} is kinked and will not work well for long: replace it.", part=part)
        yield from by_its_level(self, context, "kinked", spot, fault=fault, ask=ask, caution=caution)


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source", rider=True,
)  # fmt: skip
def braking_rim_worn(self: Rule, context: Context) -> Iterator[Finding]:
    """A rim on which shoes brake looks worn, or has grooves.

    Shoes wear the side wall thin from outside, and the air in the tyre pushes it outwards from inside. At its
    end the wall bursts at once, mostly while braking, and jams the wheel in the frame or fork.

    Cure: measure the wall over the hollow of the track, or look for the wear mark; a new rim or wheel at the
    maker's limit. Where it is still above, take the note out of the bike file.
    """
    for spot in seen_on(context, "worn"):
        part = context.view.name(spot.position)
        fault = say("{part} looks worn where the shoes brake: it must not be ridden before it is measured.", part=part)
        ask = say("whether shoes brake on the rim of {part}, which looks worn", part=part)
        yield from by_its_level(self, context, "worn", spot, fault=fault, ask=ask)
    for spot in seen_on(context, "grooved", of_the_brake=False, level=Level.CAUTION):
        part = context.view.name(spot.position)
        text = say("{part} is grooved: measure its side wall in the grooves.", part=part)
        yield self.tell(text, (spot.position,), level=Level.CAUTION)


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True, settled_at_work=True)
def rotor_grooved(self: Rule, context: Context) -> Iterator[Finding]:
    """A rotor is worn into grooves.

    New pads touch only the ridges until they are worn to the same shape. Until then the brake is weak and
    loud, and the rotor is thinner in its grooves than a gauge across them says.

    Cure: measure it in the grooves; a new rotor with new pads where the grooves are felt with a fingernail.
    """
    for spot in seen_on(context, "grooved", of_the_brake=True, level=Level.CAUTION):
        part = context.view.name(spot.position)
        text = say("{part} is grooved: measure it in the grooves; new pads bed in badly on it.", part=part)
        yield self.tell(text, (spot.position, *_rubs_on(context, spot.position)))


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True, settled_at_work=True)
def pads_glazed(self: Rule, context: Context) -> Iterator[Finding]:
    """The pads are smooth and shiny from heat.

    A glazed pad slides: it squeals and holds poorly. It comes of dragging the brake on a descent, or of pads
    that were never bedded in.

    Cure: sand the shine off on a flat plate if there is enough pad left, clean the rotor, bed both in; else
    new pads.
    """
    for spot in seen_on(context, "glazed", level=Level.CAUTION):
        part = context.view.name(spot.position)
        text = say("{part} is glazed: take the shine off or fit new pads, and bed them in.", part=part)
        yield self.tell(text, (spot.position, *_rubs_on(context, spot.position)))
