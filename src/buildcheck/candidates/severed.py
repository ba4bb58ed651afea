"""Why devices are cut off, or cannot be charged, whatever else is on their system: not learned piece by piece.

The evidence of such a finding names every device and wire of the system. Less is enough, and follows from what a
system is: devices with sockets for its plugs, which hang together over wires of whatever sort.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import product

from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.features import SYSTEM
from buildcheck.fit.context import Context
from buildcheck.fit.functions import name_of_wire
from buildcheck.fit.wiring import build_wiring, system_of
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Level
from buildcheck.remedies import Explanation, Feature, Features

_NOTHING: Features = frozenset()
_OF_THE_SYSTEM: Features = frozenset({SYSTEM})
# What tells only which devices hang together.
_JOINING = frozenset({"ports", "plugs", "start_plug", "end_plug", "power", "charge_port"})


def why_severed(reason: FindingReason) -> Explanation | None:
    """What is enough for something in a system of shifting to block as this does; None where only trials can tell."""
    if reason.finding.level is not Level.BLOCKS:
        return None
    if reason.finding.name == "wiring-not-connected":
        return _not_joined(reason)
    return _not_charged(reason) if reason.finding.name == "charge-point-out-of-reach" else None


def _not_joined(reason: FindingReason) -> Explanation | None:
    """Two devices of one system with no wire from those that hang together with the one to any other.

    Whichever of the pieces a finding then is about, it blocks: one of the two is a device that shifts.
    """
    context = reason.context
    pieces = [*map(frozenset, build_wiring(context.view).pieces())]
    apart = [context.bike[name] for name in reason.finding.positions if name in context.bike]
    for one, other in product(apart, _first_those_that_stay(context)):
        system = system_of(one)
        if system is None or system != system_of(other) or not (_shifts(context, one) or _shifts(context, other)):
            continue
        around = [next(piece for piece in pieces if spot.position in piece) for spot in (one, other)]
        if around[0] is not around[1]:
            needs = dict.fromkeys(_that_would_cross(context, min(around, key=len)), _NOTHING)
            return {**needs, one.home: _OF_THE_SYSTEM, other.home: _OF_THE_SYSTEM}
    return None


def _first_those_that_stay(context: Context) -> list[Fitted]:
    devices = [spot for spot in build_wiring(context.view).devices.values() if spot is not None]
    return sorted(devices, key=lambda spot: (spot.home in context.changed, not _shifts(context, spot), spot.position))


def _shifts(context: Context, spot: Fitted) -> bool:
    return context.view.standards.kinds[spot.part.kind].shifts


def _that_would_cross(context: Context, side: frozenset[str]) -> Iterator[str]:
    """The wires, taken off or never there, from these devices to any others."""
    gone = [spot for spot in _before(context) if spot.position not in context.bike]
    for spot in gone:
        if spot.part.kind == "wire" and (spot.start in side) is not (spot.end in side):
            yield spot.home
    others = {spot.position for spot in (*context.bike.main_spots(), *gone)}
    for one, other in product(sorted(side), sorted(others - side)):
        yield name_of_wire(one, other)
        yield name_of_wire(other, one)


def _before(context: Context) -> Iterable[Fitted]:
    return () if context.before is None else context.before.bike.fitted.values()


def _not_charged(reason: FindingReason) -> Explanation | None:
    """A battery on a system of shifting, and no part of the bike with a charge socket but those out of reach."""
    context, named = reason.context, reason.finding.positions
    spots = list(context.bike.main_spots())
    if any(spot.part.charge_port and spot.position not in named for spot in spots):
        return None
    battery = next((context.bike[name] for name in named if context.bike[name].part.power == "battery"), None)
    system = None if battery is None else system_of(battery)
    devices = _first_those_that_stay(context)
    shifter = next((spot for spot in devices if _shifts(context, spot) and system_of(spot) == system), None)
    if battery is None or system is None or shifter is None:
        return None
    needs: dict[str, frozenset[Feature]] = {spot.home: frozenset({"charge_port"}) for spot in spots}
    needs.update((spot.home, _NOTHING) for spot in _before(context) if spot.position not in context.bike)
    for home, names in reason.whole.items():
        spot = context.bike.get(home)
        if spot is None or spot.part.kind != "wire":
            needs[home] = needs.get(home, _NOTHING) | (names - _JOINING)
    needs[battery.home] |= {SYSTEM, "power"}
    needs[shifter.home] |= {SYSTEM}
    return needs
