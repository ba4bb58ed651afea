"""Brakes at the wheels: of the right height and ratio, on bolts of the right length."""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce
from math import inf
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Test, as_amount, is_not_word, is_word, spanned
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Several, Value, say
from buildcheck.rules.ends import ENDS, REAR
from buildcheck.trade.hydraulics import clamp_ratio, master_travel_mm
from buildcheck.trade.tyres import Span

# Our choice, so that rotors of 200 and 203 mm are two sizes and one marked 160.0 is one of 160.
_ROTOR_TOLERANCE_MM = 0.5
# The bolts of a flat mount are M5 (torque tables of two dealers: villagecycle.com, dedhambike.com).
_BOLT_MAJOR_MM = 5.0
# Masters of 9 to 11 mm with one piston of 21 or 22 mm a side, or two of 16 mm (from memory).
_USUAL_RATIO = (3.5, 6.5)


@rule(
    Level.BLOCKS, use_proves=Proof.RIDDEN,
    source="common practice, no source: back-pedalling pulls the lower run of the chain tight",
)  # fmt: skip
def coaster_with_derailleur(self: Rule, context: Context) -> Iterator[Finding]:
    """A coaster brake is driven by a chain that runs through a derailleur.

    The rider brakes by pulling the lower run of the chain tight. A derailleur keeps that run tight with a
    weak spring: under the brake the cage is torn forwards before the hub bites, and the chain drops.

    Cure: one sprocket and a chain without derailleur, or a wheel without a coaster brake and a brake with
    its lever.
    """
    view = context.view
    if "rear-derailleur" in context.bike and view.has("rear-wheel", "hub_brake"):
        test = is_not_word(view.word("rear-wheel", "hub_brake"), "coaster")
        if self.is_silent(test):
            return
        yield from self.judge(
            test,
            ("rear-wheel", "rear-derailleur"),
            fault=say(
                "{wheel} has a coaster brake, and its chain runs through a rear derailleur.",
                wheel=view.name("rear-wheel"),
            ),
            ask=say("whether the rear hub has a coaster brake, which does not go with a derailleur"),
        )


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="sizes go with the mount and its adapters, front and rear tabs 20 mm apart: dealer article on disc-brake "
    "adapters; the rest common practice, from memory; tolerance our choice",
)
def rotor_caliper_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """The rotor is not of the size at whose height the brake stands.

    The mount on fork or frame stands right for one rotor, its native size. A bracket adds its step to that,
    and so does a caliper that is made for a larger rotor; a plate under a front flat-mount caliper gives one
    size or, turned over, the other. Under a larger rotor the brake does not go on or rubs on the edge; over a
    smaller one the pads hang over the rim of the rotor, wear to a step and lock into it. 200 mm is not 203 mm.

    Cure: a rotor of the size that results, or a bracket whose step makes up the difference to the native size.
    """
    view = context.view
    for end in each(ENDS):
        rotor, caliper, bracket, carrier = end.rotor, end.caliper, end.brake_adapter, end.holder
        native = end.on_holder("rotor_native_mm")
        if not (view.has(rotor, "diameter_mm") and view.has(caliper, "rotor_step_mm") and view.has(carrier, native)):
            continue
        sits_for = view.amount(carrier, native) + view.amount(caliper, "rotor_step_mm")
        sizes = [sits_for]
        if view.has(bracket, "rotor_step_mm"):
            sizes = [sits_for + view.signed(bracket, "rotor_step_mm")]
        elif view.has(caliper, "plate_flip_mm"):
            sizes.append(sits_for + view.amount(caliper, "plate_flip_mm"))
        diameter = view.amount(rotor, "diameter_mm")
        fits = reduce(Test.either, [diameter.within(size, _ROTOR_TOLERANCE_MM) for size in sizes])
        test = fits.only_if(is_word(view.word(caliper, "brake_type"), "disc"))
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "rotor": view.name(rotor), "diameter": diameter.told("mm"), "brake": view.name(caliper),
            "right": Several(tuple(dict.fromkeys(size.told("mm") for size in sizes)), "or"),
            "bracket": view.name(bracket), "carrier": At(carrier),
        }  # fmt: skip
        fault = say(
            "{rotor} has a diameter of {diameter}; {brake} stands right for {right} at the {carrier}.", **told
        )
        if bracket in view.bike:
            fault = say(
                "{rotor} has a diameter of {diameter}; {brake} on {bracket} stands right for {right} at the "
                "{carrier}.",
                **told,
            )
        yield from self.judge(
            test,
            (rotor, caliper, bracket, carrier),
            fault=fault,
            ask=say("whether {brake} stands at the height of {rotor}", brake=told["brake"], rotor=told["rotor"]),
        )


class _Bolts(NamedTuple):
    """The bolts that hold a part on a flat mount: how much of them stands out of what they pass through."""

    position: str
    carrier: str
    out: Amount
    reach: Amount
    room: Amount
    applies: Test

    def told(self, view: View) -> dict[str, Value]:
        """The part, and how far its bolts stand out, for a sentence."""
        return {"part": view.name(self.position), "out": self.out.told("mm")}


def _bolts(view: View) -> list[_Bolts]:
    """The bolts of flat-mount calipers, and of brackets that are screwed to a flat mount themselves."""
    return view.layout.recall("bolts-of-brakes", lambda: list(_find_bolts(view)))


def _find_bolts(view: View) -> Iterator[_Bolts]:
    flat_mounts = view.standards.words_with("brake-mount", "flat")
    for end in ENDS:
        caliper, bracket, carrier, thickness = end.caliper, end.brake_adapter, end.holder, "mount_thickness_mm"
        if not view.has(carrier, end.on_holder(thickness)):
            continue
        mount = view.amount(carrier, end.on_holder(thickness))
        if view.has(caliper, "bolt_length_mm", "mount"):
            through = mount + view.added(bracket, "thickness_mm")
            yield _bolts_of(view, caliper, carrier, through, is_word(view.word(caliper, "mount"), *flat_mounts))
        if view.has(bracket, "bolt_length_mm", "side_a", "side_b"):
            own = is_not_word(view.word(bracket, "side_a"), *flat_mounts)
            flat = is_word(view.word(bracket, "side_b"), *flat_mounts)
            yield _bolts_of(view, bracket, carrier, mount, flat.both(own))


def _bolts_of(view: View, position: str, carrier: str, through: Amount, applies: Test) -> _Bolts:
    # Nobody knows how much of an unknown bolt stands out, not even that it comes through.
    out = view.amount(position, "bolt_length_mm") - through
    reach, room = view.amount(position, "bolt_reach_mm"), view.amount(position, "bolt_room_mm")
    return _Bolts(position, carrier, out, reach, room, applies)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="geometry: bolt length follows from the thickness of the mount; lengths by the record",
)  # fmt: skip
def brake_bolt_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """The bolts that hold a brake on a flat mount do not reach far enough into their threads.

    A flat mount is screwed from the far side, through chainstay or fork leg, so the length of the bolt depends
    on how thick the frame is there. On two or three turns of thread the brake feels tight and tears out at
    the first hard stop.

    Cure: bolts as long as the mount is thick and the thread asks for, by the tables of frame and brake maker.
    """
    view = context.view
    for bolts in each(_bolts(view)):
        test = bolts.out.at_least(bolts.reach).only_if(bolts.applies)
        if self.is_silent(test):
            continue
        told = bolts.told(view)
        yield from self.judge(
            test,
            (bolts.position, bolts.carrier),
            fault=say(
                "The bolts of {part} stand {out} out of the mount; their thread asks for {reach}.",
                **told, reach=bolts.reach.told("mm"),
            ),
            ask=say("whether the bolts of {part} reach far enough into their threads", part=told["part"]),
        )  # fmt: skip


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="room in the thread by the record; ends of screws at most one major diameter out: ISO 4210-2:2015 cl. 4.5; "
    "M5: torque tables of two dealers",
    rider=False,
    settled_at_work=True,
)
def brake_bolt_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The bolts that hold a brake on a flat mount are too long for their threads.

    A bolt that bottoms out is tight against the end of its hole and not against the brake: the brake stays
    loose at full torque, or the caliper splits. Where the hole is open, the end of the bolt may come out as
    far as it is thick; more catches the rotor, or clothes and skin.

    Cure: bolts as long as the mount is thick and the thread asks for; never washers that nobody counted.
    """
    view = context.view
    for bolts in each(_bolts(view)):
        bottoms = bolts.out.at_most(bolts.room).only_if(bolts.applies)
        in_bounds = bolts.out.at_most(bolts.reach + _BOLT_MAJOR_MM).only_if(bolts.applies)
        if self.is_silent(bottoms) and self.is_silent(in_bounds, Level.CAUTION):
            continue
        told = bolts.told(view)
        yield from self.judge(
            bottoms,
            (bolts.position, bolts.carrier),
            fault=say(
                "The bolts of {part} stand {out} out of the mount; their thread takes {room}, so they bottom out.",
                **told, room=bolts.room.told("mm"),
            ),
            ask=say("whether the bolts of {part} bottom out in their threads", part=told["part"]),
        )  # fmt: skip
        if not bottoms.no:
            yield from self.judge(
                in_bounds,
                (bolts.position, bolts.carrier),
                fault=say(
                    "The bolts of {part} stand {out} out of the mount; their thread asks for {reach}, and more than "
                    "{most} mm beyond that is a screw end that sticks out.",
                    **told, reach=bolts.reach.told("mm"), most=_BOLT_MAJOR_MM,
                ),
                level=Level.CAUTION,
            )  # fmt: skip


def _straddled(view: View, caliper: str) -> Test | None:
    """Does a wire across the tyre pull the arms of this brake? None where there is no brake that could be so."""
    if not view.has(caliper, "straddles", "brake_type", "brake"):
        return None
    by_cable = is_word(view.word(caliper, "brake"), "cable").both(is_word(view.word(caliper, "brake_type"), "rim"))
    return is_not_word(view.word(caliper, "straddles"), "none").both(by_cable)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def cable_hanger_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """The cable of a brake with a straddle wire has no stop for its housing above the tyre.

    The housing must end above the brake, so that the bare cable can pull the wire up. Without a hanger, or a stop of
    the frame's or the fork's own, there is nothing to push against and the brake does not close.

    Cure: a cable hanger at this end, on headset, crown, bridge or seat clamp, or a linear-pull brake, whose cable ends
    at its own arm.
    """
    view = context.view
    for end in each(ENDS):
        stop = end.on_holder("cable_stop")
        if end.hanger in view.bike or end.crown_hanger in view.bike or not view.has(end.holder, stop):
            continue
        straddled = _straddled(view, end.caliper)
        if straddled is None:
            continue
        test = is_word(view.word(end.holder, stop), "yes").only_if(straddled)
        if self.is_silent(test):
            continue
        brake = view.name(end.caliper)
        yield from self.judge(
            test,
            (end.hanger, end.caliper, end.holder, end.crown_hanger),
            fault=say("The cable of {brake} has no hanger to stop its housing at.", brake=brake),
            ask=say("whether the cable of {brake} has a stop above the tyre", brake=brake),
        )


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source: a wedge and a mast cap have no ears that a bolt goes through",
)  # fmt: skip
def hanger_without_bolt(self: Rule, context: Context) -> Iterator[Finding]:
    """The rear cable hanger goes under the bolt at the seat post, and the frame that it hangs on has none.

    Where the collar came off, the hanger goes under the bolt of the seat lug. A frame that holds its post by a wedge
    or takes a cap on a mast has no such bolt, and a frame for a collar has none without the collar: each pull of the
    brake would drag the hanger down.

    Cure: a seat clamp where one belongs, or a hanger on the bridge between the seat stays.
    """
    view = context.view
    spot = view.bike.get(REAR.hanger)
    if spot is None or spot.on != REAR.holder or not view.has(REAR.holder, "post_held_by"):
        return
    test = is_word(view.word(REAR.holder, "post_held_by"), "lug")
    if self.is_silent(test):
        return
    yield from self.judge(
        test,
        (REAR.hanger, REAR.holder, REAR.crown_hanger),
        fault=say(
            "{hanger} goes under the bolt at the seat post; {frame} without a seat clamp has none.",
            hanger=view.name(REAR.hanger), frame=view.name(REAR.holder),
        ),
        ask="whether the frame has a bolt of its own at the seat post that takes the hanger",
    )  # fmt: skip


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def straddle_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """A brake whose arms a wire across the tyre pulls has no such wire.

    The cable ends above the tyre. What pulls both arms is the straddle wire, and without it the brake does nothing.

    Cure: the straddle wire that goes with this brake.
    """
    view = context.view
    for end in each(ENDS):
        straddled = _straddled(view, end.caliper)
        if straddled is None or end.straddle in view.bike:
            continue
        test = straddled.opposite()
        if self.is_silent(test):
            continue
        brake = view.name(end.caliper)
        yield from self.judge(
            test,
            (end.straddle, end.caliper),
            fault=say("{brake} has no straddle wire: nothing joins its arms to the cable.", brake=brake),
            ask=say("whether {brake} needs a straddle wire", brake=brake),
        )
@rule(
    Level.CAUTION,
    use_proves=Proof.NOTHING,
    source="ratio of the pistons: Pascal's principle, OpenStax College Physics 11.5; usual from memory",
    rider=True,
)
def brake_ratio_unusual(self: Rule, context: Context) -> Iterator[Finding]:
    """Lever and brake are of one system, but their pistons are of an unusual ratio.

    The force at the pads is that at the lever's piston times the ratio of the areas, counted for one side of
    the caliper: the other side holds against it. What is won in force is paid in travel: with a high ratio
    the lever comes nearer to the bar, and with worn pads to the bar itself; with a low one it is short and
    hard, and the hand must be strong.

    Cure: the lever that the maker pairs with this brake; else feel it on the stand with half-worn pads.
    """
    view = context.view
    for name in each(("front-brake-line", "rear-brake-line")):
        line = view.bike.get(name)
        if line is None or line.start is None or line.end is None:
            continue
        lever, caliper = line.start, line.end
        if not (view.has(lever, "piston_mm") and view.has(caliper, "piston_mm", "pistons_per_side")):
            continue
        ratio = view.layout.recall(("ratio", lever, caliper), lambda: _ratio(view, lever, caliper))  # noqa: B023
        low, high = _USUAL_RATIO
        too_low, too_high = ratio.at_least(low).no, ratio.at_most(high).no
        if not (too_low or too_high):
            continue
        told: dict[str, Value] = {
            "brake": view.name(caliper), "ratio": ratio.told("times"), "lever": view.name(lever), "low": low,
            "high": high,
        }  # fmt: skip
        if too_low:
            text = say(
                "The pistons of {brake} have {ratio} the area of that in {lever}, one side counted; {low} to {high} "
                "times is usual: the lever is short and hard.",
                **told,
            )
            yield self.tell(text, (lever, caliper))
        else:
            travel = as_amount(master_travel_mm(ratio.low, 0.1))
            text = say(
                "The pistons of {brake} have {ratio} the area of that in {lever}, one side counted; {low} to {high} "
                "times is usual: the lever's piston travels {travel} for each 0.1 mm at both pads.",
                **told, travel=travel.told("mm"),
            )  # fmt: skip
            yield self.tell(text, (lever, caliper))


def _ratio(view: View, lever: str, caliper: str) -> Amount:
    """Clamping force of one side over the force at the lever's piston, over all that the sizes may be."""
    caliper_sizes = (view.amount(caliper, name) for name in ("piston_mm", "pistons_per_side"))
    return spanned(_clamp_ratios, view.amount(lever, "piston_mm"), *caliper_sizes)


def _clamp_ratios(master_mm: Span, piston_mm: Span, count: Span) -> Span:
    low, high = 0.0, inf
    if all(0 < size < inf for size in (master_mm[1], piston_mm[0], count[0])):
        low = clamp_ratio(master_mm[1], piston_mm[0], count[0])
    if all(0 < size < inf for size in (master_mm[0], piston_mm[1], count[1])):
        high = clamp_ratio(master_mm[0], piston_mm[1], count[1])
    return low, high
