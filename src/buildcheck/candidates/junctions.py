"""One more junction with what joins it to an electric system: where sockets are short, or no wire is long enough.

The search for remedies changes what is there, and adds what a finding names. A junction that is not there yet is
named by none, and does nothing by itself: only with its wires. So such sets are put together here, to be tried whole.
A wire that comes off is led to the junction if it is long enough for that, before a new one is bought.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import chain, combinations
from typing import NamedTuple

from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.candidates.vetter import Vetted
from buildcheck.fit.context import Context
from buildcheck.fit.places import chosen_place
from buildcheck.fit.turning import turning
from buildcheck.fit.wiring import Wiring, ends_of, plug_system, systems, wire_between
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.quantities import Interval

# Of so many wires at most three come off for a junction: no bike has more at one place (our choice).
_MOST_WIRES, _MOST_OFF = 8, 3
_JUNCTION = "junction"

# What is picked at each position, as by the search.
Composite = Mapping[str, PartCandidate]


def price_of(composite: Composite) -> int:
    """What the parts of a composite cost, in the search's unit."""
    return sum(each.cost for each in composite.values())


def composites(oracle: PartsOracle, start: Vetted) -> list[Composite]:
    """A junction in an empty position with its wires, those first that leave no wire too short, then by price."""
    view = start.context.view
    position = oracle.stock.beside(view.free_name(_JUNCTION))
    if oracle.stock.fixed(position):
        return []
    found = list(chain.from_iterable(
        _Adding(oracle, start, position, system, graph).composites()
        for system, graph in systems(view) if any(_is_about(finding, graph) for finding in start.blocking)
    ))  # fmt: skip
    return [composite for *_, composite in sorted(found, key=lambda each: each[:2])]


def _is_about(finding: Finding, graph: Wiring) -> bool:
    return not {*graph.devices, *(wire.position for wire in graph.wires)}.isdisjoint(finding.positions)


class _Link(NamedTuple):
    """A wire between a junction and a device: what it costs, how long its way is, its position, and what is picked."""

    price: int
    length_mm: float
    position: str
    pick: PartCandidate


# How many wires stay too short, the price, and the set itself.
_Found = tuple[int, int, Composite]


class _Adding:
    """One more junction in one system."""

    def __init__(self, oracle: PartsOracle, start: Vetted, position: str, system: str, graph: Wiring) -> None:
        self.oracle, self.view, self.position, self.system = oracle, start.context.view, position, system
        self.devices = {name: spot for name, spot in graph.devices.items() if spot is not None}
        dangling = [wire for wire in graph.wires if not self.devices.keys() >= set(ends_of(wire))]
        self.dangling, self.wires = dangling, [wire for wire in graph.wires if wire not in dangling]
        first = {finding.positions[0] for finding in start.blocking if finding.positions}
        self.faulty = first.intersection(wire.position for wire in self.wires)  # too short, without a way, a wrong plug
        self.candidates = cache(self._candidates)

    def composites(self) -> Iterator[_Found]:
        """Every junction of the system, with every way to join it."""
        for junction in self.oracle.stock.of(self.position)[1:]:
            ports = junction.part.ports if junction.part is not None else ()
            if any(port.plug is not None and plug_system(port.plug) == self.system for port in ports):
                yield from self._with(junction, sum(port.count for port in ports))

    def _with(self, junction: PartCandidate, sockets: int) -> Iterator[_Found]:
        link = cache(lambda device: self._link(junction, device))
        for off in self._comes_off():
            gone = [*self.dangling, *off]
            rest = [wire for wire in self.wires if wire not in off]
            free = {name: _free(spot, rest) for name, spot in self.devices.items()}
            pieces = Wiring(self.devices, tuple(rest)).pieces()
            if min(free.values()) < 0 or not 1 < len(pieces) <= sockets:
                continue
            picked: dict[str, PartCandidate] = {}
            for piece in pieces:
                found = [
                    one for name in piece if free[name]
                    for one in (*self._led(junction, name, gone), *filter(None, [link(name)]))
                    if one.position not in picked
                ]  # fmt: skip
                if not found:
                    break
                best = min(found, key=lambda one: (one.price, one.length_mm, one.position))
                picked[best.position] = best.pick
            else:
                left_off = {wire.position: PartCandidate(None, 0) for wire in gone if wire.position not in picked}
                whole = {**left_off, **picked, self.position: junction}
                yield len(self.faulty - {wire.position for wire in gone}), price_of(whole), whole

    def _comes_off(self) -> Iterator[tuple[Fitted, ...]]:
        """Wires that come off to make room: none, or some of those at what has no socket left, and that do not do."""
        full = {name for name, spot in self.devices.items() if _free(spot, self.wires) <= 0}
        loose = [wire for wire in self.wires if not self.oracle.fixed(wire.position)]
        some = [wire for wire in loose if wire.position in self.faulty]
        some += [wire for wire in loose if wire not in some and not full.isdisjoint(ends_of(wire))]
        for size in range(_MOST_OFF + 1):
            yield from combinations(some[:_MOST_WIRES], size)

    def _candidates(self, position: str) -> Sequence[PartCandidate]:
        return sorted(self.oracle.stock.of(position)[1:], key=lambda each: each.cost)

    def _link(self, junction: PartCandidate, device: str) -> _Link | None:
        """The cheapest new wire that reaches from a junction to a device."""
        name = wire_between(self.view, device, self.position)
        if name in self.view.bike or self.oracle.fixed(name):
            return None
        needs: dict[tuple[object, object], float | None] = {}
        for wire in self.candidates(name):
            plugs = getattr(wire.part, "start_plug", None), getattr(wire.part, "end_plug", None)
            if plugs not in needs:
                needs[plugs] = self._need({self.position: junction, name: wire}, name)
            need = needs[plugs]
            if need is not None and _reaches(wire, need):
                return _Link(wire.cost, need, name, wire)
        return None

    def _led(self, junction: PartCandidate, device: str, gone: Iterable[Fitted]) -> Iterator[_Link]:
        """The wires that come off and lead to this device: they may lead from the junction instead."""
        onto = wire_between(self.view, device, self.position)
        for wire in gone:
            if device in ends_of(wire) and wire.position not in self.oracle.stock.pinned:
                pick = PartCandidate(wire.part, 0, self.view, onto=onto)
                need = self._need({self.position: junction, wire.position: pick}, wire.position)
                if need is not None and _reaches(pick, need):
                    yield _Link(0, need, wire.position, pick)

    def _need(self, picked: Composite, wire: str) -> float | None:
        """How long a wire must be, in mm; None where there is no place for the junction, no way, or a wrong plug."""
        return _need(self.oracle.vetter.context(self.oracle.change_with(picked)), self.position, wire)


def _need(context: Context, junction: str, wire: str) -> float | None:
    view, route = context.view, context.routing.routes.get(wire)
    _, sits = chosen_place(view, view.bike[junction])
    plugs = turning(view, view.bike[wire])
    if not sits.is_yes or route is None or not (plugs.as_entered.is_yes or plugs.other_way.is_yes):
        return None
    return route.needed.most if route.certain else None


def _reaches(wire: PartCandidate, need_mm: float) -> bool:
    length = getattr(wire.part, "length_mm", None)
    return isinstance(length, Interval) and length.low >= need_mm


def _free(device: Fitted, wires: Iterable[Fitted]) -> int:
    """How many sockets of a device are left; fewer than none where more wires lead to it."""
    return sum(port.count for port in device.part.ports) - sum(device.position in ends_of(wire) for wire in wires)

