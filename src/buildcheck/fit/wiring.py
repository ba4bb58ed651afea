"""Electric systems: devices are nodes, wires are edges, one graph for each family of plugs."""

from __future__ import annotations

from collections.abc import Container, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property

from buildcheck.fit import tape
from buildcheck.fit.facts import Fact
from buildcheck.fit.functions import name_of_wire
from buildcheck.fit.graphs import pieces
from buildcheck.fit.reading import has_attribute, presence_fact
from buildcheck.fit.tape import each
from buildcheck.fit.view import Same, View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin
from buildcheck.model.parts import Part

_WIRE = "wire"


def devices(view: View) -> Iterator[Fitted]:
    """The parts with sockets."""
    return iter(view.layout.recall("devices", lambda: [spot for spot in view.bike.main_spots() if spot.part.ports]))


def wires(view: View) -> list[Fitted]:
    """The wires on the bike."""
    return view.layout.recall("wires", lambda: list(view.of_kind((_WIRE,))))


def ports_fact(spot: Fitted) -> Fact:
    """The list of sockets of a part, as one fact."""
    fact: Fact | None = spot.kept.get("(ports)")
    if fact is None:
        known = tuple(f"{port.count} x {port.plug or 'unknown plug'}" for port in spot.part.ports)
        sockets = known or (("none",) if spot.part.lists("ports") else None)
        fact = spot.kept["(ports)"] = Fact(spot.home, "ports", sockets, "", Origin.STATED, spot.written_at("ports"))
    return fact


def _may_have(view: View, spot: Fitted) -> bool:
    """May a part have sockets that nobody told of: one that shifts, that is wired or mounted, or a wheel?"""
    kind = view.standards.kinds[spot.part.kind]
    if spot.part.lists("ports"):
        return False
    return kind.shifts or kind.hangs_as != "joined" or has_attribute(type(spot.part), "hub_shift_system")


@dataclass(frozen=True)
class Wiring:
    """Devices by their positions, and the wires that join them.

    A wire to a position that is empty, or to a part without sockets, is one of them, so that a rule can point at it;
    such positions have None for a device.
    """

    devices: Mapping[str, Fitted | None]
    wires: tuple[Fitted, ...]

    def at(self, position: str) -> list[Fitted]:
        """The wires that lead to a position, by their names."""
        return list(self._at.get(position, ()))

    @cached_property
    def _at(self) -> Mapping[str, list[Fitted]]:
        found: dict[str, list[Fitted]] = {}
        for wire in sorted(self.wires, key=lambda wire: wire.position):
            for end in dict.fromkeys(ends_of(wire)):
                found.setdefault(end, []).append(wire)
        return found

    def between(self, names: Container[str]) -> Wiring:
        """These positions with the wires between them, in the order of the whole."""
        return Wiring(
            {name: spot for name, spot in self.devices.items() if name in names},
            tuple(wire for wire in self.wires if all(end in names for end in ends_of(wire))),
        )

    def pieces(self) -> list[list[str]]:
        """The positions that hang together, the largest piece first."""
        steps: dict[str, list[str]] = {name: [] for name in self.devices}
        for start, end in map(ends_of, self.wires):
            steps[start].append(end)
            steps[end].append(start)
        return pieces(steps)


def ends_of(wire: Fitted) -> tuple[str, str]:
    """The positions that a wire joins; it is none of a wiring unless it has both."""
    assert wire.start is not None
    assert wire.end is not None
    return wire.start, wire.end


def build_wiring(view: View) -> Wiring:
    """Devices joined by wires."""
    return view.layout.recall("wiring", lambda: _build_wiring(view))


def _build_wiring(view: View) -> Wiring:
    found: dict[str, Fitted | None] = {spot.position: spot for spot in devices(view)}
    joining = tuple(wire for wire in wires(view) if wire.start is not None and wire.end is not None)
    for wire in joining:
        for end in ends_of(wire):
            found.setdefault(end, None)
    return Wiring(found, joining)


def wire_between(view: View, one: str, other: str) -> str:
    """The position of a wire between two devices; it leads from what gives power."""
    powered = (name for name in sorted((one, other)) if (spot := view.bike.get(name)) is not None and spot.part.power)
    first = next(powered, min(one, other))
    return name_of_wire(first, other if first == one else one)


def system_of(spot: Fitted) -> str | None:
    """The electric system that a device or a wire belongs to: that of its plugs in the standards."""
    system: str | None = spot.kept.get("(system)")
    if system is None:
        system = spot.kept["(system)"] = system_of_part(spot.part)
    return system or None


def system_of_part(part: Part) -> str:
    """The system of a part; empty where it has none."""
    plugs = [port.plug for port in part.ports] or [getattr(part, "start_plug", None), getattr(part, "end_plug", None)]
    known = sorted({plug for plug in plugs if plug is not None})
    return plug_system(known[0]) if known else ""


def plug_system(plug: str) -> str:
    """`shift-bus` for shift-bus.a and shift-bus.b: the part of a plug's id before the dot."""
    return plug.partition(".")[0]


def systems(view: View) -> list[tuple[str, Wiring]]:
    """Each electric system with its own graph, in a fixed order."""
    return view.layout.recall("systems", lambda: _systems(view))


def pieces_of(view: View, graph: Wiring) -> list[list[str]]:
    """What hangs together in a system, the largest piece first."""
    return view.memo.recall(("pieces", Same(graph)), graph.pieces)


def without_system(view: View) -> list[Fitted]:
    """The parts that have sockets or could, and of which the record does not tell to which system they belong."""
    return view.layout.recall("without-system", lambda: [
        spot for spot in view.bike.main_spots()
        if system_of(spot) is None and (
            spot.part.ports or has_attribute(type(spot.part), "shift_system")
            or (not spot.part.lists("ports") and spot.part.kind in view.standards.kinds_that_hang("wiring"))
        )
    ])  # fmt: skip


def perhaps_more(view: View) -> tuple[Fact, ...]:
    """What could belong to an electric system and nobody knows: further parts of it, sockets of parts that are there.

    In doubt nothing is cut off, without power or without a socket to charge at.
    """
    return view.local.recall("perhaps-more", lambda: (
        *(
            presence_fact(view.bike, name) for name in sorted(view.bike.untold)
            if not {_WIRE, *view.standards.kinds_that_hang("wiring")}.isdisjoint(view.row(name).kinds)
        ),
        *(ports_fact(spot) for spot in view.bike.main_spots() if _may_have(view, spot)),
        *(view.word(wire.position, "start_plug") for wire in wires(view) if None in (wire.start, wire.end)),
    ))  # fmt: skip


def each_system(view: View) -> Iterator[tuple[str, Wiring]]:
    """The electric systems one by one, each with what makes it one: the sockets and plugs in it were looked at."""
    for system, graph in each(systems(view)):
        tape.read(view.layout.recall(("system-facts", system), lambda: tuple(_system_facts(view, graph))))  # noqa: B023
        yield system, graph


def _system_facts(view: View, graph: Wiring) -> Iterator[Fact]:
    """The sockets and plugs by which devices and wires belong to one system, or to another beside it."""
    met = [wire for wire in wires(view) if wire.start in graph.devices or wire.end in graph.devices]
    names = {*graph.devices, *(end for wire in met for end in (wire.start, wire.end))}
    yield from (ports_fact(spot) for spot in view.bike.main_spots() if spot.position in names)
    yield from (view.word(wire.position, end) for wire in met for end in ("start_plug", "end_plug"))


def _systems(view: View) -> list[tuple[str, Wiring]]:
    whole = build_wiring(view)
    members: dict[str, set[str]] = {}
    for name, spot in whole.devices.items():
        system = system_of(spot) if spot is not None else None
        if system is not None:
            members.setdefault(system, set()).add(name)
    for wire in whole.wires:
        system = system_of(wire)
        if system is not None:
            members.setdefault(system, set()).update(ends_of(wire))
    return [(system, whole.between(names)) for system, names in sorted(members.items())]


