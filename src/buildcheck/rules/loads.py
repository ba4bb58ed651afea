"""Loads: what a clamp may go round, extensions on a bar, luggage, child seats and trailers by their kilograms."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit import tape
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, Answer, Test, is_word
from buildcheck.fit.places import chosen_place, load_limit, occupied_places, riders_of, seat_of, sitting_in
from buildcheck.fit.tape import each
from buildcheck.fit.view import View, called
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.parts import Place
from buildcheck.model.sentences import Several, Value, Word, say
from buildcheck.model.standards import Standards

_MAKERS = "the limit is the maker's; common practice, no source"


def _things(view: View) -> list[Fitted]:
    """What hangs on the bike and is for something."""
    return view.layout.recall("things", lambda: [
        spot for spot in view.hanging("accessory") if view.has(spot.position, "use")
    ])  # fmt: skip


def _is(view: View, spot: Fitted, *traits: str) -> Test:
    """Is a thing for a use that has one of these traits?"""
    words = view.memo.recall(("uses with", traits), lambda: _uses_with(view.standards, traits))
    return is_word(view.word(spot.position, "use"), *words)


def _uses_with(standards: Standards, traits: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(word for trait in traits for word in standards.words_with("accessory-use", trait))


def _clamps(view: View, spot: Fitted, place: Place | None) -> bool:
    """Does a thing squeeze what carries it? Where no place is listed for it, do all its ways to go round a tube?"""
    words = view.standards.words_with
    types = {place.type} if place is not None else {mount.type for mount in spot.part.mounts}
    if place is None:
        types &= {*words("place", "round_a_tube"), *words("place", "at_an_axle")}
    return bool(types) and types <= {*words("place", "clamps")}


def _sits(view: View, *spots: Fitted) -> None:
    """Where these things sit is a condition of what is found of them there."""
    if tape.running() is None:
        return
    for spot in spots:
        tape.read(chosen_place(view, spot)[1].facts)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="common practice, no source: it is the maker who allows it",
)  # fmt: skip
def clamp_not_allowed(self: Rule, context: Context) -> Iterator[Finding]:
    """A load, or anything on a dropper post, is clamped round a part whose maker allows no clamp there.

    A clamp that a load pulls at crushes thin tubes: carbon breaks along the clamp's edge without warning. A clamp
    on the inner tube of a dropper post scores what runs through its seal, and the post no longer goes down.

    Cure: another place for it, or a part whose maker allows the clamp.
    """
    view = context.view
    for spot in each(_things(view)):
        carrier = view.bike.get(spot.on)
        if carrier is None or not view.has(carrier.position, "clamps_allowed"):
            continue
        test = _bears_clamp(view, spot, carrier)
        if self.is_silent(test):
            continue
        place, held = chosen_place(view, spot)
        if held.no or not _clamps(view, spot, place):
            continue
        told: dict[str, Value] = {"thing": called(spot), "carrier": view.name(carrier.position)}
        yield from self.judge(
            test,
            (spot.position, carrier.home),
            fault=say("{thing} is clamped round {carrier}, whose maker does not allow it.", **told),
            ask=say("whether the maker of {carrier} lets {thing} be clamped round it", **told),
        )


def _bears_clamp(view: View, spot: Fitted, carrier: Fitted) -> Test:
    allowed = is_word(view.word(carrier.position, "clamps_allowed"), "yes")
    if allowed.is_yes and carrier.part.kind != "seatpost":
        return allowed
    test = allowed.only_if(_is(view, spot, "bears_a_load", "bears_a_person"))
    if carrier.part.kind != "seatpost":
        return test
    return test.both(allowed.either(view.amount(carrier.position, "travel_mm").at_most(0)))


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="ISO 4210-2 cl. 4.7.6.7: extensions only where the bar is declared suitable",
)  # fmt: skip
def extensions_not_allowed(self: Rule, context: Context) -> Iterator[Finding]:
    """Forearm extensions are clamped on a bar whose maker does not allow them.

    The rider's weight lies on two clamps beside the stem, where the bar is thin and was never tested for it. Such
    a bar turns in the stem or breaks at the clamp.

    Cure: a bar that is declared suitable for extensions, or none of them.
    """
    view = context.view
    for spot in each(_things(view)):
        carrier = view.bike.get(spot.on)
        if carrier is None or not view.has(carrier.position, "extensions_allowed"):
            continue
        allowed = is_word(view.word(carrier.position, "extensions_allowed"), "yes")
        test = allowed.only_if(_is(view, spot, "lies_on_the_bar"))
        if self.is_silent(test):
            continue
        _sits(view, spot)
        told: dict[str, Value] = {"thing": called(spot), "bar": view.name(carrier.position)}
        yield from self.judge(
            test,
            (spot.position, carrier.home),
            fault=say("{bar} is not declared suitable for extensions, and {thing} sits on it.", **told),
            ask=say("whether {bar} is declared suitable for extensions such as {thing}", **told),
        )


def _load(view: View, spot: Fitted) -> Amount:
    """What a thing weighs as it is ridden: a rack what hangs on it, what is not made to carry nothing."""
    if not view.has(spot.position, "use", "load_kg"):
        return Amount(0.0, 0.0)
    bears, passes = _is(view, spot, "bears_a_load"), _is(view, spot, "carries_others")
    if bears.no:
        return Amount(0.0, 0.0, bears.facts)
    upon = _sum(view, riders_of(view, spot)).resting_on(passes)
    if passes.yes:
        return upon
    own = view.amount(spot.position, "load_kg").resting_on(bears)
    return own if bears.yes else Amount(0.0, own.high + upon.high, own.facts + upon.facts)


def _sum(view: View, spots: list[Fitted]) -> Amount:
    _sits(view, *spots)
    return sum((_load(view, spot) for spot in spots), Amount(0.0, 0.0))


def _loaded(view: View, spots: list[Fitted]) -> list[Fitted]:
    """Those of these things that weigh anything, or may."""
    return [spot for spot in spots if _load(view, spot).high > 0]


def _names(spots: list[Fitted]) -> Several:
    return Several(tuple(map(called, spots)), ", ")


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source=_MAKERS)
def place_overloaded(self: Rule, context: Context) -> Iterator[Finding]:
    """What sits in a place weighs more than its maker lets it carry.

    Eyelets and bosses are brazed, glued or riveted in. They do not give notice: the bolt pulls out or shears on a
    hole in the road, and the luggage goes into the wheel. On a carbon fork the leg around the boss goes with it.

    Cure: less luggage there, or a frame or fork that is made to bear it.
    """
    view = context.view
    for carrier, place in each(view.layout.recall("places-with-a-limit", lambda: _places_with_a_limit(view))):
        spots = _loaded(view, sitting_in(view, carrier, place))
        if not spots or not _is_limited(view, carrier, place, spots):
            continue
        load, limit = _sum(view, spots), load_limit(carrier, place)
        test = load.at_most(limit)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "things": _names(spots), "place": Word(place.id), "carrier": view.name(carrier.position),
        }  # fmt: skip
        yield from self.judge(
            test,
            (carrier.position, *sorted(spot.position for spot in spots)),
            fault=say(
                "The place {place} of {carrier} bears {limit}; it carries {load}: {things}.",
                load=load.told("kg"), limit=limit.told("kg"), **told,
            ),
            ask=say("whether the place {place} of {carrier} bears the load of {things}", **told),
        )  # fmt: skip


def _places_with_a_limit(view: View) -> list[tuple[Fitted, Place]]:
    """The places in which anything sits and that may have a limit for it, whatever it weighs."""
    with tape.recording(None):
        return [
            (carrier, place) for carrier, place in occupied_places(view)
            if _is_limited(view, carrier, place, sitting_in(view, carrier, place))
        ]  # fmt: skip


def _is_limited(view: View, carrier: Fitted, place: Place, spots: list[Fitted]) -> bool:
    """Has a place a limit, known or not? A child on what has no limit for child seats asks for one, too."""
    if "load_max_kg" in place.model_fields_set or place.type in view.standards.words_with("place", "load_limited"):
        return True
    if view.has(carrier.position, "child_seat_max_kg"):
        return False
    return any(not _is(view, spot, "seats_a_child").no for spot in spots)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the limit is the maker's, stamped on the rack: 10, 18, 25 or 27 kg, from memory",
)  # fmt: skip
def rack_overloaded(self: Rule, context: Context) -> Iterator[Finding]:
    """What hangs on a rack weighs more than its maker allows.

    An overloaded rack sways before it breaks at a strut or at its lowest bolt, and then swings down behind the
    rear wheel or into it.

    Cure: less luggage, or a rack and a frame that bear it.
    """
    view = context.view
    for spot in each(_things(view)):
        riders = _loaded(view, riders_of(view, spot))
        if not riders:
            continue
        load, limit = _sum(view, riders), view.amount(spot.position, "load_max_kg")
        test = load.at_most(limit)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {"rack": view.name(spot.position), "things": _names(riders)}
        yield from self.judge(
            test,
            (spot.position, *sorted(rider.position for rider in riders)),
            fault=say(
                "{rack} bears {limit}; it carries {load}: {things}.",
                load=load.told("kg"), limit=limit.told("kg"), **told,
            ),
            ask=say("whether {rack} bears the load of {things}", **told),
        )  # fmt: skip


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source=_MAKERS, rider=True)
def rack_above_its_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A rack may carry more than the eyelets that it is bolted to.

    The figure on the rack is the one that is read when it is loaded. The lower of the two holds.

    Cure: write the lower figure on the rack, and tell the rider.
    """
    view = context.view
    for spot in each(_things(view)):
        seat = seat_of(view, spot) if _is(view, spot, "carries_others").yes else None
        if seat is None:
            continue
        carrier, place = seat
        most, limit = view.amount(spot.position, "load_max_kg"), load_limit(carrier, place)
        test = most.at_most(limit).unless_known()
        if self.is_silent(test):
            continue
        fault = say(
            "{rack} may carry {most}, and the place {place} of {carrier} bears {limit}: load it with no more.",
            rack=view.name(spot.position), most=most.told("kg"), place=Word(place.id),
            carrier=view.name(carrier.position), limit=limit.told("kg"),
        )  # fmt: skip
        yield from self.judge(test, (spot.position, carrier.home), fault=fault)


# The lightest bike that anybody brings, a child's first, and the heaviest without a motor, a long carrier: our choice.
LIGHTEST_BIKE_KG, HEAVIEST_BIKE_KG = 3.0, 50.0


@rule(Level.BLOCKS, Level.NOTE, use_proves=Proof.NOTHING, endangers=True, source=_MAKERS)
def bike_overloaded(self: Rule, context: Context) -> Iterator[Finding]:
    """Bike, rider and luggage weigh more together than the frame's maker permits.

    The figure stands on the frame or in its papers, and all that was tested was tested with it: frame, fork, post and
    wheels crack sooner above it, and the brakes take longer. A trailer is not counted: it runs on wheels of its own.

    Cure: less luggage, or a bike that is made for it. Where nobody told the rider's weight, it is only noted.
    """
    view = context.view
    if "frame" not in view.bike:
        return
    rider, limit = view.amount("frame", "rider_kg"), view.amount("frame", "permitted_total_kg")
    if not rider.bounded and not limit.bounded:
        return
    things = _loaded(view, [spot for spot in _things(view) if not _on_another(view, spot)])
    luggage = sum((_on_the_bike(view, spot) for spot in things), Amount(0.0, 0.0))
    frame, positions = view.name("frame"), ("frame", *sorted(spot.position for spot in things))
    if rider.bounded and limit.bounded:
        total = _built(view) + rider + luggage
        yield from self.judge(
            total.at_most(limit),
            positions,
            fault=say(
                "Bike, rider and luggage weigh {total}; the maker of {frame} permits {limit}.",
                total=total.told("kg"), frame=frame, limit=limit.told("kg"),
            ),
            ask=say("whether {frame} bears bike, rider and luggage together", frame=frame),
        )  # fmt: skip
    elif rider.bounded:
        text = "What {frame} bears in all is not on record; see whether it is made for a rider of {rider}."
        yield self.tell(say(text, frame=frame, rider=rider.told("kg")), positions, level=Level.NOTE)
    elif luggage.high > 0:
        text = "Bike, rider and luggage may weigh {limit} together, by the maker of {frame}."
        yield self.tell(say(text, frame=frame, limit=limit.told("kg")), positions, level=Level.NOTE)


def _built(view: View) -> Amount:
    """What the bike itself weighs; within what bikes weigh where nobody put it on a scale."""
    built = view.amount("frame", "built_kg")
    return built if built.bounded else Amount(LIGHTEST_BIKE_KG, HEAVIEST_BIKE_KG, built.facts)


def _on_another(view: View, spot: Fitted) -> bool:
    """Is it carried by a thing that is counted with what it carries?"""
    carrier = view.bike.get(spot.on)
    return carrier is not None and carrier.part.kind == spot.part.kind


def _on_the_bike(view: View, spot: Fitted) -> Amount:
    """What a thing adds to the weight of the bike: what it draws stands on wheels of its own."""
    drawn, load = _is(view, spot, "draws_a_trailer"), _load(view, spot)
    if drawn.no:
        return load
    return Amount(0.0, 0.0 if drawn.yes else load.high, (*drawn.facts, *load.facts))


@rule(Level.CAUTION, use_proves=Proof.NOTHING, source="common practice, no source", rider=True)
def strap_on_dropper(self: Rule, context: Context) -> Iterator[Finding]:
    """A bag under the saddle is strapped to a dropper post, round the tube that moves.

    The strap stops the post where it meets the collar, and the grit under it scores the tube that the seal runs on.
    With the post down the bag may touch the tyre.

    Cure: a bag that hangs on the rails alone; or the strap left open, and the saddle let down only as far as it goes.
    """
    view = context.view
    if not view.has("seatpost", "travel_mm"):
        return
    for spot in each(_things(view)):
        carrier = view.bike.get(spot.on)
        if carrier is None or carrier.home != "saddle" or not view.has(spot.position, "post_strap"):
            continue
        straps = is_word(view.word(spot.position, "post_strap"), "yes")
        test = view.amount("seatpost", "travel_mm").at_most(0).only_if(straps)
        if self.is_silent(test):
            continue
        fault = say(
            "{thing} is strapped round {post}, whose tube moves: it stops the post and scores the tube.",
            thing=called(spot), post=view.name("seatpost"),
        )  # fmt: skip
        yield from self.judge(test, (spot.position, "seatpost"), fault=fault)


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True,
    source="the limit is the maker's; a child of up to 22 kg and its seat: from memory",
)  # fmt: skip
def child_seat_not_allowed(self: Rule, context: Context) -> Iterator[Finding]:
    """A child seat weighs more, with its child, than the frame or the rack may carry of one; or none is allowed.

    Many frames and most racks are not made for a child seat: the weight sits high and behind the axle, and sways.
    Carbon frames, frames with rear suspension and light racks are ruled out by nearly all makers.

    Cure: a frame and a rack whose makers allow a child seat of that weight, or a trailer.
    """
    view = context.view
    for spot in each(_things(view)):
        seated = _is(view, spot, "seats_a_child")
        if seated.no:
            continue
        load = view.amount(spot.position, "load_kg")
        for position in each(dict.fromkeys(("frame", spot.on or "frame"))):
            if view.has(position, "child_seat_max_kg"):
                yield from _bears(self, view, spot, load, position, ("child_seat_max_kg", seated))


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=True, source=_MAKERS)
def trailer_not_allowed(self: Rule, context: Context) -> Iterator[Finding]:
    """A laden trailer weighs more than the frame's maker lets it draw; or no trailer is allowed.

    The hitch pulls sideways at one dropout in every bend and pushes when the bike brakes. A dropout or a stay that
    is not made for it cracks, and the bike cannot stop what pushes it.

    Cure: a lighter load, or a frame whose maker allows the trailer.
    """
    view = context.view
    for spot in each(_things(view)):
        drawn = _is(view, spot, "draws_a_trailer")
        if not drawn.no and view.has("frame", "trailer_max_kg"):
            load = view.amount(spot.position, "load_kg")
            yield from _bears(self, view, spot, load, "frame", ("trailer_max_kg", drawn))


# By the attribute that limits it: none allowed, too heavy, and what is asked.
_SAID = {
    "child_seat_max_kg": (
        "The maker of {carrier} allows no child seat: {thing}.",
        "{thing} weighs {load} with its child; {carrier} bears {limit} of a child seat.",
        "whether {carrier} bears the child seat {thing}",
    ),
    "trailer_max_kg": (
        "The maker of {carrier} allows no trailer: {thing}.",
        "The trailer at {thing} weighs {load} laden; {carrier} bears {limit} of a trailer.",
        "whether {carrier} bears the trailer at {thing}",
    ),
}


def _bears(
    self: Rule, view: View, spot: Fitted, load: Amount, position: str, limited: tuple[str, Test]
) -> Iterator[Finding]:
    """The finding for a load of one sort that a part bears only up to a limit of its own."""
    attribute, applies = limited
    limit = view.amount(position, attribute)
    none, heavy, ask = _SAID[attribute]
    told: dict[str, Value] = {"thing": called(spot), "carrier": view.name(position)}
    # Where none is allowed it does not matter what it would weigh.
    test = load.at_most(limit)
    if limit.high <= 0:
        test = Test(Answer.NO, limit.facts)
    test = test.only_if(applies)
    if self.is_silent(test):
        return
    _sits(view, spot)
    fault = say(none, **told) if limit.high <= 0 else say(heavy, load=load.told("kg"), limit=limit.told("kg"), **told)
    yield from self.judge(test, (spot.position, view.bike[position].home), fault=fault, ask=say(ask, **told))
