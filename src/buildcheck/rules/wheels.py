"""Wheels: the reach of a rim brake, end caps and what they move, adapters for rotors."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from math import inf

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Answer, Fact, Test, is_not_word, is_word
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.trade.wheels import SHOE_PLAY_MM, brake_track_radius_mm, end_cap_change, rotor_offset_mm

# A rim that stands no further off the middle than this is what workshops leave.
DISH_LIMIT_MM = 1.0
# A caliper can be set this far to either side on its bolts.
ROTOR_LIMIT_MM = 0.5

_ENDS = ("front", "rear")
_RIM_BRAKES = (
    ("front-caliper", "front-wheel", "fork", "brake_drop_mm"),
    ("rear-caliper", "rear-wheel", "frame", "rear_brake_drop_mm"),
)


def _track_radius(view: View, wheel: str) -> Amount:
    seat = view.word(wheel, "bead_seat_mm")
    if seat.value is None:
        return Amount(0.0, inf, (seat,))
    return Amount(*brake_track_radius_mm(float(seat.value)), (seat,))


@rule(
    Level.BLOCKS,
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
    for caliper, wheel, carrier, drop_name in _RIM_BRAKES:
        if not (view.has(caliper, "reach_max_mm") and view.has(wheel, "bead_seat_mm") and view.has(carrier, drop_name)):
            continue
        on_rim = is_word(view.word(caliper, "brake_type"), "rim")
        mount, drop, radius = view.word(caliper, "mount"), view.amount(carrier, drop_name), _track_radius(view, wheel)
        below = is_word(mount, "rim-posts")
        from_above, from_below = drop - radius, radius - drop
        test = (
            _in_reach(view, caliper, from_above)
            .only_if(is_not_word(mount, "rim-posts"))
            .both(_in_reach(view, caliper, from_below).only_if(below))
            .only_if(on_rim)
        )
        shoe = from_below if below.yes else from_above
        low, high = view.amount(caliper, "reach_min_mm"), view.amount(caliper, "reach_max_mm")
        yield from self.judge(
            test,
            (caliper, wheel, carrier),
            fault=f"The middle of the rim's track is {shoe.shown('mm')} from the bolt or the pivots of "
            f"{view.name(caliper)}; its shoes can be set from {low.shown('mm')} to {high.shown('mm')}.",
            ask="whether the shoes of the brake reach the track of the rim",
            also=(*on_rim.facts, *below.facts),
        )


def _in_reach(view: View, caliper: str, shoe: Amount) -> Test:
    low, high = view.amount(caliper, "reach_min_mm"), view.amount(caliper, "reach_max_mm")
    return shoe.at_least(low - SHOE_PLAY_MM).both(shoe.at_most(high + SHOE_PLAY_MM))


@rule(Level.BLOCKS, source="article on axle interfaces and rotor types; that the reverse does not exist: from memory")
def rotor_adapter_impossible(self: Rule, context: Context) -> Iterator[Finding]:
    """An adapter is to put a splined rotor on a hub with six bolts.

    A ring with splines and a lockring carries a six-bolt rotor on a splined hub. The other way round there is
    nothing to hold the splines: the flange of a six-bolt hub is wider than the centre of a splined rotor.

    Cure: a six-bolt rotor on the six-bolt hub.
    """
    view = context.view
    for end in _ENDS:
        adapter = f"{end}-rotor-adapter"
        if view.has(adapter, "side_a", "side_b"):
            splined = is_word(view.word(adapter, "side_a"), "splined-lockring")
            yield from self.judge(
                is_not_word(view.word(adapter, "side_b"), "six-bolt").only_if(splined),
                (adapter,),
                fault=f"{view.name(adapter)} is to hold a splined rotor on a six-bolt hub, and no adapter does that.",
                ask="whether the adapter holds a six-bolt rotor on a splined hub",
                also=splined.facts,
            )


def _axle_width(view: View, fact: Fact) -> float | None:
    """Over-locknut width in mm that an axle type stands for; None where it is not known."""
    terms = view.standards.vocabularies["axle-type"].terms
    return next((term.value for term in terms if term.id == fact.value), None)


def _caps_sides(view: View, caps: str) -> tuple[Fact, Fact, float | None, float | None]:
    hub, dropouts = view.word(caps, "side_a"), view.word(caps, "side_b")
    return hub, dropouts, _axle_width(view, hub), _axle_width(view, dropouts)


@rule(
    Level.BLOCKS,
    Level.CAUTION,
    source="BikeGremlin forum: 142 = 135 + 2 x 3.5; road bike axle list: 157 = 150 + 7; kits that widen: from memory",
)
def end_caps_impossible(self: Rule, context: Context) -> Iterator[Finding]:
    """End caps are to make a hub narrower than its shell, or wider by a step that nobody was found to make.

    End caps give a hub of the same width another axle, put the locating shelves of 3.5 mm on or take them off (142
    and 135 mm), or widen it by a kit (142 to 148 mm). The shell itself stays: a 148 mm hub never goes into 142 mm.
    Other steps outwards are a caution, since the flanges stay where they are and the wheel grows weak.

    Cure: a wheel of the width of the frame or fork.
    """
    view = context.view
    for end in _ENDS:
        caps = f"{end}-end-caps"
        if not view.has(caps, "side_a", "side_b"):
            continue
        hub, dropouts, hub_mm, dropout_mm = _caps_sides(view, caps)
        change = None if hub_mm is None or dropout_mm is None else end_cap_change(hub_mm, dropout_mm)
        answer = {None: Answer.UNKNOWN, "made": Answer.YES}.get(change, Answer.NO)
        yield from self.judge(
            Test(answer, (hub, dropouts)),
            (caps,),
            level=Level.CAUTION if change == "not-known" else Level.BLOCKS,
            fault=f"{view.name(caps)} are to change a hub of {hub_mm:g} mm to dropouts of {dropout_mm:g} mm; end caps "
            "keep the width, change it by 7 mm (two locating shelves) or widen it by 6 or 10 mm."
            if answer is Answer.NO
            else "",
            ask="whether end caps can make that change",
        )


def _hub_shift(view: View, end: str) -> Amount:
    """How far the end caps move the hub towards the drive side."""
    caps = f"{end}-end-caps"
    return view.signed(caps, "hub_shift_mm") if view.has(caps, "hub_shift_mm") else Amount(0.0, 0.0)


def _rotor_offset(view: View, end: str) -> Amount:
    """How much further in the rotor sits than with a hub made for these dropouts."""
    caps = f"{end}-end-caps"
    if not view.has(caps, "side_a", "side_b", "hub_shift_mm"):
        return Amount(0.0, 0.0)
    hub, dropouts, hub_mm, dropout_mm = _caps_sides(view, caps)
    if hub_mm is None or dropout_mm is None:
        return Amount(-inf, inf, (hub, dropouts))
    by_width = rotor_offset_mm(hub_mm, dropout_mm)
    return Amount(by_width, by_width, (hub, dropouts)) + _hub_shift(view, end)


def _moved(context: Context, end: str, where: Callable[[View, str], Amount]) -> Amount | None:
    """How far a change of end caps moves a thing; None where it leaves hub and caps as they were.

    A wheel that is new comes as its maker built it; one that stays was set up for the caps it had.
    """
    wheel, caps = f"{end}-wheel", f"{end}-end-caps"
    if context.before is None or wheel not in context.bike or not {wheel, caps} & context.changed:
        return None
    now = where(context.view, end)
    return now if wheel in context.changed else now - where(context.before.view, end)


@rule(Level.EXTRA, source="geometry; 1 mm is our choice", needs_change=True)
def hub_off_centre(self: Rule, context: Context) -> Iterator[Finding]:
    """End caps move the hub to one side, so that the rim no longer runs in the middle of frame or fork.

    Some sets put all of the width on one side. Rim, sprockets and rotor move with the hub. A rim off the middle makes
    the bike steer askew, and the tyre comes nearer to one stay.

    Cure: dish the wheel again by what the hub moved, or end caps that leave the hub in the middle.
    """
    for end in _ENDS:
        moved = _moved(context, end, _hub_shift)
        if moved is None:
            continue
        yield from self.judge(
            moved.within(0.0, DISH_LIMIT_MM),
            (f"{end}-wheel", f"{end}-end-caps"),
            fault=f"With the change of end caps the hub of the {end} wheel moves {_to_a_side(moved)}; the rim must be "
            "dished back to the middle, and sprockets and rotor have moved as well.",
            ask="whether the end caps leave the hub in the middle",
        )


def _to_a_side(moved: Amount) -> str:
    if moved.high < 0:
        return f"{Amount(-moved.high, -moved.low).shown('mm')} away from the drive side"
    return f"{moved.shown('mm')} towards the drive side"


@rule(Level.EXTRA, source="geometry; 0.5 mm is our choice", needs_change=True)
def rotor_off_place(self: Rule, context: Context) -> Iterator[Finding]:
    """End caps leave the rotor in another place beside its dropout than the brake is made for.

    Frame and fork hold the brake at a fixed distance from the left dropout. A kit that widens the hub leaves the rotor
    where the hub has it, half of the step too far in, and one that moves the hub to a side moves the rotor too.

    Cure: the spacer for the rotor that comes with such a kit, or set the brake over as far as its bolts allow; on
    splines there is little room for a spacer, so ask the hub's maker.
    """
    view = context.view
    for end in _ENDS:
        rotor = f"{end}-rotor"
        moved = _moved(context, end, _rotor_offset) if view.has(rotor, "diameter_mm") else None
        if moved is None:
            continue
        yield from self.judge(
            moved.within(0.0, ROTOR_LIMIT_MM),
            (rotor, f"{end}-end-caps"),
            fault=f"With the change of end caps the {end} rotor sits {_in_or_out(moved)} than the brake is made for: "
            "put the spacer of the kit under it, or set the brake over as far as its bolts allow.",
            ask="whether the end caps leave the rotor in its place",
        )


def _in_or_out(moved: Amount) -> str:
    if moved.high < 0:
        return f"{Amount(-moved.high, -moved.low).shown('mm')} further out"
    return f"{moved.shown('mm')} further in"
