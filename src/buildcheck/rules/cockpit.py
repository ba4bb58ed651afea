"""Cockpit: bar height and reach, things that lose their clamp, the bar tape."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Test, is_not_word
from buildcheck.fit.places import chosen_place, mount_facts, options, room_left, support_words
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level
from buildcheck.rules.bar_geometry import bar_position


def _no_place(self: Rule, context: Context, spot: Fitted) -> Iterator[Finding]:
    """The finding for a thing that the part it hangs on gives no place, with where else it could go."""
    view = context.view
    carrier = view.bike.get(spot.on)
    _, test = chosen_place(view, spot)
    if test.yes:
        return
    where = support_words(view, spot)
    elsewhere = [
        f"{view.name(other.position)}: {place.id}"
        for other in sorted(view.bike.main_spots(), key=lambda other: other.position) if other.home != spot.home
        for place, _, fits in options(other, spot) if fits.yes
    ]  # fmt: skip
    because = (
        Cause(f"{where} offers: {_once(place.type for place in carrier.part.places) if carrier else 'nothing'}"),
        Cause(f"{spot.part.name} mounts by: {_once(mount.type for mount in spot.part.mounts)}"),
        *((Cause("it can go to " + "; ".join(elsewhere[:3])),) if elsewhere else ()),
    )
    yield from self.judge(
        test,
        (spot.position, *((carrier.home,) if carrier else ())),
        fault=f"{spot.part.name} has no place on {where}.",
        ask=f"whether {spot.part.name} finds a place on {where}",
        because=lambda: because,
    )


def _once(words: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(words)) or "nothing"


@rule(Level.BLOCKS, source="common practice, no source")
def accessory_without_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A lamp, bag, computer or other accessory has lost the clamp zone, strap or bolts that held it.

    A one-piece or wing-shaped bar has no round zone for a clamp, and straps slip or crush on it. A lamp
    that is not held is a lamp in the front wheel.

    Cure: a mount that suits the new bar, another place on the bike, or leave it off.
    """
    for spot in context.view.of_kind(context.view.standards.kinds_that_hang("accessory")):
        yield from _no_place(self, context, spot)


@rule(Level.BLOCKS, source="common practice, no source")
def place_too_full(self: Rule, context: Context) -> Iterator[Finding]:
    """More things are to be mounted in one place than it has room for.

    Each clamp takes its width of the round zone. A place without a width takes one thing.

    Cure: move one of them, or use a mount that carries two.
    """
    view = context.view
    for carrier in view.bike.main_spots():
        for place in carrier.part.places:
            test, riders = room_left(view, carrier, place)
            if len(riders) > 1:
                names = ", ".join(rider.part.name for rider in riders)
                where = f"{place.id} of {view.name(carrier.position)}"
                yield from self.judge(
                    test,
                    (carrier.position, *sorted(rider.position for rider in riders)),
                    fault=f"{names} do not have room together in the place {where}.",
                    ask=f"whether {names} have room together in the place {where}",
                    also=tuple(fact for rider in riders for fact in mount_facts(rider)),
                )


@rule(Level.BLOCKS, source="common practice, no source")
def support_missing(self: Rule, context: Context) -> Iterator[Finding]:
    """A part is mounted on a position that is empty.

    After a part comes off, whatever hung on it has nothing to hold on to.

    Cure: fit a part there, move what hung on it, or take it off too.
    """
    view = context.view
    hanging = view.standards.kinds_that_hang("accessory", "wiring")
    for spot in view.bike.main_spots():
        if spot.part.mounts and spot.part.kind in hanging:
            continue  # told by accessory-without-place and junction-without-place
        if spot.on is not None and spot.on not in view.bike:
            text = f"{view.name(spot.position)} is mounted on the {spot.on}, and nothing is there."
            yield self.tell(text, (spot.position, spot.on))


@rule(Level.BLOCKS, source="common practice, no source")
def lever_on_wrong_side(self: Rule, context: Context) -> Iterator[Finding]:
    """A lever made for one hand sits on the other side of the bar.

    Shift paddles and hoods are handed: on the wrong side the lever points away from the rider, and its
    hose or cable leaves on the outside.

    Cure: the lever of the other hand, or one that suits either.
    """
    view = context.view
    for row_id in ("lever", "shifter"):
        for side, wrong in (("left", "right"), ("right", "left")):
            position = f"{row_id}-{side}"
            if view.has(position, "hand"):
                hand = view.word(position, "hand")
                answer = Answer.UNKNOWN if hand.value is None else Answer.NO if hand.value == wrong else Answer.YES
                yield from self.judge(
                    Test(answer, (hand,)),
                    (position,),
                    fault=f"{view.name(position)} is made for the {wrong} hand.",
                    ask=f"whether {view.name(position)} is made for the {side} hand",
                )


# What a lever does not do if the attribute that is its duty is `none`.
_IDLE = {
    "brake": "works no brake",
    "shift_system": "shifts nothing at the rear",
    "front_shift_system": "shifts nothing at the front",
}


@rule(Level.BLOCKS, source="common practice, no source")
def lever_without_duty(self: Rule, context: Context) -> Iterator[Finding]:
    """A lever sits where another kind of lever is needed: a brake lever as shifter, a remote as brake.

    Levers look alike in a list; what they pull is another matter.

    Cure: a lever that does what its position is for.
    """
    view = context.view
    duties = [(row.id, row.duty) for row in view.standards.positions.values() if row.duty in _IDLE]
    for position, attribute in duties:
        if view.has(position, attribute):
            yield from self.judge(
                is_not_word(view.word(position, attribute), "none"),
                (position,),
                fault=f"{view.name(position)} {_IDLE[attribute]}.",
                ask=f"what {view.name(position)} works",
            )


@rule(Level.EXTRA, source="common practice, no source", needs_change=True)
def bar_tape_disturbed(self: Rule, context: Context) -> Iterator[Finding]:
    """The bar tape must come off, and wrapped tape cannot be used again with a clear conscience.

    A new bar, moved levers or lines that ran under the tape all mean unwrapping. Adhesive backing tears
    and stretched tape does not lie flat twice; plan on new tape. It goes on last, after every test.

    Cure: new tape, wrapped after the brakes and the shifting have passed their tests.
    """
    view, before = context.view, context.before
    if before is None or "bar-tape" not in before.bike or before.bike["bar-tape"].part.kind != "bar-tape":
        return
    causes = sorted(
        name for name in context.changed
        if name == "handlebar" or name.startswith(("lever-", "shifter-")) or _line_under_tape(context, name)
    )  # fmt: skip
    if causes and "bar-tape" not in context.changed and view.bike.get("bar-tape") is not None:
        text = f"The bar tape comes off for the change at {', '.join(causes)}; plan new tape."
        yield self.tell(text, ("bar-tape", *causes))


def _line_under_tape(context: Context, name: str) -> bool:
    before = context.before
    route = before.routing.routes.get(name) if before is not None else None
    return route is not None and any(way.spot.home == "handlebar" and not way.closed for way in route.ways)


def _moved(by_mm: float) -> str:
    return "as before" if abs(by_mm) < 0.5 else f"{by_mm:+.0f} mm"


@rule(Level.NOTE, source="geometry (CALC from stem length, angle and head angle)", needs_change=True)
def bar_position_changes(self: Rule, context: Context) -> Iterator[Finding]:
    """The change moves the bar up, down, nearer or further away.

    Height is counted from the top of the head tube to the middle of the bar clamp, reach from the
    steering axis there, both square to the ground. A rider notices 5 mm.

    Cure: none needed if the rider wants it; spacers or another stem length if not.
    """
    if context.before is None or not context.changed:
        return
    old, new = bar_position(context.before.view), bar_position(context.view)
    if old is None or new is None:
        return
    rise, reach = new[0].low - old[0].low, new[1].low - old[1].low
    if abs(rise) < 0.5 and abs(reach) < 0.5:
        return
    text = (
        f"The bar centre comes to {new[0].low:.0f} mm above the head tube ({_moved(rise)}) and "
        f"{new[1].low:.0f} mm ahead of it ({_moved(reach)})."
    )
    yield self.tell(text, ("handlebar", "stem"), new[0].facts)
