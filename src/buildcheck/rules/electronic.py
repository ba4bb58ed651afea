"""Electric systems: one connected tree, power, sockets, plugs, and a place for each junction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace

import networkx as nx

from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Fact, Test, matches
from buildcheck.fit.places import chosen_place, free_places, options, place_facts, support_words
from buildcheck.fit.view import View
from buildcheck.fit.wiring import build_wiring, devices, system_of, systems, wires
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.model.parts import Place
from buildcheck.model.sentences import shown
from buildcheck.rules.line_causes import reach_causes

# A part of wired shifting has sockets, whether its record tells of them or not.
_WIRED = {"shift_system": "wired*"}
_COMMON = "common practice, from memory: one tree, one battery, one charge point"


def _ports_fact(spot: Fitted) -> Fact:
    sockets = tuple(f"{port.count} x {port.plug or 'unknown plug'}" for port in spot.part.ports) or ("none",)
    return Fact(spot.home, "ports", sockets, "", Origin.STATED, spot.written_at("ports"))


def _system_facts(view: View, graph: nx.MultiGraph[str]) -> list[Fact]:
    """The sockets and plugs by which devices and wires belong to one system, or to another beside it."""
    met = [wire for wire in wires(view) if wire.start in graph or wire.end in graph]
    names = {*graph, *(end for wire in met for end in (wire.start, wire.end))}
    plugs = [view.word(wire.position, end) for wire in met for end in ("start_plug", "end_plug")]
    return [*(_ports_fact(spot) for spot in view.bike.main_spots() if spot.position in names), *plugs]


def _power_facts(view: View, graph: nx.MultiGraph[str]) -> Iterator[Fact]:
    """What gives power in a system, and where it can be charged; a record says so or it is not so."""
    for name in _device_nodes(graph):
        spot = view.bike[name]
        for attribute, value in (("power", spot.part.power or "none"), ("charge_port", spot.part.charge_port)):
            yield Fact(spot.home, attribute, value, "", Origin.STATED, spot.written_at(attribute))


def _gravity(view: View, graph: nx.MultiGraph[str]) -> Level:
    """A bike without gears must not be handed over; one without its lamp can be ridden by day."""
    kinds = (view.bike[name].part.kind for name in graph if name in view.bike)
    return Level.BLOCKS if any(view.standards.kinds[kind].shifts for kind in kinds) else Level.CAUTION


def _device_nodes(graph: nx.MultiGraph[str]) -> list[str]:
    return sorted(name for name, spot in graph.nodes(data="spot") if spot is not None)


@rule(Level.BLOCKS, Level.CAUTION, source=_COMMON)
def wiring_not_connected(self: Rule, context: Context) -> Iterator[Finding]:
    """A device of a wired system is not joined to the rest by wires.

    Every lever, derailleur, junction and battery of one system must hang together as one tree. What is
    cut off gets neither power nor signals.

    Cure: the wire, or the junction with free sockets, that joins the pieces again.
    """
    view = context.view
    unwired = [spot for spot in view.bike.main_spots() if not spot.part.ports and _perhaps_wired(view, spot)]
    for spot in (*devices(view), *unwired):
        if system_of(view, spot) is None:
            yield from self.judge(
                Test(Answer.UNKNOWN, (replace(_ports_fact(spot), held=None),)),
                (spot.position,),
                fault="",
                ask=f"whether {view.name(spot.position)} is joined to its system: its plugs are not on record",
                also=[view.word(spot.position, "shift_system")] if spot in unwired else (),
            )
    for system, graph in systems(view):
        pieces = sorted(
            (sorted(piece) for piece in nx.connected_components(graph)), key=lambda piece: (-len(piece), piece)
        )
        for piece in pieces[1:]:
            verb = "is" if len(piece) == 1 else "are"
            others = ", ".join(pieces[0])
            yield from self.judge(
                Test(_cut_off(view, system, piece[0], pieces[0][0]), ()),
                tuple(piece),
                level=_gravity(view, graph),
                fault=f"{', '.join(piece)} {verb} not joined by wire to {others} ({system}).",
                ask=f"whether {', '.join(piece)} {verb} joined to {others}: the plugs between are not on record",
                because=lambda: _wires_at(graph, piece),  # noqa: B023
                also=_system_facts(view, graph),
            )


def _wires_at(graph: nx.MultiGraph[str], names: Iterable[str]) -> tuple[Cause, ...]:
    """Where each wire at these devices leads, and which device has none."""
    found: list[Cause] = []
    for name in sorted(names):
        wires = [data["wire"] for _, _, data in graph.edges(name, data=True)]
        told = sorted(f"{wire.position} leads from {wire.start} to {wire.end}" for wire in wires)
        found += [Cause(text) for text in told] or [Cause(f"no wire leads to {name}")]
    return tuple(dict.fromkeys(found))


def _cut_off(view: View, system: str, one: str, other: str) -> Answer:
    """Are two devices of one system joined by nothing at all, or perhaps over plugs that nobody knows?"""
    whole = build_wiring(view)
    strange = [
        (start, end, key) for start, end, key, data in whole.edges(keys=True, data=True)
        if system_of(view, data["wire"]) not in (None, system)
    ]  # fmt: skip
    whole.remove_edges_from(strange)
    return Answer.UNKNOWN if nx.has_path(whole, one, other) else Answer.NO


@rule(Level.BLOCKS, source=_COMMON)
def wiring_in_a_ring(self: Rule, context: Context) -> Iterator[Finding]:
    """Wires of one system form a ring.

    A bus is a tree; a ring is a wire too many, and the system may refuse to start. Lighting has no bus: its
    wires may well run side by side.

    Cure: take one wire of the ring off.
    """
    for system, graph in systems(context.view):
        surplus = graph.number_of_edges() - graph.number_of_nodes() + nx.number_connected_components(graph)
        if surplus > 0 and _gravity(context.view, graph) is Level.BLOCKS:
            try:
                ring = [edge[0] for edge in nx.find_cycle(graph)]
            except nx.NetworkXNoCycle:
                continue
            text = f"The wires between {', '.join(sorted(ring))} form a ring ({system})."
            wires = _wires_at(graph.subgraph(ring), ring)
            yield self.tell(text, tuple(sorted(ring)), _system_facts(context.view, graph), wires)


@rule(Level.BLOCKS, Level.CAUTION, source=_COMMON)
def power_source_wrong(self: Rule, context: Context) -> Iterator[Finding]:
    """A wired system has no source of power, or more than one.

    Nothing moves without power, and two sources on one bus work against each other.

    Cure: one battery, or one dynamo, for each system.
    """
    for system, graph in systems(context.view):
        sources = sorted(name for name in _device_nodes(graph) if context.bike[name].part.power is not None)
        if len(sources) != 1:
            who = f"{' and '.join(sources)} both power" if sources else "nothing powers"
            nodes = _device_nodes(graph)
            edges = sorted(data["wire"].position for _, _, data in graph.edges(data=True))
            text = f"On the {system} system {who} it; one source is expected."
            facts = (*_system_facts(context.view, graph), *_power_facts(context.view, graph))
            because = (Cause(f"on it hang {', '.join(nodes)}"),) if nodes else ()
            level = _gravity(context.view, graph)
            yield self.tell(text, tuple(sources or nodes or edges), facts, because, level)


@rule(Level.BLOCKS, source=_COMMON)
def charge_point_out_of_reach(self: Rule, context: Context) -> Iterator[Finding]:
    """A wired system with a battery has no charge socket, or none that a plug can reach.

    A one-piece bar that swallows the junction under the stem swallows the charge socket with it. A rider
    who cannot charge has a bike without gears.

    Cure: a junction with a charge socket in a place that stays open: a bar end, a port in the frame.
    """
    view = context.view
    for system, graph in systems(view):
        nodes = _device_nodes(graph)
        if not any(context.bike[name].part.power == "battery" for name in nodes):
            continue
        points = [name for name in nodes if context.bike[name].part.charge_port]
        tests = {name: _reachable(view, name) for name in points}
        if any(test.yes for test in tests.values()):
            continue
        unknown = next((test for test in tests.values() if not test.no), None)
        test = unknown or Test(Answer.NO, tuple(fact for item in tests.values() for fact in item.facts))
        yield from self.judge(
            test, (*(name for name in nodes if context.bike[name].part.power == "battery"), *sorted(points)),
            fault=f"The {system} battery cannot be charged: "
            + (f"{', '.join(points)} cannot be reached." if points else "nothing on it has a charge socket."),
            ask=f"whether the charge socket at {', '.join(points)} can be reached",
            because=lambda: tuple(_why_out_of_reach(view, view.bike[name]) for name in points or nodes),  # noqa: B023
            also=(*_system_facts(view, graph), *_power_facts(view, graph)),
        )  # fmt: skip


def _why_out_of_reach(view: View, spot: Fitted) -> Cause:
    if not spot.part.charge_port:
        return Cause(f"{view.name(spot.position)} has no charge socket")
    place, test = chosen_place(view, spot)
    if place is None:
        return Cause(f"{spot.position} has no place on {support_words(view, spot)}", causes_of(test.facts))
    closed = "is closed in" if place.exposed is False else "may be closed in"
    return Cause(f"the place {place.id} of {support_words(view, spot)} {closed}", causes_of(test.facts))


def _reachable(view: View, name: str) -> Test:
    spot = view.bike[name]
    if not spot.part.mounts:
        return Test(Answer.YES, (_ports_fact(spot),))
    place, test = chosen_place(view, spot)
    if place is None:
        return Test(Answer.NO, test.facts)
    answer = Answer.UNKNOWN if place.exposed is None else Answer.YES if place.exposed else Answer.NO
    carrier = view.bike.get(spot.on)
    return test.both(Test(answer, place_facts(carrier) if carrier is not None else ()))


@rule(Level.BLOCKS, source=_COMMON)
def sockets_exhausted(self: Rule, context: Context) -> Iterator[Finding]:
    """More wires lead to a device than it has sockets.

    A wire that finds no socket hangs loose, and what is at its other end is cut off.

    Cure: a junction with more sockets, or one more junction.
    """
    for _, graph in systems(context.view):
        for name in _device_nodes(graph):
            spot = context.bike[name]
            led = sorted((data["wire"] for _, _, data in graph.edges(name, data=True)), key=lambda w: w.position)
            answer = _sockets_answer(spot, [_plug_at(wire, name) for wire in led])
            if answer is Answer.YES:
                continue
            device, sockets = context.view.name(name), " and ".join(shown(_ports_fact(spot).value).split(" or "))
            names = tuple(wire.position for wire in led)
            yield from self.judge(
                Test(answer, (_ports_fact(spot),)),
                (name, *names),
                fault=f"{len(led)} wires lead to {device}, which has {sockets}: {', '.join(names)}.",
                ask=f"whether {device} has a socket for each of {', '.join(names)}",
                because=lambda: _wires_at(graph, [name]),  # noqa: B023
                also=_system_facts(context.view, graph),
            )


def _perhaps_wired(view: View, spot: Fitted) -> bool:
    """Is this a part of wired shifting, or one of which nobody knows?"""
    return view.has(spot.position, "shift_system") and (
        view.word(spot.position, "shift_system").value is None or matches(spot.part, _WIRED)
    )


def _plug_at(wire: Fitted, device: str) -> str | None:
    """The plug with which a wire ends at a device."""
    plug: str | None = getattr(wire.part, "start_plug" if wire.start == device else "end_plug", None)
    return plug


def _sockets_answer(device: Fitted, plugs: list[str | None]) -> Answer:
    """Is there a socket for each of these plugs? A plug of a kind that has none is told by plug-mismatch."""
    sockets = Counter[str | None]()
    for port in device.part.ports:
        sockets[port.plug] += port.count
    wanted = Counter(plug for plug in plugs if plug is not None and plug in sockets)
    over = sum(max(0, count - sockets[plug]) for plug, count in wanted.items())
    if len(plugs) > sum(sockets.values()) or over > sockets[None]:
        return Answer.NO
    return Answer.UNKNOWN if None in plugs or over else Answer.YES


@rule(Level.BLOCKS, source="common practice, from memory: a junction can move to a bar end or the frame")
def junction_without_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A junction or battery of the wired shifting has lost the place where it was mounted.

    A junction strapped under an ordinary stem has nothing to hang on under a one-piece bar. It cannot be
    left loose: its plugs work out, and its charge socket is lost.

    Cure: a junction for one of the places that the new parts offer; they are named with the finding.
    """
    view = context.view
    for spot in view.of_kind(view.standards.kinds_that_hang("wiring")):
        carrier = view.bike.get(spot.on)
        _, test = chosen_place(view, spot)
        if test.yes:
            continue
        free = free_places(view, spot)
        where = "; ".join(_place_words(spot, other, place) for other, place in free[:4])
        told = f"{support_words(view, spot)} has no place for {spot.part.name}."
        yield from self.judge(
            test,
            (spot.position, *((carrier.home,) if carrier else ())),
            fault=told + (f" It can go to: {where}." if free else " No other part offers it one."),
            ask=f"whether {spot.part.name} finds a place on {support_words(view, spot)}",
            because=lambda: (*causes_of(test.facts), *reach_causes(context, spot)),  # noqa: B023
        )


def _place_words(rider: Fitted, carrier: Fitted, place: Place) -> str:
    suits = any(pair[0] is place and pair[2].yes for pair in options(carrier, rider))
    return f"{carrier.home} {place.id}" + ("" if suits else f" (takes {place.type})")
