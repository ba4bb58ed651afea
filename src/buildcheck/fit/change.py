"""Making a change to a bike: what is fitted, what comes off, and what that does to the neighbours."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import replace

from buildcheck.fit.places import options
from buildcheck.model.bikes import Bike, Change, Fitted
from buildcheck.model.parts import Part
from buildcheck.model.standards import PositionRow, Standards

LookUp = Callable[[str], tuple[Part, Mapping[str, str]]]


def apply_change(bike: Bike, change: Change, look_up: LookUp, standards: Standards) -> Bike:
    """The bike after a change. Fitting the part that is there already changes nothing.

    Raises KeyError for a part or a position that is not known.
    """
    fitted = dict(bike.fitted)
    for position in change.take_off:
        _take_off(fitted, position, standards)
    for part_id, position in change.fit:
        old = fitted.get(position)
        if old is not None and old.home == position and old.part.id == part_id:
            continue
        part, where = look_up(part_id)
        _fit(fitted, position, part, where, standards)
        _settle(fitted, position)
    return bike.with_fitted(fitted)


def _settle(fitted: dict[str, Fitted], position: str) -> None:
    """A thing that finds no place on what carried its forerunner goes to the first free place that takes it."""
    rider = fitted[position]
    if not rider.part.mounts or _first_place(rider, fitted.get(rider.on or "")) is not None:
        return
    taken = {
        (spot.on, place)
        for spot in fitted.values()
        if spot.part.mounts and spot.position != position
        for place in (spot.place or _first_place(spot, fitted.get(spot.on or "")),)
        if not _shared(fitted.get(spot.on or ""), place)
    }
    for carrier in sorted(fitted.values(), key=lambda spot: spot.position):
        place = _first_place(rider, carrier, {name for on, name in taken if on == carrier.position and name})
        if place is not None:
            fitted[position] = replace(rider, on=carrier.position, place=place)
            return


def _shared(carrier: Fitted | None, name: str | None) -> bool:
    """Has a place a width that several things may share?"""
    places = carrier.part.places if carrier is not None else ()
    return any(place.id == name and place.width_mm is not None for place in places)


def _first_place(rider: Fitted, carrier: Fitted | None, taken: Collection[str] = ()) -> str | None:
    """The first place of a carrier that certainly takes the rider."""
    if carrier is None:
        return None
    return next((place.id for place, _, test in options(carrier, rider) if test.yes and place.id not in taken), None)


def _row(standards: Standards, position: str) -> PositionRow:
    row = standards.position(position)
    if row is None:
        raise KeyError(position)
    return row


def _take_off(fitted: dict[str, Fitted], position: str, standards: Standards) -> None:
    """Empty a position. What stood on a part in the stack comes to stand on what was below it."""
    gone = fitted.get(position)
    if gone is None:
        return
    names = [name for name, spot in fitted.items() if spot.home == gone.home]
    supports = {name: fitted[name].on for name in names}
    for name in names:
        del fitted[name]
    for name, spot in list(fitted.items()):
        if spot.on in supports and _row(standards, name).stacked:
            below = supports[spot.on]
            while below in supports:
                below = supports[below]
            fitted[name] = replace(spot, on=below)


def _fit(fitted: dict[str, Fitted], position: str, part: Part, where: Mapping[str, str], standards: Standards) -> None:
    row = _row(standards, position)
    old = fitted.get(position)
    filled = (position, *row.fills.get(part.kind, ()))
    supports = {name: fitted[name].on for name in filled if name in fitted}
    for name in filled:
        _clear_for(fitted, name, filled)
    for name in filled:
        on = supports.get(name) or _default_support(fitted, name, filled, standards)
        spot = Fitted(name, position, part, frozenset(), on, where=where)
        if old is not None:
            spot = replace(spot, start=old.start, end=old.end, place=old.place)
        fitted[name] = spot
    if old is None and row.stacked and row.many:
        _slide_under_stem(fitted, position, standards)


def _clear_for(fitted: dict[str, Fitted], name: str, filled: tuple[str, ...]) -> None:
    """Empty a position that is about to be filled, with the other positions its one-piece part fills."""
    gone = fitted.get(name)
    if gone is None:
        return
    for other in [key for key, spot in fitted.items() if spot.home == gone.home]:
        del fitted[other]


def _default_support(fitted: dict[str, Fitted], name: str, filled: tuple[str, ...], standards: Standards) -> str | None:
    candidates = _row(standards, name).on
    return next((on for on in candidates if on in fitted or on in filled), None)


def _slide_under_stem(fitted: dict[str, Fitted], position: str, standards: Standards) -> None:
    """A new spacer goes straight under the stem."""
    stem = fitted.get("stem")
    if stem is None or stem.on is None:
        return
    fitted[position] = replace(fitted[position], on=stem.on)
    for name, spot in list(fitted.items()):
        if spot.home == stem.home and spot.on == stem.on:
            fitted[name] = replace(spot, on=position)
