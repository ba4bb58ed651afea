"""The tyre on its rim: kind and width of the rim, and what holds the air."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import is_not_word, is_word
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Value, say
from buildcheck.rules.ends import ENDS, End
from buildcheck.rules.tyre_facts import ends_with_tyre
from buildcheck.trade.tyres import (
    straight_side_least_tyre_mm,
    usual_tyre_range_mm,
)

# What a pump head grips of a valve, beyond the depth of the rim.
VALVE_FOR_PUMP_MM = 15.0
# Play of a valve in its hole: 0.5 mm is usual, 2.5 mm is a slim valve in a hole for a car valve, which a sleeve fills;
# beyond 3 mm, our choice, no sleeve does.
MOST_VALVE_PLAY_MM, VALVE_PLAY_LIMIT_MM = 1.0, 3.0
# Rim tape covers the bed from side to side and may climb a little way up the walls. Beyond these limits, our choice, it
# leaves holes of spokes open, or lies under the beads on both sides.
MOST_TAPE_EXTRA_MM, TAPE_LACKS_LIMIT_MM, TAPE_EXTRA_LIMIT_MM = 6.0, 6.0, 12.0


@rule(
    Level.BLOCKS, use_proves=Proof.RIDDEN,
    source="ISO 5775-2:2015 (extract) on rigid beads; glued tyres: common practice",
)  # fmt: skip
def rim_holds_other_tyres(self: Rule, context: Context) -> Iterator[Finding]:
    """The rim is made for another kind of tyre: with a bead that hooks in, with a rigid one, or glued on.

    A rim for glued tyres has no walls at all, so nothing holds a bead. A glued tyre has no bead, and on a rim with
    walls it lies on two edges and rolls off. Old straight-sided rims hold a rigid wire bead only: a folding bead
    stretches over the edge at pressure.

    Cure: a wheel with a rim for this tyre, or the tyre that the rim is made for.
    """
    view = context.view
    for end in ends_with_tyre(view):
        kind, bead = view.word(end.wheel, "rim_type"), view.word(end.tyre, "bead")
        rim_glued, tyre_glued = is_word(kind, "tubular"), is_word(bead, "sewn")
        walls = tyre_glued.only_if(rim_glued)
        edges = tyre_glued.opposite().only_if(rim_glued.opposite())
        holds = is_word(bead, "wire").only_if(is_word(kind, "straight-side-wired"))
        holds = holds.only_if(tyre_glued.opposite())
        if self.is_silent(walls) and self.is_silent(edges) and self.is_silent(holds):
            continue
        told: dict[str, Value] = {"wheel": view.name(end.wheel), "tyre": view.name(end.tyre), "bead": bead.told()}
        for test, fault, ask in (
            (walls, _WANTS_GLUED, say("whether the rim holds a tyre with a bead")),
            (edges, _WANTS_BEAD,
             say("whether the {tyre} is a glued one, which this rim does not hold", tyre=At(end.tyre))),
            (holds, _WANTS_WIRE,
             say("whether the bead of the {tyre} is a wire, which the old straight sides hold", tyre=At(end.tyre))),
        ):  # fmt: skip
            yield from self.judge(test, (end.tyre, end.wheel), fault=say(fault, **told), ask=ask)


_WANTS_GLUED = "The rim of the {wheel} is for glued tyres; the {tyre} has a bead."
_WANTS_BEAD = "The {tyre} is a glued tyre without a bead; the rim of the {wheel} is for tyres with one."
_WANTS_WIRE = (
    "The rim of the {wheel} has old straight sides, which hold rigid wire beads only; the {tyre} has the bead {bead}."
)


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="common practice, no source", rider=False)
def tube_for_nothing(self: Rule, context: Context) -> Iterator[Finding]:
    """There is an inner tube, or a tubeless set, and the tyre is a glued one with a tube of its own.

    It has no way into a casing that is sewn up. The valve that counts is the one that the tyre comes with.

    Cure: leave it off; glue the tyre on with cement or tape for tubular tyres, and let it set before it is ridden.
    """
    view = context.view
    for end in ends_with_tyre(view):
        if end.tube not in view.bike:
            continue
        test = is_not_word(view.word(end.tyre, "bead"), "sewn").unless_known()
        if self.is_silent(test):
            continue
        fault = say(
            "{tyre} is sewn round a tube of its own; {tube} is left off.",
            tyre=view.name(end.tyre), tube=view.name(end.tube),
        )  # fmt: skip
        yield from self.judge(test, (end.tube, end.tyre), fault=fault)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="ISO 5775-2 (ETRTO), quoted by CyclingTips; the word of the tyre's maker",
)  # fmt: skip
def straight_side_not_allowed(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre sits on a tubeless straight-side rim, and its maker does not allow that.

    A straight side has no hook. Only a bead that hardly stretches stays on it; any other climbs over the
    edge at pressure and the tyre comes off while riding.

    Cure: a tyre whose maker allows straight-side rims by name, or a hooked rim.
    """
    view = context.view
    for end in ends_with_tyre(view):
        straight = is_word(view.word(end.wheel, "rim_type"), "straight-side")
        test = is_word(view.word(end.tyre, "straight_side_ok"), "yes").only_if(straight)
        if self.is_silent(test):
            continue
        yield from self.judge(
            test,
            (end.tyre, end.wheel),
            fault=say(
                "The {wheel} has a straight-side rim; the maker of the {tyre} does not allow the tyre on one.",
                wheel=view.name(end.wheel), tyre=view.name(end.tyre),
            ),
            ask=say("whether the tyre may sit on this rim"),
        )  # fmt: skip


@rule(
    Level.CAUTION,
    use_proves=Proof.NOTHING,
    source="ETRTO 2023 as the press reported it on 2023-06-15: the rim's inner width and 5 mm",
    rider=True,
)
def tyre_narrow_for_straight_side(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre is narrower than tyres on straight-side rims should be.

    A narrow tyre on a wide rim without hooks stands with its walls apart, so its bead is pulled outwards.
    28 mm is the least that is told; where the rim is wider than 23 mm inside, its width and 5 mm.

    Cure: a wider tyre, or the word of both makers for this pair.
    """
    view = context.view
    for end in ends_with_tyre(view):
        if view.word(end.wheel, "rim_type").value != "straight-side":
            continue
        width, rim = view.amount(end.tyre, "width_mm"), view.amount(end.wheel, "rim_inner_mm")
        least = straight_side_least_tyre_mm(rim.low)
        fault = say(
            "The {tyre} is {width} wide; on a straight-side rim of {rim} inner width {least} mm is the least that is "
            "told.",
            tyre=view.name(end.tyre), width=width.told("mm"), rim=rim.told("mm"), least=least,
        )  # fmt: skip
        yield from self.judge(width.at_least(least), (end.tyre, end.wheel), fault=fault)


@rule(
    Level.CAUTION,
    use_proves=Proof.NOTHING,
    source="VeloNews technical FAQ: tyre 1.25 to 2.5 times the inner rim width, a rule of thumb",
    rider=True,
)
def tyre_width_unusual(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre is unusually narrow or wide for the rim, and the rim's own range is not on record.

    On a rim too wide the tyre is shallow and the rim is struck; on one too narrow it squirms and its bead
    is pulled inwards. What the rim's maker allows goes before this rule of thumb.

    Cure: look up the range in the rim maker's papers, or take a tyre nearer to the rim.
    """
    view = context.view
    for end in ends_with_tyre(view):
        width, rim = view.amount(end.tyre, "width_mm"), view.amount(end.wheel, "rim_inner_mm")
        least, most = (view.amount(end.wheel, name) for name in ("tyre_width_min_mm", "tyre_width_max_mm"))
        if not rim.known or (least.known and most.known):
            continue
        low, high = usual_tyre_range_mm(rim.low)[0], usual_tyre_range_mm(rim.high)[1]
        test = width.at_least(low).both(width.at_most(high))
        if self.is_silent(test):
            continue
        fault = say(
            "The {tyre} is {width} wide; on a rim of {rim} inner width {low} to {high} mm are usual, and the rim's own "
            "range is not on record.",
            tyre=view.name(end.tyre), width=width.told("mm"), rim=rim.told("mm"), low=low, high=high,
        )  # fmt: skip
        yield from self.judge(test, (end.tyre, end.wheel), fault=fault)


@rule(Level.BLOCKS, use_proves=Proof.RIDDEN, source="geometry")
def tyre_narrower_than_rim(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre is narrower than its rim is between the flanges.

    Such a tyre cannot stand up: its walls are drawn flat, the rim is struck by every stone, and the beads are
    pulled off their seats. Whatever a record allows, one of the two sizes is wrong.

    Cure: a wider tyre or a narrower rim; measure both if the bike is ridden so.
    """
    view = context.view
    for end in ends_with_tyre(view):
        width, rim = view.amount(end.tyre, "width_mm"), view.amount(end.wheel, "rim_inner_mm")
        if not rim.known:  # its maker's range tells
            continue
        stands = width.at_least(rim)
        if self.is_silent(stands):
            continue
        yield from self.judge(
            stands,
            (end.tyre, end.wheel),
            fault=say(
                "The {tyre} is {width} wide, and the rim is {rim} wide inside: the tyre cannot stand up in it.",
                tyre=view.name(end.tyre), width=width.told("mm"), rim=rim.told("mm"),
            ),
            ask=say("whether the {tyre} is wider than its rim is inside", tyre=view.name(end.tyre)),
        )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice; the word of the rim's maker")
def rim_not_tubeless(self: Rule, context: Context) -> Iterator[Finding]:
    """A tyre is set up without a tube on a rim that is not made for that.

    The rim's bed must be tight, and its shelf must hold the bead when the air goes out. On any other rim the
    tyre can let go of all its air at once.

    Cure: an inner tube, or a wheel with a tubeless rim.
    """
    for end in _ends_without_tube(context.view):
        yield from _without_tube(self, context.view, end, end.wheel)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice; the word of the tyre's maker")
def tyre_not_tubeless(self: Rule, context: Context) -> Iterator[Finding]:
    """A tyre that needs a tube is set up without one.

    Its bead is not made to seal and to stay on the shelf of the rim; it can blow off, and its walls sweat
    sealant.

    Cure: an inner tube, or a tyre that is marked tubeless.
    """
    for end in _ends_without_tube(context.view):
        yield from _without_tube(self, context.view, end, end.tyre)


def _ends_without_tube(view: View) -> Iterator[End]:
    """The ends where a tubeless set holds the air, one by one."""
    return each(end for end in ENDS if (spot := view.bike.get(end.tube)) and spot.part.kind == "tubeless-kit")


def _without_tube(self: Rule, view: View, end: End, judged: str) -> Iterator[Finding]:
    if not view.has(judged, "tubeless"):
        return
    told: dict[str, Value] = {"part": view.name(judged), "kit": view.name(end.tube)}
    if judged == end.wheel:
        fault = say(
            "The rim of the {part} is not made to hold air without a tube, and the {kit} is a tubeless set.", **told
        )
    else:
        fault = say("The {part} is not made to hold air without a tube, and the {kit} is a tubeless set.", **told)
    yield from self.judge(
        is_word(view.word(judged, "tubeless"), "yes"),
        (end.tube, judged),
        fault=fault,
        ask=say("whether the {part} holds air without a tube", part=At(judged)),
    )


def _with_tube(view: View) -> Iterator[End]:
    """The ends where a tube, or a tubeless set, is in a wheel, one by one."""
    return each(end for end in ENDS if view.has(end.tube, "valve_mm") and view.has(end.wheel, "valve_hole_mm"))


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, from memory", rider=True)
def valve_hardly_reached(self: Rule, context: Context) -> Iterator[Finding]:
    """So little of the valve stands out of the rim that a pump hardly holds on it.

    A pump head grips about 15 mm. A valve that ends nearer to the rim is hard to pump, and is torn at its
    foot by the attempt.

    Cure: a longer valve, or an extension on one whose core comes out.
    """
    view = context.view
    for end in _with_tube(view):
        valve, depth = view.amount(end.tube, "valve_length_mm"), view.amount(end.wheel, "rim_depth_mm")
        if not valve.at_least(depth).yes:
            continue
        test = valve.at_least(depth + VALVE_FOR_PUMP_MM)
        if self.is_silent(test):
            continue
        fault = say(
            "The valve of the {tube} is {valve} long and the rim {depth} deep; {grip} mm should stand out for the "
            "pump.",
            tube=view.name(end.tube), valve=valve.told("mm"), depth=depth.told("mm"), grip=VALVE_FOR_PUMP_MM,
        )  # fmt: skip
        yield from self.judge(test, (end.tube, end.wheel), fault=fault)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="common practice, from memory; the limit from which it blocks: our choice",
    rider=True,
)
def valve_loose_in_hole(self: Rule, context: Context) -> Iterator[Finding]:
    """The valve is much thinner than its hole in the rim.

    A tube bulges into the gap at pressure and tears at the foot of the valve; without a tube the rim leaks. A gap of
    more than 3 mm no sleeve fills, and it blocks.

    Cure: a sleeve for the hole, or a tube with a thicker valve.
    """
    view = context.view
    for end in _with_tube(view):
        valve, hole = view.amount(end.tube, "valve_mm"), view.amount(end.wheel, "valve_hole_mm")
        usual = hole.at_most(valve + MOST_VALVE_PLAY_MM)
        if self.is_silent(usual):
            continue
        fault = say(
            "The valve of the {tube} is {valve} thick; the hole in the rim is {hole}. Put a sleeve in.",
            tube=view.name(end.tube), valve=valve.told("mm"), hole=hole.told("mm"),
        )  # fmt: skip
        yield from self.judge_with_limit(
            usual,
            hole.at_most(valve + VALVE_PLAY_LIMIT_MM),
            (end.tube, end.wheel),
            fault=fault,
            ask=say("whether the valve stays in its hole"),
        )


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="common practice, from memory; the limit from which it blocks: our choice",
    rider=True,
)
def tape_width_unsuitable(self: Rule, context: Context) -> Iterator[Finding]:
    """The tape of a tubeless set is narrower than the rim's bed, or so wide that it lies under the bead.

    Tape that does not reach from wall to wall lifts at its edges and leaks into the rim; tape that climbs
    the walls keeps the bead from its seat. Tape that leaves holes of spokes open, or lies under both beads, blocks.

    Cure: tape of the rim's inner width, or up to 6 mm wider.
    """
    view = context.view
    for end in _ends_without_tube(view):
        if not view.has(end.wheel, "rim_inner_mm"):
            continue
        tape, rim = view.amount(end.tube, "tape_width_mm"), view.amount(end.wheel, "rim_inner_mm")
        suits = tape.at_least(rim).both(tape.at_most(rim + MOST_TAPE_EXTRA_MM))
        if self.is_silent(suits):
            continue
        fault = say(
            "The tape of the {kit} is {tape} wide; the rim's bed is {rim}, and up to {extra} mm more suit.",
            kit=view.name(end.tube), tape=tape.told("mm"), rim=rim.told("mm"), extra=MOST_TAPE_EXTRA_MM,
        )  # fmt: skip
        covers = tape.at_least(rim - TAPE_LACKS_LIMIT_MM).both(tape.at_most(rim + TAPE_EXTRA_LIMIT_MM))
        yield from self.judge_with_limit(
            suits,
            covers,
            (end.tube, end.wheel),
            fault=fault,
            ask=say("whether the tape covers the bed of the rim"),
        )
