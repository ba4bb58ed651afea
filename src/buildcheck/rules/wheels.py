"""Wheels: the reach of a rim brake, end caps and what they move, adapters for rotors."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf, isfinite

from buildcheck.fit import tape
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Answer, Test, is_not_word, is_word, spanned
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Value, say
from buildcheck.rules.ends import ENDS, REAR, End
from buildcheck.rules.tyre_facts import bead_seat, ends_with_tyre, inflated_width, tyre_radius
from buildcheck.trade.tyres import CFR_TYRE_CLEARANCE_MM, Span
from buildcheck.trade.wheels import SHOE_PLAY_MM, brake_track_radius_mm, end_cap_change, rotor_offset_mm

# A rim that stands no further off the middle than this is what workshops leave.
DISH_LIMIT_MM = 1.0
# Steel stays are sprung so far by hand at each change of the wheel; the row of stiff frames has the same. Our choice.
SPRUNG_LIMIT_MM = 2.0
# Further than this nobody sets the stays at once: from 120 to 126 mm is the widest step in use (from memory).
SET_LIMIT_MM = 6.0
# A caliper can be set this far to either side on its bolts.
ROTOR_LIMIT_MM = 0.5


def _track_radius(view: View, wheel: str) -> Amount:
    seat = bead_seat(view, wheel)
    return spanned(lambda span: brake_track_radius_mm(sum(span) / 2), seat) if seat.known else seat


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="geometry, with the bead seat by ISO 5775 and the brake's own reach; where the track lies on the rim: from "
    "memory; the play of the shoe: our choice",
)
def rim_brake_out_of_reach(self: Rule, context: Context) -> Iterator[Finding]:
    """The shoes of a rim brake cannot be set on the middle of the rim's track.

    The middle of the track lies at about half the bead seat diameter from the axle, within 2 mm. A side-pull or
    direct brake hangs above the rim, and so does a U-brake: its reach is the drop of bolt or pivots to the axle less
    that radius. The pivots of a linear-pull or cantilever brake stand below the rim, so there it is the radius less
    the drop. A shoe that is set too far out cuts the tyre; one too far in slips off the rim. It blocks where the reach
    is missed by more than the doubt and 2 mm of play of the shoe.

    Cure: a brake with the reach that is asked for, or a wheel of the size that frame and brake are made for.
    """
    view = context.view
    for end in each(ENDS):
        caliper, wheel, carrier, drop_name = end.caliper, end.wheel, end.holder, end.on_holder("brake_drop_mm")
        if not (view.has(caliper, "reach_max_mm") and view.has(wheel, "bead_seat_mm") and view.has(carrier, drop_name)):
            continue
        on_rim = is_word(view.word(caliper, "brake_type"), "rim")
        if on_rim.no:
            continue
        mount, drop, radius = view.word(caliper, "mount"), view.amount(carrier, drop_name), _track_radius(view, wheel)
        below = is_word(mount, "rim-posts")
        from_above, from_below = drop - radius, radius - drop
        test = (
            _in_reach(view, caliper, from_above)
            .only_if(is_not_word(mount, "rim-posts"))
            .both(_in_reach(view, caliper, from_below).only_if(below))
            .only_if(on_rim)
        )
        if self.is_silent(test):
            continue
        shoe = from_below if below.yes else from_above
        low, high = view.amount(caliper, "reach_min_mm"), view.amount(caliper, "reach_max_mm")
        yield from self.judge(
            test,
            (caliper, wheel, carrier),
            fault=say(
                "The middle of the rim's track is {shoe} from the bolt or the pivots of {brake}; its shoes can be set "
                "from {low} to {high}.",
                shoe=shoe.told("mm"), brake=view.name(caliper), low=low.told("mm"), high=high.told("mm"),
            ),
            ask=say("whether the shoes of the brake reach the track of the rim"),
        )  # fmt: skip


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="geometry, with the height of the tyre by ISO 5775; 1.6 mm as 16 CFR 1512.11(b) asks for in frame and fork: "
    "our choice",
)
def tyre_hits_rim_brake(self: Rule, context: Context) -> Iterator[Finding]:
    """The tyre does not pass through the rim brake.

    A rim brake bridges the tyre with its arch, or with the cable between its arms. A tyre that is higher or wider than
    what is left between them rubs, and one that only just passes jams on the first stone and stops the wheel.

    Cure: a narrower tyre, or a brake with more room: a longer reach where the frame is made for it.
    """
    view = context.view
    for end in ends_with_tyre(view):
        caliper, drop_name = end.caliper, end.on_holder("brake_drop_mm")
        if not (view.has(caliper, "arch_mm", "arch_width_mm") and view.has(end.holder, drop_name)):
            continue
        on_rim = is_word(view.word(caliper, "brake_type"), "rim")
        if on_rim.no:
            continue
        over = view.amount(end.holder, drop_name) + view.signed(caliper, "arch_mm") - tyre_radius(view, end)
        beside = (view.amount(caliper, "arch_width_mm") - inflated_width(view, end)) / 2
        test = over.at_least(CFR_TYRE_CLEARANCE_MM).both(beside.at_least(CFR_TYRE_CLEARANCE_MM)).only_if(on_rim)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "beside": beside.told("mm"), "over": over.told("mm"), "tyre": view.name(end.tyre),
            "brake": view.name(caliper), "least": CFR_TYRE_CLEARANCE_MM,
        }  # fmt: skip
        yield from self.judge(
            test,
            (end.tyre, caliper),
            fault=say(
                "{beside} beside and {over} over the {tyre} are left in {brake}; {least} mm are the least.", **told
            ),
            ask=say("whether {least} mm are left round the {tyre} in {brake}", **told),
        )


def _in_reach(view: View, caliper: str, shoe: Amount) -> Test:
    low, high = view.amount(caliper, "reach_min_mm"), view.amount(caliper, "reach_max_mm")
    return shoe.at_least(low - SHOE_PLAY_MM).both(shoe.at_most(high + SHOE_PLAY_MM))


@rule(
    Level.BLOCKS, use_proves=Proof.ASSEMBLED,
    source="article on axle interfaces and rotor types; that there is no reverse: common practice",
)  # fmt: skip
def rotor_adapter_impossible(self: Rule, context: Context) -> Iterator[Finding]:
    """An adapter is to put a splined rotor on a hub with six bolts.

    A ring with splines and a lockring carries a six-bolt rotor on a splined hub. The other way round there is
    nothing to hold the splines: the flange of a six-bolt hub is wider than the centre of a splined rotor.

    Cure: a six-bolt rotor on the six-bolt hub.
    """
    view = context.view
    for end in each(ENDS):
        adapter = end.rotor_adapter
        if view.has(adapter, "side_a", "side_b"):
            splined = is_word(view.word(adapter, "side_a"), "splined-lockring")
            test = is_not_word(view.word(adapter, "side_b"), "six-bolt").only_if(splined)
            if self.is_silent(test):
                continue
            yield from self.judge(
                test,
                (adapter,),
                fault=say(
                    "{adapter} is to hold a splined rotor on a six-bolt hub, and no adapter does that.",
                    adapter=view.name(adapter),
                ),
                ask=say("whether the adapter holds a six-bolt rotor on a splined hub"),
            )


def _caps_sides(view: View, caps: str) -> tuple[Amount, Amount]:
    """Over-locknut widths in mm that the axle types at both sides of end caps stand for: hub and dropouts."""
    return view.size_of_word(caps, "side_a", "axle-type"), view.size_of_word(caps, "side_b", "axle-type")


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    use_proves=Proof.ASSEMBLED,
    source="BikeGremlin forum: 142 = 135 + 2 x 3.5; road bike axle list: 157 = 150 + 7; kits that widen: from memory",
    rider=False,
)
def end_caps_impossible(self: Rule, context: Context) -> Iterator[Finding]:
    """End caps are to make a hub narrower than its shell, or wider by a step that nobody was found to make.

    End caps give a hub of the same width another axle, put the locating shelves of 3.5 mm on or take them off (142
    and 135 mm), or widen it by a kit (142 to 148 mm). The shell itself stays: a 148 mm hub never goes into 142 mm.
    Other steps outwards are a caution, since the flanges stay where they are and the wheel grows weak.

    Cure: a wheel of the width of the frame or fork.
    """
    view = context.view
    for end in each(ENDS):
        caps = end.end_caps
        if not view.has(caps, "side_a", "side_b"):
            continue
        hub, dropouts = _caps_sides(view, caps)
        change = end_cap_change(hub.middle, dropouts.middle) if hub.known and dropouts.known else None
        answer = {None: Answer.UNKNOWN, "made": Answer.YES}.get(change, Answer.NO)
        yield from self.judge(
            Test(answer, hub.facts + dropouts.facts),
            (caps,),
            level=Level.CAUTION if change == "not-known" else Level.BLOCKS,
            fault=say(
                "{caps} are to change a hub of {hub} to dropouts of {dropouts}; end caps keep the width, change it by "
                "7 mm (two locating shelves) or widen it by 6 or 10 mm.",
                caps=view.name(caps), hub=hub.told("mm"), dropouts=dropouts.told("mm"),
            ),
            ask=say("whether end caps can make that change"),
        )  # fmt: skip


def hub_shift(view: View, end: End) -> Amount:
    """How far the end caps move the hub towards the drive side, in mm."""
    return view.added(end.end_caps, "hub_shift_mm", -inf)


def _rotor_offset(view: View, end: End) -> Amount:
    """How much further in the rotor sits than with a hub made for these dropouts."""
    if not view.has(end.end_caps, "side_a", "side_b", "hub_shift_mm"):
        return Amount(0.0, 0.0)
    return spanned(_offset_by_width, *_caps_sides(view, end.end_caps)) + hub_shift(view, end)


def _offset_by_width(hub_mm: Span, dropouts_mm: Span) -> Span:
    """The same for hubs that stay in the middle. A known width is one number; where one is not known it is anything."""
    if not all(map(isfinite, (*hub_mm, *dropouts_mm))):
        return -inf, inf
    offset = rotor_offset_mm(hub_mm[0], dropouts_mm[0])
    return offset, offset


def _moved(context: Context, end: End, where: Callable[[View, End], Amount]) -> Amount | None:
    """How far a change of end caps moves a thing; None where it leaves hub and caps as they were.

    A wheel that is new comes as its maker built it; one that stays was set up for the caps it had.
    """
    wheel = end.wheel
    if context.before is None or wheel not in context.bike or context.first_changed(wheel, end.end_caps) is None:
        return None
    now = where(context.view, end)
    # A size that both have is told as it is now, so that comes last.
    return now if context.is_changed(wheel) else -where(context.before.view, end) + now


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="geometry; 1 mm is our choice", rider=False, needs_change=True)
def hub_off_centre(self: Rule, context: Context) -> Iterator[Finding]:
    """End caps move the hub to one side, so that the rim no longer runs in the middle of frame or fork.

    Some sets put all of the width on one side. Rim, sprockets and rotor move with the hub. A rim off the middle makes
    the bike steer askew, and the tyre comes nearer to one stay.

    Cure: dish the wheel again by what the hub moved, or end caps that leave the hub in the middle.
    """
    for end in each(ENDS):
        moved = _moved(context, end, hub_shift)
        if moved is None:
            continue
        wheel = At(end.wheel)
        if moved.high < 0:
            fault = say(
                "With the change of end caps the hub of the {wheel} moves {moved} away from the drive side; the rim "
                "must be dished back to the middle, and sprockets and rotor have moved as well.",
                wheel=wheel, moved=(-moved).told("mm"),
            )  # fmt: skip
        else:
            fault = say(
                "With the change of end caps the hub of the {wheel} moves {moved} towards the drive side; the rim "
                "must be dished back to the middle, and sprockets and rotor have moved as well.",
                wheel=wheel, moved=moved.told("mm"),
            )  # fmt: skip
        yield from self.judge(
            moved.within(0.0, DISH_LIMIT_MM),
            (end.wheel, end.end_caps),
            fault=fault,
            ask=say("whether the end caps leave the hub in the middle"),
        )


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="geometry; 0.5 mm is our choice", rider=False, needs_change=True)
def rotor_off_place(self: Rule, context: Context) -> Iterator[Finding]:
    """End caps leave the rotor in another place beside its dropout than the brake is made for.

    Frame and fork hold the brake at a fixed distance from the left dropout. A kit that widens the hub leaves the rotor
    where the hub has it, half of the step too far in, and one that moves the hub to a side moves the rotor too.

    Cure: the spacer for the rotor that comes with such a kit, or set the brake over as far as its bolts allow; on
    splines there is little room for a spacer, so ask the hub's maker.
    """
    view = context.view
    for end in each(ENDS):
        rotor = end.rotor
        moved = _moved(context, end, _rotor_offset) if view.has(rotor, "diameter_mm") else None
        if moved is None:
            continue
        if moved.high < 0:
            fault = say(
                "With the change of end caps the {rotor} sits {moved} further out than the brake is made for: put the "
                "spacer of the kit under it, or set the brake over as far as its bolts allow.",
                rotor=At(rotor), moved=(-moved).told("mm"),
            )  # fmt: skip
        else:
            fault = say(
                "With the change of end caps the {rotor} sits {moved} further in than the brake is made for: put the "
                "spacer of the kit under it, or set the brake over as far as its bolts allow.",
                rotor=At(rotor), moved=moved.told("mm"),
            )  # fmt: skip
        yield from self.judge(
            moved.within(0.0, ROTOR_LIMIT_MM),
            (rotor, end.end_caps),
            fault=fault,
            ask=say("whether the end caps leave the rotor in its place"),
        )


@rule(
    Level.EXTRA,
    use_proves=Proof.NOTHING,
    source="dealer article on hub widths; that steel alone is set: common practice, from memory; 2 mm: our choice",
    rider=False,
)
def rear_end_to_be_cold_set(self: Rule, context: Context) -> Iterator[Finding]:
    """A steel frame must be set to the width of another hub.

    Frames of steel stand 120, 126, 130 or 135 mm apart at the rear, by their age. Stays of steel can be bent to the
    next of these widths for good, evenly on both sides; dropouts and hanger are then made parallel again. Stays of
    aluminium or carbon break, and are never bent.

    Cure: set both stays by half of the difference each, or a hub of the frame's own width.
    """
    view, name = context.view, "over_locknut_mm"
    tape.asked(tape.PositionAsked(REAR.end_caps))
    if REAR.end_caps in view.bike or not (view.has(REAR.wheel, name) and view.has(REAR.holder, REAR.on_holder(name))):
        return
    hub, between = view.amount(REAR.wheel, name), view.amount(REAR.holder, REAR.on_holder(name))
    test = hub.within(between, SPRUNG_LIMIT_MM).unless_known()
    if self.is_silent(test):
        return
    is_steel = is_word(view.word(REAR.holder, "material"), "steel")
    if not is_steel.yes or hub.within(between, SET_LIMIT_MM).no:
        return
    yield from self.judge(
        test,
        (REAR.holder, REAR.wheel),
        fault=say(
            "{frame} is {between} between its rear dropouts and must be cold set to the {hub} of {wheel}; its "
            "dropouts and its hanger are aligned afterwards.",
            frame=view.name(REAR.holder), between=between.told("mm"), hub=hub.told("mm"), wheel=view.name(REAR.wheel),
        ),
    )  # fmt: skip
