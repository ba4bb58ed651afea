"""Electric systems: one connected tree, power, sockets, plugs, and a place for each junction."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import product

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Answer, Fact, Test
from buildcheck.fit.places import chosen_place, free_places, mount_facts, options, support_words
from buildcheck.fit.reading import matches
from buildcheck.fit.tape import PositionAsked, each
from buildcheck.fit.turning import plugs_at
from buildcheck.fit.view import View, called
from buildcheck.fit.wiring import (
    Wiring,
    build_wiring,
    devices,
    each_system,
    ends_of,
    perhaps_more,
    pieces_of,
    ports_fact,
    system_of,
    wire_between,
    without_system,
)
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.functions import Powered
from buildcheck.model.levels import Level, Origin, Proof
from buildcheck.model.parts import Place, Port
from buildcheck.model.sentences import At, Said, Several, Size, Value, Word, say
from buildcheck.rules.line_causes import reach_causes

# A part of wired shifting has sockets, whether its record tells of them or not.
_WIRED = {"shift_system": "wired*"}
_WHEELS = ("front-wheel", "rear-wheel")
_COMMON = "common practice, no source: one tree, one battery, one charge point"


def _power_facts(view: View, graph: Wiring) -> Iterator[Fact]:
    """What gives power in a system, and where it can be charged; what a record does not say is not so."""
    for name in _device_nodes(graph):
        spot = view.bike[name]
        for attribute, value in (("power", spot.part.power or "none"), ("charge_port", spot.part.charge_port)):
            yield Fact(spot.home, attribute, value, "", Origin.STATED, spot.written_at(attribute))


def _shifts(view: View, graph: Wiring) -> bool:
    """Is it a system of shifting? Its wires are a bus; those of lamps are not."""
    kinds = (view.bike[name].part.kind for name in graph.devices if name in view.bike)
    return any(view.standards.kinds[kind].shifts for kind in kinds)


def _powered(view: View, graph: Wiring) -> Powered:
    """The row of what a system has to do: shift, or light."""
    return view.standards.powered["shifting" if _shifts(view, graph) else "lights"]


def _device_nodes(graph: Wiring) -> list[str]:
    return sorted(name for name, spot in graph.devices.items() if spot is not None)


@rule(Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=False, source=_COMMON, rider=True)
def wiring_not_connected(self: Rule, context: Context) -> Iterator[Finding]:
    """A device of a wired system is not joined to the rest by wires.

    Every lever, derailleur, junction and battery of one system must hang together as one tree. What is
    cut off gets neither power nor signals: gears do not move, and a lamp stays dark. A second dynamo that feeds
    nothing does no harm.

    Cure: the wire, or the junction with free sockets, that joins the pieces again; or a lamp with a battery.
    """
    view = context.view
    for spot in each(without_system(view)):
        if spot.part.ports or not spot.part.lists("ports") or _perhaps_wired(view, spot):
            yield from self.judge(
                Test(Answer.UNKNOWN, (replace(ports_fact(spot), held=None),)),
                (spot.position,),
                fault="",
                ask=say(
                    "whether {device} is joined to its system: its plugs are not on record",
                    device=view.name(spot.position),
                ),
            )
    for system, graph in each_system(view):
        pieces = pieces_of(view, graph)
        level = Level.BLOCKS if len(pieces) < 2 or _needs_joining(view, graph, pieces) else Level.CAUTION
        for piece in pieces[1:]:
            told: dict[str, Value] = {
                "devices": _listed(piece), "others": _listed(pieces[0]), "system": Word(system),
            }  # fmt: skip
            for name in _wires_that_join(view, graph, piece):
                tape.asked(PositionAsked(name))
            yield from self.judge(
                _in_doubt(view, _cut_off(view, system, piece[0], pieces[0][0])),
                tuple(piece),
                level=level,
                fault=say(_NOT_JOINED[len(piece) > 1], **told),
                ask=say(_PERHAPS_JOINED[len(piece) > 1], **told),
                because=lambda: _wires_at(graph, piece),  # noqa: B023
            )


def _in_doubt(view: View, answer: Answer) -> Test:
    """A no, unless what nobody told of could make a yes of it."""
    more = perhaps_more(view) if answer is Answer.NO else ()
    return Test(Answer.UNKNOWN if more else answer, more)


def _wires_that_join(view: View, graph: Wiring, piece: Iterable[str]) -> Iterator[str]:
    """The positions of wires that are not there and would join these devices to others, socket to socket."""
    free = [name for name in _device_nodes(graph) if _has_free_socket(view.bike[name], graph)]
    apart = set(piece)
    for one, other in product((name for name in free if name in apart), (name for name in free if name not in apart)):
        yield wire_between(view, one, other)


def _has_free_socket(device: Fitted, graph: Wiring) -> bool:
    return len(graph.at(device.position)) < sum(port.count for port in device.part.ports)


def _needs_joining(view: View, graph: Wiring, pieces: Iterable[Iterable[str]]) -> bool:
    """Is it the bus of the shifting, or is there a piece with a lamp and without a source?"""
    tape.read(_power_facts(view, graph))
    row = _powered(view, graph)
    parts = [[view.bike[name].part for name in piece if name in view.bike] for piece in pieces]
    dark = any(some and not any(part.power in row.sources for part in some) for some in parts)
    return row.of == "shifting" or dark


# By whether it is about more than one device.
_NOT_JOINED = {
    False: "{devices} is not joined by wire to {others} ({system}).",
    True: "{devices} are not joined by wire to {others} ({system}).",
}
_PERHAPS_JOINED = {
    False: "whether {devices} is joined to {others}: the plugs between are not on record",
    True: "whether {devices} are joined to {others}: the plugs between are not on record",
}


def _listed(positions: Iterable[str], link: str = ", ") -> Several:
    return Several(tuple(map(At, positions)), link)


def _wires_at(graph: Wiring, names: Iterable[str]) -> tuple[Cause, ...]:
    """Where each wire at these devices leads, and which device has none."""
    found: list[Cause] = []
    for name in sorted(names):
        led = graph.at(name)
        found += [Cause(_leads(wire)) for wire in led] or [Cause(say("no wire leads to {device}", device=At(name)))]
    return tuple(dict.fromkeys(found))


def _leads(wire: Fitted) -> Said:
    return say(
        "{wire} leads from {start} to {end}",
        wire=At(wire.position), start=At(wire.start or ""), end=At(wire.end or ""),
    )  # fmt: skip


def _cut_off(view: View, system: str, one: str, other: str) -> Answer:
    """Are two devices of one system joined by nothing at all, or perhaps over plugs that nobody knows?"""
    whole = build_wiring(view)
    perhaps = tuple(wire for wire in whole.wires if system_of(wire) in (None, system))
    joined = any({one, other} <= set(piece) for piece in replace(whole, wires=perhaps).pieces())
    return Answer.UNKNOWN if joined else Answer.NO


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False, source=_COMMON)
def wiring_in_a_ring(self: Rule, context: Context) -> Iterator[Finding]:
    """Wires of one system form a ring.

    A bus is a tree; a ring is a wire too many, and the system may refuse to start. Lighting has no bus: its
    wires may well run side by side.

    Cure: take one wire of the ring off.
    """
    for system, graph in each_system(context.view):
        surplus = len(graph.wires) - len(graph.devices) + len(pieces_of(context.view, graph))
        if surplus > 0 and _shifts(context.view, graph):
            ring = _a_ring(graph)
            text = say(
                "The wires between {devices} form a ring ({system}).", devices=_listed(ring), system=Word(system)
            )
            yield self.tell(text, tuple(ring), because=lambda: _wires_at(graph.between(ring), ring))  # noqa: B023


def _a_ring(graph: Wiring) -> list[str]:
    """The devices of a ring of wires, where there is one."""
    import networkx as nx  # few bikes have a ring, and the import takes as long as to vet one

    drawn: nx.MultiGraph[str] = nx.MultiGraph(sorted((*ends_of(wire), wire.position) for wire in graph.wires))
    return sorted(edge[0] for edge in nx.find_cycle(drawn))


@rule(Level.BLOCKS, Level.CAUTION, use_proves=Proof.NOTHING, endangers=False, source=_COMMON, rider=True)
def power_source_wrong(self: Rule, context: Context) -> Iterator[Finding]:
    """A wired system has no source of power, or more than one.

    Nothing moves or lights up without power, and two sources on one bus work against each other; two on a lamp need
    a switch between them.

    Cure: one battery, or one dynamo, for each system; a lamp with a battery on a bike without a dynamo.
    """
    view = context.view
    for system, graph in each_system(view):
        tape.read(_power_facts(view, graph))
        nodes, row = _device_nodes(graph), _powered(view, graph)
        sources = [name for name in nodes if view.bike[name].part.power in row.sources]
        if len(sources) != 1:
            if not sources and row.of == "lights":
                tape.read(_dynamos(view))
            edges = sorted(wire.position for wire in graph.wires)
            told: dict[str, Value] = {"system": Word(system), "sources": _listed(sources, "and")}
            text = say("On the {system} system nothing powers it; one source is expected.", system=Word(system))
            if sources:
                text = say("On the {system} system {sources} both power it; one source is expected.", **told)
            doubt = Test(Answer.NO, ()) if sources else _in_doubt(view, Answer.NO)
            if not doubt.no:
                ask = say("whether anything powers the {system} system", system=Word(system))
                yield from self.judge(doubt, tuple(nodes or edges), fault=text, ask=ask)
                continue
            level = row.several if sources else Level.BLOCKS
            yield self.tell(text, tuple(sources or nodes or edges), because=lambda: _on_it(nodes), level=level)  # noqa: B023


def _dynamos(view: View) -> Iterator[Fact]:
    """Whether the wheels have one: a record that does not say so has none."""
    for name in _WHEELS:
        if (spot := view.bike.get(name)) is not None:
            told = spot.part.power or "none"
            yield Fact(spot.home, "power", told, "", Origin.STATED, spot.written_at("power"))


def _on_it(devices: list[str]) -> tuple[Cause, ...]:
    return (Cause(say("on it hang {devices}", devices=_listed(devices))),) if devices else ()


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False, source=_COMMON)
def charge_point_out_of_reach(self: Rule, context: Context) -> Iterator[Finding]:
    """A wired system with a battery has no charge socket, or none that a plug can reach.

    A one-piece bar that swallows the junction under the stem swallows the charge socket with it. A rider
    who cannot charge has a bike without gears.

    Cure: a junction with a charge socket in a place that stays open: a bar end, a port in the frame.
    """
    view = context.view
    for system, graph in each_system(view):
        tape.read(_power_facts(view, graph))
        nodes, row = _device_nodes(graph), _powered(view, graph)
        batteries = [name for name in nodes if view.bike[name].part.power in row.charged]
        points = [name for name in nodes if view.bike[name].part.charge_port]
        tests = {name: _reachable(view, name) for name in points}
        if not batteries or any(test.yes for test in tests.values()):
            continue
        unknown = next((test for test in tests.values() if not test.no), None)
        told: dict[str, Value] = {"system": Word(system), "points": _listed(points)}
        fault = say("The {system} battery cannot be charged: {points} cannot be reached.", **told)
        if not points:
            fault = say(
                "The {system} battery cannot be charged: nothing on it has a charge socket.", system=Word(system)
            )
        ask = say("whether the charge socket at {points} can be reached", points=_listed(points))
        if not points:
            ask = say("whether the {system} battery can be charged", system=Word(system))
        yield from self.judge(
            unknown or _in_doubt(view, Answer.NO),
            (*batteries, *points),
            fault=fault,
            ask=ask,
            because=lambda: tuple(_why_out_of_reach(view, view.bike[name]) for name in points or nodes),  # noqa: B023
        )


def _why_out_of_reach(view: View, spot: Fitted) -> Cause:
    if not spot.part.charge_port:
        return Cause(say("{part} has no charge socket", part=view.name(spot.position)))
    place, test = chosen_place(view, spot)
    support = support_words(view, spot)
    if place is None:
        text = say("{part} has no place on {support}", part=At(spot.position), support=support)
    elif place.exposed is False:
        text = say("the place {place} of {support} is closed in", place=Word(place.id), support=support)
    else:
        text = say("the place {place} of {support} may be closed in", place=Word(place.id), support=support)
    return Cause(text, causes_of(test.facts))


def _reachable(view: View, name: str) -> Test:
    spot = view.bike[name]
    if not spot.part.mounts:
        return Test(Answer.YES, mount_facts(spot))
    place, test = chosen_place(view, spot)
    if place is None:
        return test
    answer = Answer.UNKNOWN if place.exposed is None else Answer.YES if place.exposed else Answer.NO
    return test.both(Test(answer, test.facts))


@rule(Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False, source=_COMMON)
def sockets_exhausted(self: Rule, context: Context) -> Iterator[Finding]:
    """More wires lead to a device than it has sockets.

    A wire that finds no socket hangs loose, and what is at its other end is cut off.

    Cure: a junction with more sockets, or one more junction.
    """
    view, graph = context.view, context.wiring
    for spot in each(devices(view)):
        name, led = spot.position, graph.at(spot.position)
        if not led:
            continue
        test = Test(_sockets_answer(spot, [_plug_at(view, wire, name) for wire in led]), (ports_fact(spot),))
        if self.is_silent(test):
            continue
        names = tuple(wire.position for wire in led)
        told: dict[str, Value] = {"device": view.name(name), "names": _listed(names)}
        sockets = Several(tuple(map(_sockets, spot.part.ports)))
        yield from self.judge(
            test,
            (name, *names),
            fault=say(
                "{wires} lead to {device}, which has {sockets}: {names}.",
                **told, wires=Size(len(led), len(led), "wires"), sockets=sockets,
            ),
            ask=say("whether {device} has a socket for each of {names}", **told),
            because=lambda: _wires_at(graph, [name]),  # noqa: B023
        )  # fmt: skip


def _sockets(port: Port) -> Said:
    if port.plug is None:
        return say("{count} x unknown plug", count=port.count)
    return say("{count} x {plug}", count=port.count, plug=Word(port.plug))


def _perhaps_wired(view: View, spot: Fitted) -> bool:
    """Is this a part of wired shifting, or one of which nobody knows?"""
    return view.has(spot.position, "shift_system") and (
        view.word(spot.position, "shift_system").value is None or matches(spot.part, _WIRED)
    )


def _plug_at(view: View, wire: Fitted, device: str) -> str | None:
    """The plug with which a wire ends at a device; None where nobody knows which it is."""
    found = {getattr(wire.part, f"{end}_plug", None) for end in plugs_at(view, wire, device)}
    return found.pop() if len(found) == 1 else None


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


@rule(
    Level.BLOCKS, use_proves=Proof.NOTHING, endangers=False,
    source="common practice, no source: a junction can move to a bar end or the frame",
)  # fmt: skip
def junction_without_place(self: Rule, context: Context) -> Iterator[Finding]:
    """A junction or battery of the wired shifting has lost the place where it was mounted.

    A junction strapped under an ordinary stem has nothing to hang on under a one-piece bar. It cannot be
    left loose: its plugs work out, and its charge socket is lost.

    Cure: a junction for one of the places that the new parts offer; they are named with the finding.
    """
    view = context.view
    for spot in each(view.hanging("wiring")):
        _, test = chosen_place(view, spot)
        if self.is_silent(test):
            continue
        carrier = view.bike.get(spot.on)
        told: dict[str, Value] = {"support": support_words(view, spot), "part": called(spot)}
        free = free_places(view, spot)
        fault = say("{support} has no place for {part}. No other part offers it one.", **told)
        if free:
            where = Several(tuple(_place_words(spot, other, place) for other, place in free[:4]), "; ")
            fault = say("{support} has no place for {part}. It can go to: {places}.", **told, places=where)
        yield from self.judge(
            test,
            (spot.position, *((carrier.home,) if carrier else ())),
            fault=fault,
            ask=say("whether {part} finds a place on {support}", **told),
            because=lambda: (*causes_of(test.facts), *reach_causes(context, spot)),  # noqa: B023
        )


def _place_words(rider: Fitted, carrier: Fitted, place: Place) -> Said:
    told: dict[str, Value] = {"carrier": At(carrier.home), "place": Word(place.id)}
    if any(pair[0] is place and pair[2].is_yes for pair in options(carrier, rider)):
        return say("{carrier} {place}", **told)
    return say("{carrier} {place} (takes {type})", **told, type=Word(place.type))
