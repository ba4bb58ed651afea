"""Room for the tyre: in frame and fork, under mudguards, and before the rider's toes."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, is_word, largest, one_of, same_word, spanned, worked_out
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Said, Value, Word, say
from buildcheck.rules.accessories import of_use
from buildcheck.rules.ends import ENDS, FRONT, End
from buildcheck.rules.tyre_facts import ends_with_tyre, inflated_width, tyre_radius
from buildcheck.trade.tyres import (
    CFR_TOE_CLEARANCE_MM,
    CFR_TYRE_CLEARANCE_MM,
    ISO_LEFT_OUT,
    MUDGUARD_OVER_TREAD_MM,
    front_centre_shift_mm,
    iso_tyre_clearance_mm,
    toe_clearance_asked_mm,
    toe_clearance_mm,
)

_LEAST_HEAD_ANGLE_DEG, _MOST_HEAD_ANGLE_DEG = 45.0, 90.0


def _gaps(view: View, end: End) -> tuple[Amount, Amount]:
    """The gap beside the tyre, half of what is left as the wheel runs in the middle, and the one over its tread."""
    left = view.amount(end.holder, end.on_holder("tyre_room_mm")) - inflated_width(view, end)
    over = view.amount(end.holder, end.on_holder("tyre_radius_mm")) - tyre_radius(view, end)
    return left / 2, over


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="16 CFR 1512.11(b): 1.6 mm; ISO 4210-2 cl. 4.10.2: 4 mm racing, quoted by a forum, and 6 mm from memory; "
    "the kinds that its cl. 1 leaves out are held to 6 mm, our choice",
    rider=True,
)
def tyre_clearance_too_small(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre runs too near to the frame or the fork.

    A stone or a bent rim that bridges the gap stops the wheel, and at the front that throws the rider. The
    width of the tyre on this very rim counts, not its mark; how much a wider rim widens it is from memory,
    so the gap is told from its least to its most.

    Cure: a narrower tyre, a narrower rim, or a frame or fork with more room; measure the pumped tyre first.
    """
    view = context.view
    iso = iso_tyre_clearance_mm(view.bike.use)
    for end in ends_with_tyre(view):
        if not view.has(end.holder, end.on_holder("tyre_room_mm"), end.on_holder("tyre_radius_mm")):
            continue
        beside, over = _gaps(view, end)
        as_usual = beside.at_least(iso).both(over.at_least(iso))
        if self.is_silent(as_usual):
            continue
        enough = beside.at_least(CFR_TYRE_CLEARANCE_MM).both(over.at_least(CFR_TYRE_CLEARANCE_MM))
        test = as_usual if enough.yes else enough
        level = Level.CAUTION if enough.yes else Level.BLOCKS
        if self.is_silent(test, level):
            continue
        told: dict[str, Value] = {
            "beside": beside.told("mm"), "over": over.told("mm"), "tyre": view.name(end.tyre),
            "holder": view.name(end.holder), "law": CFR_TYRE_CLEARANCE_MM, "iso": iso, "use": Word(view.bike.use),
        }  # fmt: skip
        if view.bike.use in ISO_LEFT_OUT:
            fault = say(
                "{beside} beside and {over} over the {tyre} are left in the {holder}; 16 CFR 1512.11 asks for {law} "
                "mm. ISO 4210-2 leaves out a {use} bicycle and asks for {iso} mm on most others.",
                **told,
            )
        else:
            fault = say(
                "{beside} beside and {over} over the {tyre} are left in the {holder}; 16 CFR 1512.11 asks for {law} "
                "mm, and ISO 4210-2 for {iso} mm on a {use} bicycle.",
                **told,
            )
        yield from self.judge(
            test,
            (end.tyre, end.holder),
            level=level,
            fault=fault,
            ask=say("whether {law} mm are left round the {tyre} ({beside} beside and {over} over)", **told),
        )


@rule(
    Level.CAUTION, use_proves=Proof.NOTHING,
    source="growth of a tyre on a wider rim: from memory; the limit is the maker's own", rider=True,
)  # fmt: skip
def tyre_swells_past_limit(self: Rule, context: Context) -> Iterator[Finding]:
    """On this wide rim the tyre becomes wider than frame or fork allow, though its mark does not.

    A tyre grows by about 0.4 mm for each mm that the rim is wider than the one it was designed on. Makers of
    frames mean the width that is measured on the bike.

    Cure: pump it up on its rim and measure it, before the wheel goes in; or take a narrower tyre.
    """
    view = context.view
    for end in ends_with_tyre(view):
        allowed = end.on_holder("tyre_max_mm")
        if not view.has(end.holder, allowed):
            continue
        marked, limit = view.amount(end.tyre, "width_mm"), view.amount(end.holder, allowed)
        if not marked.at_most(limit).yes:
            continue
        width = inflated_width(view, end)
        test = width.at_most(limit)
        if self.is_silent(test):
            continue
        fault = say(
            "The {tyre}, marked {marked}, becomes {width} wide on this rim; the {holder} allows {limit}.",
            tyre=view.name(end.tyre), marked=marked.told("mm"), width=width.told("mm"),
            holder=view.name(end.holder), limit=limit.told("mm"),
        )  # fmt: skip
        yield from self.judge(test, (end.tyre, end.holder), fault=fault)


def _mudguards(view: View) -> Iterator[tuple[str, Test]]:
    """The accessories that may be mudguards, one by one, each with whether it is."""
    return of_use(view, "mudguards", "tyre_max_mm")


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the word of the mudguards' maker; common practice",
)  # fmt: skip
def mudguards_too_narrow(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre is wider than the mudguards are made for.

    A tyre that rubs drags its mudguard along. One that is caught between tyre and fork folds up in front of
    the wheel and stops it.

    Cure: wider mudguards where frame and fork have room, or a narrower tyre.
    """
    view = context.view
    for name, mudguards in _mudguards(view):
        limit = view.amount(name, "tyre_max_mm")
        for end in each(ENDS):
            if not view.has(end.tyre, "width_mm"):
                continue
            width = view.amount(end.tyre, "width_mm")
            test = width.at_most(limit).only_if(mudguards)
            if self.is_silent(test):
                continue
            yield from self.judge(
                test,
                (name, end.tyre),
                fault=say(
                    "The {tyre} is {width} wide; under the {mudguards} run {limit} at most.",
                    tyre=view.name(end.tyre), width=width.told("mm"), mudguards=view.name(name),
                    limit=limit.told("mm"),
                ),
                ask=say("whether the tyre runs free under the mudguards"),
            )  # fmt: skip


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True)
def mudguards_of_another_size(self: Rule, context: Context) -> Iterator[Finding]:
    """The mudguards are made for wheels of another size.

    Their arc does not follow the tyre, so they stand off at one end and rub at the other, and their stays
    do not reach.

    Cure: mudguards for this wheel size.
    """
    view = context.view
    for name, mudguards in _mudguards(view):
        made_for = view.word(name, "bead_seat_mm")
        for end in each(ENDS):
            if not view.has(end.tyre, "bead_seat_mm"):
                continue
            seat = view.word(end.tyre, "bead_seat_mm")
            test = same_word(seat, made_for).only_if(mudguards)
            if self.is_silent(test):
                continue
            fault = say(
                "The {mudguards} is made for wheels of {made_for}; the {tyre} sits on {seat}.",
                mudguards=view.name(name), made_for=made_for.told(), tyre=view.name(end.tyre), seat=seat.told(),
            )  # fmt: skip
            yield from self.judge(test, (name, end.tyre), fault=fault)


def _front_centre(view: View) -> Amount | None:
    """Bottom bracket to front axle with the fork that is fitted; None where that is not known."""
    if not view.has("frame", "front_centre_mm") or not view.has("fork", "offset_mm"):
        return None
    stated, head = view.amount("frame", "front_centre_mm"), view.amount("frame", "head_angle_deg")
    change = view.signed("fork", "offset_mm") - view.signed("frame", "fork_offset_mm")
    if not (stated.known and change.known and _LEAST_HEAD_ANGLE_DEG <= head.low <= head.high <= _MOST_HEAD_ANGLE_DEG):
        return None
    return view.layout.recall("front-centre", lambda: _shifted(stated, change, head))


def _shifted(stated: Amount, change: Amount, head: Amount) -> Amount:
    """The front centre when another fork has so much more offset."""
    least, most = (worked_out(lambda *at, end=end: front_centre_shift_mm(*at)[end], change, head) for end in (0, 1))
    return largest((stated + one_of(least, most), Amount(0.0, 0.0)))


def _before_the_toes(view: View) -> tuple[Amount, bool]:
    """How far from the axle toes would touch the tyre or the mudguard over it, and whether there is a mudguard."""
    tread = tyre_radius(view, FRONT)
    covered = False
    for _, sure in _mudguards(view):
        over = (tread + Amount(*MUDGUARD_OVER_TREAD_MM)).resting_on(sure)
        tread, covered = over if sure.yes else one_of(tread, over), True
    return tread, covered


@rule(
    Level.CAUTION,
    Level.NOTE,
    use_proves=Proof.NOTHING,
    source="16 CFR 1512.17(d): 89 mm; ISO 4210-2 cl. 4.13.2.2, quoted: 100 mm, 89 mm for young adults or feet held; "
    "the kinds that its cl. 1 leaves out are held to the same, our choice",
    rider=True,
)
def toe_clearance_small(self: Rule, context: Context) -> Iterator[Finding]:
    """The rider's toes can touch the front tyre, or its mudguard, in a tight turn.

    With the crank pointing forwards little is left between pedal and tyre. At walking pace a turn of the bar
    then meets the shoe, and the rider cannot steer out of it. Small frames have this by design. Below
    the 89 mm of the US rule it is a caution; below the 100 mm of ISO 4210-2, which asks for 89 mm on a bicycle for
    young adults or where the feet are held on the pedals, it is only noted.

    Cure: shorter cranks, a smaller tyre, or a fork of more offset; else tell the rider, and try it on the spot.
    """
    view = context.view
    front = _front_centre(view)
    if front is None or not view.has("crankset", "arm_length_mm") or not view.has(FRONT.tyre, "width_mm"):
        return
    arm, (reach, covered) = view.amount("crankset", "arm_length_mm"), _before_the_toes(view)
    room = spanned(toe_clearance_mm, front, arm, reach)
    if not room.known:
        return
    feet_held = view.has("pedals", "cleat") and is_word(view.word("pedals", "cleat"), "none").no
    asked = toe_clearance_asked_mm(view.bike.use, feet_held)
    legal = not room.at_least(CFR_TOE_CLEARANCE_MM).no
    test = room.at_least(asked if legal else CFR_TOE_CLEARANCE_MM)
    level = Level.NOTE if legal else Level.CAUTION
    if self.is_silent(test, level):
        return
    told: dict[str, Value] = {
        "room": room.told("mm"), "tyre": view.name(FRONT.tyre), "law": CFR_TOE_CLEARANCE_MM, "iso": asked,
        "use": Word(view.bike.use),
    }  # fmt: skip
    fault = _near_the_toes(told, covered, view.bike.use in ISO_LEFT_OUT)
    yield from self.judge(test, (FRONT.tyre, "crankset"), level=level, fault=fault)


def _near_the_toes(told: dict[str, Value], covered: bool, left_out: bool) -> Said:
    """What is told of the room before the toes: to the mudguard or the tyre, of a kind that ISO 4210-2 has or not."""
    if covered and left_out:
        return say(
            "{room} are left between the pedal's centre and the mudguard over the {tyre}; 16 CFR 1512.17 asks for "
            "{law} mm without toe clips. ISO 4210-2 leaves out a {use} bicycle and asks for {iso} mm on others.",
            **told,
        )
    if left_out:
        return say(
            "{room} are left between the pedal's centre and the {tyre}; 16 CFR 1512.17 asks for {law} mm without toe "
            "clips. ISO 4210-2 leaves out a {use} bicycle and asks for {iso} mm on others.",
            **told,
        )
    if covered:
        return say(
            "{room} are left between the pedal's centre and the mudguard over the {tyre}; 16 CFR 1512.17 asks for "
            "{law} mm without toe clips, and ISO 4210-2 for {iso} mm.",
            **told,
        )
    return say(
        "{room} are left between the pedal's centre and the {tyre}; 16 CFR 1512.17 asks for {law} mm without toe "
        "clips, and ISO 4210-2 for {iso} mm.",
        **told,
    )
