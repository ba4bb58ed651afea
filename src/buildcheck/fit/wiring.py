"""Electric systems: devices are nodes, wires are edges, one graph for each family of plugs."""

from __future__ import annotations

from collections.abc import Container, Iterator

import networkx as nx

from buildcheck.fit import tape
from buildcheck.fit.facts import Fact, has_attribute
from buildcheck.fit.tape import each
from buildcheck.fit.view import Same, View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Origin


def devices(view: View) -> Iterator[Fitted]:
    """The parts with sockets."""
    return (spot for spot in view.bike.main_spots() if spot.part.ports)


def wires(view: View) -> Iterator[Fitted]:
    """The wires on the bike."""
    return view.of_kind(("wire",))


def ports_fact(spot: Fitted) -> Fact:
    """The list of sockets of a part, as one fact."""
    fact: Fact | None = spot.kept.get("(ports)")
    if fact is None:
        sockets = tuple(f"{port.count} x {port.plug or 'unknown plug'}" for port in spot.part.ports) or ("none",)
        fact = spot.kept["(ports)"] = Fact(spot.home, "ports", sockets, "", Origin.STATED, spot.written_at("ports"))
    return fact


def build_wiring(view: View) -> nx.MultiGraph[str]:
    """Devices joined by wires. Nodes carry `spot`; edges carry `wire`.

    A wire to a position that is empty, or to a part without sockets, still gets its edge, so that a rule
    can point at it; such nodes have no `spot`.
    """
    graph: nx.MultiGraph[str] = nx.MultiGraph()
    for spot in devices(view):
        graph.add_node(spot.position, spot=spot)
    for wire in wires(view):
        if wire.start is not None and wire.end is not None:
            graph.add_edge(wire.start, wire.end, key=wire.position, wire=wire)
    return graph


def system_of(spot: Fitted) -> str | None:
    """The electric system that a device or a wire belongs to: that of its plugs in the standards."""
    system: str | None = spot.kept.get("(system)")
    if system is None:
        system = spot.kept["(system)"] = _system_of(spot)
    return system or None


def _system_of(spot: Fitted) -> str:
    """The system of a part; empty where it has none."""
    plugs = [port.plug for port in spot.part.ports] or [
        getattr(spot.part, "start_plug", None),
        getattr(spot.part, "end_plug", None),
    ]
    known = sorted({plug for plug in plugs if plug is not None})
    return plug_system(known[0]) if known else ""


def plug_system(plug: str) -> str:
    """`shift-bus` for shift-bus.a and shift-bus.b: the part of a plug's id before the dot."""
    return plug.partition(".")[0]


def systems(view: View) -> list[tuple[str, nx.MultiGraph[str]]]:
    """Each electric system with its own graph, in a fixed order."""
    return view.layout.recall("systems", lambda: _systems(view))


def pieces_of(view: View, graph: nx.MultiGraph[str]) -> list[list[str]]:
    """What hangs together in a system, the largest piece first."""
    return view.memo.recall(("pieces", Same(graph)), lambda: _pieces_of(graph))


def _pieces_of(graph: nx.MultiGraph[str]) -> list[list[str]]:
    return sorted((sorted(piece) for piece in nx.connected_components(graph)), key=lambda piece: (-len(piece), piece))


def without_system(view: View) -> list[Fitted]:
    """The parts that have sockets or could, and of which the record does not tell to which system they belong."""
    return view.layout.recall("without-system", lambda: [
        spot for spot in view.bike.main_spots()
        if system_of(spot) is None and (spot.part.ports or has_attribute(type(spot.part), "shift_system"))
    ])  # fmt: skip


def each_system(view: View) -> Iterator[tuple[str, nx.MultiGraph[str]]]:
    """The electric systems one by one, each with what makes it one: the sockets and plugs in it were looked at."""
    for system, graph in each(systems(view)):
        tape.read(view.layout.recall(("system-facts", system), lambda: tuple(_system_facts(view, graph))))  # noqa: B023
        yield system, graph


def _system_facts(view: View, graph: nx.MultiGraph[str]) -> Iterator[Fact]:
    """The sockets and plugs by which devices and wires belong to one system, or to another beside it."""
    met = [wire for wire in wires(view) if wire.start in graph or wire.end in graph]
    names = {*graph, *(end for wire in met for end in (wire.start, wire.end))}
    yield from (ports_fact(spot) for spot in view.bike.main_spots() if spot.position in names)
    yield from (view.word(wire.position, end) for wire in met for end in ("start_plug", "end_plug"))


def _systems(view: View) -> list[tuple[str, nx.MultiGraph[str]]]:
    whole = build_wiring(view)
    members: dict[str, set[str]] = {}
    for name, data in whole.nodes(data=True):
        spot: Fitted | None = data.get("spot")
        system = system_of(spot) if spot is not None else None
        if system is not None:
            members.setdefault(system, set()).add(name)
    for start, end, edge in whole.edges(data=True):
        system = system_of(edge["wire"])
        if system is not None:
            members.setdefault(system, set()).update((start, end))
    return [(system, _part_of(whole, names)) for system, names in sorted(members.items())]


def _part_of(whole: nx.MultiGraph[str], names: Container[str]) -> nx.MultiGraph[str]:
    """These nodes with the edges between them, in the order of the whole; `subgraph` may take that of a set."""
    part: nx.MultiGraph[str] = nx.MultiGraph()
    part.add_nodes_from((name, data) for name, data in whole.nodes(data=True) if name in names)
    for start, end, key, data in whole.edges(keys=True, data=True):
        if start in names and end in names:
            part.add_edge(start, end, key=key, **data)
    return part
