"""Places and mounts: does a lamp, a junction or a battery have somewhere to live?"""

from __future__ import annotations

from collections.abc import Iterator
from functools import reduce

from buildcheck.fit import tape
from buildcheck.fit.facts import Amount, Answer, Fact, Test, amount_of, is_word
from buildcheck.fit.reading import has_attribute, read_fact
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin
from buildcheck.model.parts import Mount, Place
from buildcheck.model.sentences import At, Value, say
from buildcheck.model.standards import Standards

# A tube of less is none: in records 0 stands for one that is not there, or not round.
_THINNEST_TUBE_MM = 1.0
# What draws a trailer does so behind the bike.
_AXLE = "rear-axle"


def _amount(spot: Fitted, attribute: str, value: object, minimum: float = 0.0, unit: str = "mm") -> Amount:
    where = spot.written_at(attribute.partition(".")[0])
    return amount_of(Fact(spot.home, attribute, value, unit, Origin.STATED, where), minimum)


def _of_mount(rider: Fitted, mount: Mount, attribute: str) -> Amount:
    return _amount(rider, f"mounts.{mount.type}.{attribute}", getattr(mount, attribute))


def place_facts(spot: Fitted) -> tuple[Fact, ...]:
    """The list of places of a part, as one fact."""
    fact = spot.kept.get("(places)")
    if fact is None:
        known = spot.part.lists("places")
        names = (tuple(place.type for place in spot.part.places) or ("none",)) if known else None
        fact = spot.kept["(places)"] = Fact(spot.home, "places", names, "", Origin.STATED, spot.written_at("places"))
    return (fact,)


def mount_facts(spot: Fitted) -> tuple[Fact, ...]:
    """The ways in which a part can be mounted, as one fact."""
    fact = spot.kept.get("(mounts)")
    if fact is None:
        names = tuple(mount.type for mount in spot.part.mounts) or None
        fact = spot.kept["(mounts)"] = Fact(spot.home, "mounts", names, "", Origin.STATED, spot.written_at("mounts"))
    return (fact,)


def holds(carrier: Fitted, place: Place, rider: Fitted, mount: Mount) -> Test:
    """Can this place take this mount?"""
    facts = place_facts(carrier) + mount_facts(rider)
    if place.type != mount.type:
        return Test(Answer.NO, facts)
    diameter = _amount(carrier, f"places.{place.id}.diameter_mm", place.diameter_mm)
    result = Test(Answer.YES, facts).both(_in_span(diameter, rider, mount))
    stated = mount.model_fields_set
    if "width_mm" in stated and "width_mm" in place.model_fields_set:
        width = _amount(carrier, f"places.{place.id}.width_mm", place.width_mm)
        result = result.both(width.at_least(_of_mount(rider, mount, "width_mm")))
    return result


def _in_span(diameter: Amount, rider: Fitted, mount: Mount) -> Test:
    """Does a mount close round this diameter? A limit that is left out is none; one written as unknown may be any."""
    result, stated = Test(Answer.YES, ()), mount.model_fields_set
    if "diameter_min_mm" in stated:
        result = result.both(diameter.at_least(_of_mount(rider, mount, "diameter_min_mm")))
    if "diameter_max_mm" in stated:
        result = result.both(diameter.at_most(_of_mount(rider, mount, "diameter_max_mm")))
    return result


def by_shape(standards: Standards, carrier: Fitted, rider: Fitted) -> Test | None:
    """Can the rider go round a tube, to the end of an axle, or on a rack, that a record need not list as a place?

    None for a carrier that has nothing of the kind.
    """
    found: Test | None = None
    for mount in rider.part.mounts:
        test: Test | None = None
        if mount.type in standards.words_with("place", "round_a_tube"):
            test = _round_a_tube(standards, carrier, rider, mount)
        elif mount.type in standards.words_with("place", "at_an_axle") and carrier.home == _AXLE:
            test = is_word(read_fact(carrier, "hitch_allowed"), "yes")
        elif mount.type in standards.words_with("place", "of_a_rack"):
            test = _on_a_rack(standards, carrier, mount)
        if test is not None:
            found = test if found is None else found.either(test)
    return None if found is None else Test(found.held, mount_facts(rider) + found.facts)


def _round_a_tube(standards: Standards, carrier: Fitted, rider: Fitted, mount: Mount) -> Test | None:
    every = (term.id for term in standards.vocabularies["tube"].terms)
    attributes = [f"{tube.replace('-', '_')}_outer_mm" for tube in mount.tubes or every]
    diameters = [amount_of(read_fact(carrier, name)) for name in attributes if has_attribute(type(carrier.part), name)]
    if not diameters:
        return None
    if mount.tubes is None:
        which = Fact(rider.home, f"mounts.{mount.type}.tubes", None, "", Origin.STATED, rider.written_at("mounts"))
        return Test(Answer.UNKNOWN, (which,))
    found = [size.at_least(_THINNEST_TUBE_MM).both(_in_span(size, rider, mount)) for size in diameters]
    return reduce(Test.either, found)


def _on_a_rack(standards: Standards, carrier: Fitted, mount: Mount) -> Test | None:
    """Nobody knows of a rack whose record does not list the place; None for what lists it, or can be no rack."""
    listed = any(place.type == mount.type for place in carrier.part.places)
    if listed or not has_attribute(type(carrier.part), "use"):
        return None
    is_rack = is_word(read_fact(carrier, "use"), *standards.words_with("accessory-use", "carries_others"))
    places = Fact(carrier.home, "places", None, "", Origin.STATED, carrier.written_at("places"))
    return is_rack.both(Test(Answer.UNKNOWN, (places,)))


def options(carrier: Fitted, rider: Fitted) -> Iterator[tuple[Place, Mount, Test]]:
    """Every pairing of a place of the carrier with a mount of the rider, best answers first."""
    pairs = [
        (place, mount, holds(carrier, place, rider, mount))
        for place in carrier.part.places
        for mount in rider.part.mounts
    ]
    order = {Answer.YES: 0, Answer.UNKNOWN: 1, Answer.NO: 2}
    return iter(sorted(pairs, key=lambda pair: (order[pair[2].held], pair[0].id)))


def may_carry(view: View, carrier: Fitted, rider: Fitted) -> bool:
    """Could a thing go to another carrier: does its position, a place of that sort, or the carrier's shape say so?"""
    kinds = {mount.type for mount in rider.part.mounts}
    places = [place.id for place in carrier.part.places if place.type in kinds and place.id != rider.place]
    if carrier.position == rider.on:
        return bool(places)
    if places or carrier.position in view.row(rider.position).on:
        return True
    shape = by_shape(view.standards, carrier, rider)
    return shape is not None and shape.is_yes


def chosen_place(view: View, rider: Fitted) -> tuple[Place | None, Test]:
    """The place that a mounted part sits in: the one its bike file names, else the first that takes it.

    For a part whose record does not say how it mounts the answer is unknown. Where it goes round a tube, or to the
    end of an axle, that is not listed as a place, there is none to name, and yet the answer need not be no.
    """
    if not rider.part.mounts:
        return None, Test(Answer.UNKNOWN, mount_facts(rider))
    carrier = view.bike.get(rider.on)
    if carrier is None:
        if rider.on is not None:
            tape.asked(tape.PositionAsked(rider.on))
        return None, Test(Answer.NO, mount_facts(rider))
    key = ("place", rider.home, rider.token, carrier.home, carrier.token, rider.place)
    return view.memo.recall(key, lambda: _choose(view.standards, rider, carrier))


def sits(standards: Standards, rider: Fitted, carrier: Fitted) -> Test:
    """Does a thing with mounts find a place on a carrier, in the place that is named for it if it has one?"""
    return _choose(standards, rider, carrier)[1]


def _choose(standards: Standards, rider: Fitted, carrier: Fitted) -> tuple[Place | None, Test]:
    candidates = list(options(carrier, rider))
    named = rider.place is not None and any(place.id == rider.place for place in carrier.part.places)
    if named:
        candidates = [pair for pair in candidates if pair[0].id == rider.place]
    unlisted = Answer.NO if carrier.part.lists("places") else Answer.UNKNOWN
    place, listed = None, Test(unlisted, place_facts(carrier) + mount_facts(rider))
    if candidates and not candidates[0][2].is_no:
        place, _, listed = candidates[0]
    if named:
        return place, listed
    shape = by_shape(standards, carrier, rider)
    if shape is None:
        return place, listed
    return (None if shape.is_yes else place), shape.either(listed)


def free_places(view: View, rider: Fitted) -> list[tuple[Fitted, Place]]:
    """Places of the rider's family that nothing sits in: where it can go, if need be with another mount."""
    return view.local.recall(("free-places", rider.position), lambda: _free_places(view, rider))


def _free_places(view: View, rider: Fitted) -> list[tuple[Fitted, Place]]:
    places, sitting = _places(view)
    families = {mount.type.partition(".")[0] for mount in rider.part.mounts}
    itself = {rider.position}
    return [
        (carrier, place)
        for carrier, place in places
        if place.type.partition(".")[0] in families and sitting.get((carrier.home, place.id), itself) == itself
    ]


_Places = tuple[list[tuple[Fitted, Place]], dict[tuple[str, str], set[str]]]


def _places(view: View) -> _Places:
    return view.layout.recall("places", lambda: _find_places(view))


def _find_places(view: View) -> _Places:
    """All places, by the position of the part that has them; and for each in which something sits, what does."""
    carriers = sorted(view.bike.main_spots(), key=lambda spot: spot.position)
    sitting: dict[tuple[str, str], set[str]] = {}
    for home, riders in _riders(view).items():
        for rider in riders:
            place, _ = chosen_place(view, rider)
            if place is not None:
                sitting.setdefault((home, place.id), set()).add(rider.position)
    return [(carrier, place) for carrier in carriers for place in carrier.part.places], sitting


def shared_places(view: View) -> list[tuple[Fitted, Place]]:
    """The places in which more than one thing sits."""
    return view.layout.recall("shared-places", lambda: _find_shared(view))


def _find_shared(view: View) -> list[tuple[Fitted, Place]]:
    _, sitting = _places(view)
    return [
        (carrier, place) for carrier in view.bike.main_spots() for place in carrier.part.places
        if len(sitting.get((carrier.home, place.id), ())) > 1
    ]  # fmt: skip


def riders_of(view: View, carrier: Fitted) -> list[Fitted]:
    """The things with mounts that are on a part."""
    return _riders(view).get(carrier.home, [])


def seat_of(view: View, rider: Fitted) -> tuple[Fitted, Place] | None:
    """What a thing sits on and in which of its places; None where it has none, or none that is listed."""
    place, held = chosen_place(view, rider)
    carrier = view.bike.get(rider.on)
    return None if held.no or place is None or carrier is None else (carrier, place)


def load_limit(carrier: Fitted, place: Place) -> Amount:
    """The most that all things in a place may weigh."""
    return _amount(carrier, f"places.{place.id}.load_max_kg", place.load_max_kg, unit="kg")


def occupied_places(view: View) -> list[tuple[Fitted, Place]]:
    """The places in which anything sits."""
    return view.layout.recall("occupied-places", lambda: _find_occupied(view))


def _find_occupied(view: View) -> list[tuple[Fitted, Place]]:
    places, sitting = _places(view)
    return [(carrier, place) for carrier, place in places if (carrier.home, place.id) in sitting]


def sitting_in(view: View, carrier: Fitted, place: Place) -> list[Fitted]:
    """The things that sit in one place of a part."""
    return [spot for spot in riders_of(view, carrier) if chosen_place(view, spot)[0] is place]


def room_left(view: View, carrier: Fitted, place: Place) -> tuple[Test, list[Fitted]]:
    """Do all the things in one place have room side by side? A place without a width takes one thing."""
    riders = sitting_in(view, carrier, place)
    tape.read(fact for rider in riders for fact in mount_facts(rider))
    facts = place_facts(carrier)
    if "width_mm" not in place.model_fields_set:
        return Test(Answer.YES if len(riders) <= 1 else Answer.NO, facts), riders
    needed = Amount(0.0, 0.0, facts)
    for rider in riders:
        mount = next(mount for mount in rider.part.mounts if mount.type == place.type)
        needed = needed + _of_mount(rider, mount, "width_mm")
    return needed.at_most(_amount(carrier, f"places.{place.id}.width_mm", place.width_mm)), riders


def _riders(view: View) -> dict[str, list[Fitted]]:
    """The things with mounts that are on each part."""
    return view.layout.recall("riders", lambda: _find_riders(view))


def _find_riders(view: View) -> dict[str, list[Fitted]]:
    found: dict[str, list[Fitted]] = {}
    for spot in view.bike.main_spots():
        carrier = view.bike.get(spot.on)
        if spot.part.mounts and carrier is not None:
            found.setdefault(carrier.home, []).append(spot)
    return found


def device_opening(view: View, position: str) -> str | None:
    """Where a line reaches the thing in a position: the opening of its place, or its own; None if it has no place."""
    spot = view.bike.get(position)
    if spot is None:
        return None
    if not spot.part.mounts:
        return position
    place, test = chosen_place(view, spot)
    if test.is_no:
        return None
    return (place.opening if place is not None else None) or position


def support_words(view: View, spot: Fitted) -> Value:
    """What a thing is mounted on, for a sentence."""
    if spot.on is None:
        return say("the bike (where on it, nobody said)")
    return view.name(spot.on) if spot.on in view.bike else say("{support} (nothing there)", support=At(spot.on))


def bore_of(carrier: Fitted, place: Place) -> Amount | None:
    """The diameter of a place; None for one that has none on record: it sets no limit."""
    if "diameter_mm" not in place.model_fields_set:
        return None
    return _amount(carrier, f"places.{place.id}.diameter_mm", place.diameter_mm)


def fits_bore(rider: Fitted, place: Place, bore: Amount) -> Test:
    """Is the thing in a place made for this bore? The bore of the part itself, whatever its list of places says."""
    result = Test(Answer.YES, mount_facts(rider))
    for mount in rider.part.mounts:
        if mount.type == place.type and "diameter_min_mm" in mount.model_fields_set:
            result = result.both(bore.at_least(_of_mount(rider, mount, "diameter_min_mm")))
        if mount.type == place.type and "diameter_max_mm" in mount.model_fields_set:
            result = result.both(bore.at_most(_of_mount(rider, mount, "diameter_max_mm")))
    return result
