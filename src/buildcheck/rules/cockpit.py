"""Cockpit: bar height and reach, things that lose their clamp, the bar tape."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import is_not_word
from buildcheck.fit.places import by_shape, chosen_place, options, room_left, shared_places, support_words
from buildcheck.fit.tape import each
from buildcheck.fit.view import View, called
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Exact, Several, Size, Value, Word, say
from buildcheck.rules.bar_geometry import bar_position

# Our choice: more would not be read.
_MOST_PLACES_TOLD = 3


def _no_place(self: Rule, context: Context, spot: Fitted) -> Iterator[Finding]:
    """The finding for a thing that the part it hangs on gives no place, with where else it could go."""
    view = context.view
    carrier = view.bike.get(spot.on)
    _, test = chosen_place(view, spot)
    if test.yes:
        return
    told: dict[str, Value] = {"thing": called(spot), "where": support_words(view, spot)}
    yield from self.judge(
        test,
        (spot.position, *((carrier.home,) if carrier else ())),
        fault=say("{thing} has no place on {where}.", **told) if spot.on is not None
        else say("Nothing on this bike has a place for {thing}.", thing=spot.part.name),
        ask=say("whether {thing} finds a place on {where}", **told),
        because=lambda: _why_no_place(view, spot, carrier),
    )  # fmt: skip


def _why_no_place(view: View, spot: Fitted, carrier: Fitted | None) -> tuple[Cause, ...]:
    where, thing = support_words(view, spot), called(spot)
    offers, mounts = carrier.part.places if carrier is not None else (), spot.part.mounts
    causes = [] if spot.on is None else [
        Cause(
            say("{where} offers: {types}", where=where, types=_once(place.type for place in offers)) if offers
            else say("{where} offers: nothing", where=where)
        )
    ]
    causes += [
        Cause(
            say("{thing} mounts by: {types}", thing=thing, types=_once(mount.type for mount in mounts)) if mounts
            else say("{thing} mounts by: nothing", thing=thing)
        )
    ]  # fmt: skip
    if carrier is not None:
        shape = by_shape(view.standards, carrier, spot)
        causes.extend(causes_of(fact for fact in shape.facts if fact.attribute != "mounts") if shape else ())
    elsewhere = tuple(
        say("{part}: {place}", part=view.name(other.position), place=Word(place.id))
        for other in sorted(view.bike.main_spots(), key=lambda other: other.position) if other.home != spot.home
        for place, _, fits in options(other, spot) if fits.is_yes
    )  # fmt: skip
    if elsewhere:
        causes.append(Cause(say("it can go to {places}", places=Several(elsewhere[:_MOST_PLACES_TOLD], "; "))))
    return tuple(causes)


def _once(words: Iterable[str]) -> Several:
    return Several(tuple(map(Word, dict.fromkeys(words))), ", ")


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def accessory_without_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A lamp, bag, computer or other accessory has lost the clamp zone, strap or bolts that held it.

    A one-piece or wing-shaped bar has no round zone for a clamp, and straps slip or crush on it. A lamp
    that is not held is a lamp in the front wheel.

    Cure: a mount that suits the new bar, another place on the bike, or leave it off.
    """
    for spot in each(context.view.hanging("accessory")):
        yield from _no_place(self, context, spot)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def place_too_full(self: Rule, context: Context) -> Iterator[Finding]:
    """More things are to be mounted in one place than it has room for.

    Each clamp takes its width of the round zone. A place without a width takes one thing.

    Cure: move one of them, or use a mount that carries two.
    """
    view = context.view
    for carrier, place in each(shared_places(view)):
        test, riders = room_left(view, carrier, place)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "things": Several(tuple(map(called, riders)), ", "), "place": Word(place.id),
            "carrier": view.name(carrier.position),
        }  # fmt: skip
        yield from self.judge(
            test,
            (carrier.position, *sorted(rider.position for rider in riders)),
            fault=say("{things} do not have room together in the place {place} of {carrier}.", **told),
            ask=say("whether {things} have room together in the place {place} of {carrier}", **told),
        )


# What has lost its place is told by accessory-without-place and junction-without-place.
_TOLD_ELSEWHERE = ("accessory", "wiring")


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def support_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """A part is mounted on a position that is empty.

    After a part comes off, whatever hung on it has nothing to hold on to. Nor has a part that belongs on something
    that this bike does not have, such as an inner cable without a housing.

    Cure: fit a part there, move what hung on it, or take it off too.
    """
    view = context.view
    for spot in each(view.bike.main_spots()):
        support = _support_of(view, spot)
        if support is None or support in view.bike.fitted:
            continue
        if spot.part.mounts and spot.part.kind in view.standards.kinds_that_hang(*_TOLD_ELSEWHERE):
            continue
        text = say(
            "{part} is mounted on the {support}, and nothing is there.",
            part=view.name(spot.position), support=At(support),
        )  # fmt: skip
        yield self.tell(text, (spot.position, support))


def _support_of(view: View, spot: Fitted) -> str | None:
    """What a part is mounted on; where nothing is there that could carry it, the first that does as a rule."""
    return spot.on or next(iter(view.row(spot.position).on), None)


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def lever_on_wrong_side(self: Rule, context: Context) -> Iterator[Finding]:
    """A lever made for one hand sits on the other side of the bar.

    Shift paddles and hoods are handed: on the wrong side the lever points away from the rider, and its
    hose or cable leaves on the outside.

    Cure: the lever of the other hand, or one that suits either.
    """
    view = context.view
    for row_id in each(("lever", "shifter")):
        for side, wrong in each((("left", "right"), ("right", "left"))):
            position = f"{row_id}-{side}"
            if view.has(position, "hand"):
                test = is_not_word(view.word(position, "hand"), wrong)
                if self.is_silent(test):
                    continue
                fault, ask = _HANDED[side]
                yield from self.judge(
                    test,
                    (position,),
                    fault=say(fault, lever=view.name(position)),
                    ask=say(ask, lever=view.name(position)),
                )


# By the side of the bar that a lever sits on.
_HANDED = {
    "left": ("{lever} is made for the right hand.", "whether {lever} is made for the left hand"),
    "right": ("{lever} is made for the left hand.", "whether {lever} is made for the right hand"),
}
# What a lever does not do if the attribute that is its duty is `none`.
_IDLE = {
    "brake": ("{lever} works no brake.", "whether {lever} works a brake"),
    "shift_system": ("{lever} shifts nothing at the rear.", "whether {lever} shifts anything at the rear"),
    "front_shift_system": ("{lever} shifts nothing at the front.", "whether {lever} shifts anything at the front"),
}


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source="common practice, no source")
def lever_without_duty(self: Rule, context: Context) -> Iterator[Finding]:
    """A lever sits where another kind of lever is needed: a brake lever as shifter, a remote as brake.

    Levers look alike in a list; what they pull is another matter.

    Cure: a lever that does what its position is for.
    """
    view = context.view
    for position, attribute in each(view.duties()):
        if attribute in _IDLE and view.has(position, attribute):
            test = is_not_word(view.word(position, attribute), "none")
            if self.is_silent(test):
                continue
            fault, ask = _IDLE[attribute]
            yield from self.judge(
                test,
                (position,),
                fault=say(fault, lever=view.name(position)),
                ask=say(ask, lever=view.name(position)),
            )


# How far from the end of the bar a hand reaches that works a twist grip without letting go, and half of what the stem
# and its bend take in the middle of the bar: our choice. A hand is 80 to 100 mm wide.
_HAND_REACHES_MM, _HALF_OF_THE_MIDDLE_MM = 150.0, 30.0
_LEAST_TWIST_MM = 1.0  # whatever else a lever is, it turns with nothing round the bar


@rule(
    Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source; 150 and 30 mm are our choice", rider=True,
)  # fmt: skip
def grips_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """The grips take up more of the bar than they may: beside a twist shifter, or of the whole bar.

    A twist shifter is turned by the hand that holds the bar, so that grip beside it is a short one. With a
    full grip the hand lies beside the shifter and has to let go of the bar to shift, and the brake lever stands a
    hand further in. Grips that are longer than the straight of the bar do not go on.

    Cure: short grips, cut grips on the side of the shifter, or a trigger shifter.
    """
    view = context.view
    if not view.has("bar-tape", "length_mm") or view.bike["bar-tape"].part.kind != "grips":
        return
    length = view.amount("bar-tape", "length_mm")
    for position in each(("shifter-left", "shifter-right")):
        if view.has(position, "twist_mm"):
            twist = view.amount(position, "twist_mm")
            test = (length + twist).at_most(_HAND_REACHES_MM).only_if(twist.at_least(_LEAST_TWIST_MM))
            if self.is_silent(test, Level.CAUTION):
                continue
            yield from self.judge(
                test,
                ("bar-tape", position),
                level=Level.CAUTION,
                fault=say(
                    "{grips}: the grip is {length} long, and beside it the hand turns {twist} on {shifter}; together "
                    "they should be at most {most}.",
                    grips=view.name("bar-tape"), length=length.told("mm"), twist=twist.told("mm"),
                    shifter=view.name(position), most=Size(_HAND_REACHES_MM, _HAND_REACHES_MM, "mm"),
                ),
            )  # fmt: skip
    carrier = view.bike["bar-tape"].on
    if carrier is None or not view.has(carrier, "width_mm"):
        return
    room = view.amount(carrier, "width_mm") / 2 - _HALF_OF_THE_MIDDLE_MM
    test = length.at_most(room)
    if self.is_silent(test):
        return
    told: dict[str, Value] = {"grips": view.name("bar-tape"), "bar": view.name(carrier)}
    yield from self.judge(
        test,
        ("bar-tape", carrier),
        fault=say(
            "{grips}: the grip is {length} long, and each side of {bar} has {room} for it.",
            length=length.told("mm"), room=room.told("mm"), **told,
        ),
        ask=say("whether there is room on {bar} for {grips}", **told),
    )  # fmt: skip


@rule(Level.EXTRA, use_proves=Proof.NOTHING, source="common practice, no source", rider=False, needs_change=True)
def bar_tape_disturbed(self: Rule, context: Context) -> Iterator[Finding]:
    """The bar tape must come off, and wrapped tape cannot be used again with a clear conscience.

    A new bar, moved levers or lines that ran under the tape all mean unwrapping. Adhesive backing tears
    and stretched tape does not lie flat twice; plan on new tape. It goes on last, after every test.

    Cure: new tape, wrapped after the brakes and the shifting have passed their tests.
    """
    view, before = context.view, context.before
    if before is None or "bar-tape" not in before.bike or before.bike["bar-tape"].part.kind != "bar-tape":
        return
    under_tape = sorted(
        name for name in before.bike.fitted.keys() | view.bike.fitted.keys()
        if name == "handlebar" or name.startswith(("lever-", "shifter-")) or _line_under_tape(context, name)
    )  # fmt: skip
    changed = context.changed_of(under_tape)
    if changed and not context.is_changed("bar-tape") and view.bike.get("bar-tape") is not None:
        text = say(
            "The bar tape comes off for the change at {changed}; plan new tape.",
            changed=Several(tuple(map(At, changed)), ", "),
        )
        yield self.tell(text, ("bar-tape", *changed))


def _line_under_tape(context: Context, name: str) -> bool:
    before = context.before
    route = before.routing.routes.get(name) if before is not None else None
    return route is not None and any(way.spot.home == "handlebar" and not way.closed for way in route.ways)


# Less than this is told as no move: our choice.
_MOVES_MM = 0.5


@rule(
    Level.NOTE, use_proves=Proof.NOTHING,
    source="geometry (CALC from stem length, angle and head angle)", needs_change=True,
)  # fmt: skip
def bar_position_changes(self: Rule, context: Context) -> Iterator[Finding]:
    """The change moves the bar up, down, nearer or further away.

    Height is counted from the top of the head tube to the middle of the bar clamp, reach from the
    steering axis there, both square to the ground. A rider notices 5 mm.

    Cure: none needed if the rider wants it; spacers or another stem length if not.
    """
    if context.before is None:
        return
    with tape.recording(None):  # no change alters where the bar was before it
        old = _bar_place(context.before.view)
    new = _bar_place(context.view)
    if old is None or new is None:
        return
    rise, further = new[0] - old[0], new[1] - old[1]
    told: dict[str, Value] = {
        "height": round(new[0]), "reach": round(new[1]), "rise": Exact(rise, 0, signed=True),
        "further": Exact(further, 0, signed=True),
    }  # fmt: skip
    moves = abs(rise) >= _MOVES_MM, abs(further) >= _MOVES_MM
    if any(moves):
        yield self.tell(say(_BAR_COMES_TO[moves], **told), ("handlebar", "stem"))


def _bar_place(view: View) -> tuple[float, float] | None:
    """How high the bar is, and how far ahead."""
    found = bar_position(view)
    return None if found is None else (found[0].middle, found[1].middle)


# By whether it comes to another height, and to another reach.
_BAR_COMES_TO = {
    (True, True): "The bar centre comes to {height} mm above the head tube ({rise} mm) and {reach} mm ahead of it "
    "({further} mm).",
    (True, False): "The bar centre comes to {height} mm above the head tube ({rise} mm) and {reach} mm ahead of it "
    "(as before).",
    (False, True): "The bar centre comes to {height} mm above the head tube (as before) and {reach} mm ahead of it "
    "({further} mm).",
}
