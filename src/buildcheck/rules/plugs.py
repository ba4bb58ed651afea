"""Plugs of electric wires and the sockets that they go into; a wire can be run either way round."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.tape import each
from buildcheck.fit.turning import turning
from buildcheck.fit.wiring import wires
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Value, as_said, say


@rule(
    Level.BLOCKS, use_proves=Proof.ASSEMBLED,
    source="plug generations do not mate without an adapter wire: common practice, no source",
)  # fmt: skip
def plug_mismatch(self: Rule, context: Context) -> Iterator[Finding]:
    """The plug at an end of a wire does not go into the sockets of the device there, whichever way round it is run.

    Two generations of plugs look alike and differ in size, and a plug of another system fits neither. Forcing one
    breaks the socket, and the socket is part of a lever or a derailleur.

    Cure: a wire with the right plug at this end, or an adapter wire with one of each.
    """
    view = context.view
    for wire in each(wires(view)):
        ways = turning(view, wire)
        for end, device in (("start", wire.start), ("end", wire.end)):
            test = ways.straight[end].either(ways.other_way)
            if device is None or device not in view.bike:
                continue
            if self.is_silent(test):
                continue
            told: dict[str, Value] = {
                "at": view.name(wire.position), "a": view.fact(wire, f"{end}_plug").told(),
                "of": view.name(device), "b": view.word(device, "plugs").told(),
            }  # fmt: skip
            what = as_said(view.standards.interfaces["plug"].what)
            yield from self.judge(
                test,
                (wire.position, device),
                fault=say(_TAKES[end], **told),
                ask=say("whether {at} and {of} agree on the {what}", at=told["at"], of=told["of"], what=what),
            )


_TAKES = {
    "start": "The {at} starts with a {a} plug; the sockets of the {of} take {b}.",
    "end": "The {at} ends in a {a} plug; the sockets of the {of} take {b}.",
}


@rule(
    Level.NOTE, use_proves=Proof.NOTHING,
    source="common practice, no source: a wire has no front and no back but its plugs",
)  # fmt: skip
def wire_turned_round(self: Rule, context: Context) -> Iterator[Finding]:
    """The plugs of a wire agree with the devices only if it is run the other way round than it is entered.

    A wire with two unlike plugs is an adapter from one kind of socket to another. Which end is called its start is a
    matter of the catalogue; a hand that pushes the wrong plug into a socket breaks it.

    Cure: look at both plugs before the wire is pulled in, and begin at the end that the report names.
    """
    view = context.view
    for wire in each(wires(view)):
        ways = turning(view, wire)
        if ways.is_turned.yes and wire.start is not None and wire.end is not None:
            text = say(
                "{wire} is run the other way round: its {start} plug goes to {end}, its {stop} plug to {begin}.",
                wire=view.name(wire.position), start=view.fact(wire, "start_plug").told(), end=view.name(wire.end),
                stop=view.fact(wire, "end_plug").told(), begin=view.name(wire.start),
            )  # fmt: skip
            yield self.tell(text, (wire.position,))
