"""Which way round a wire is run: a wire has no front and no back but its plugs."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.fit.facts import Answer, Test
from buildcheck.fit.joints import mates
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted

ENDS = ("start", "end")
OTHER = {"start": "end", "end": "start"}
_YES = Test(Answer.YES, ())


class Turning(NamedTuple):
    """How the plugs of a wire agree with the devices at its ends, run as it is entered and run the other way round.

    `straight` and `turned` have the answer for the plug at each end of the wire: `start` and `end`.
    """

    straight: dict[str, Test]
    turned: dict[str, Test]

    @property
    def as_entered(self) -> Test:
        """Do both plugs agree as the wire is entered?"""
        return self.straight["start"].both(self.straight["end"])

    @property
    def other_way(self) -> Test:
        """Do both agree the other way round?"""
        return self.turned["start"].both(self.turned["end"])

    @property
    def is_turned(self) -> Test:
        """Must it be run the other way round, because its plugs agree in no other?"""
        straight, turned = self.as_entered, self.other_way
        if straight.is_no and turned.is_yes:
            return Test(Answer.YES, straight.facts + turned.facts)
        if straight.is_yes or turned.is_no:
            return Test(Answer.NO, straight.facts if straight.is_yes else turned.facts)
        return Test(Answer.UNKNOWN, straight.facts + turned.facts)


def turning(view: View, wire: Fitted) -> Turning:
    """How a wire agrees with the devices at its ends, both ways round; an end that leads nowhere agrees with all."""
    return view.layout.recall(("turning", wire.position), lambda: _turning(view, wire))


def _turning(view: View, wire: Fitted) -> Turning:
    devices = dict(zip(ENDS, (wire.start, wire.end), strict=True))
    straight = {end: _agrees(view, wire, end, devices[end]) for end in ENDS}
    return Turning(straight, {end: _agrees(view, wire, end, devices[OTHER[end]]) for end in ENDS})


def _agrees(view: View, wire: Fitted, end: str, device: str | None) -> Test:
    spot = view.bike.get(device)
    if spot is None:
        return _YES
    return mates(view.standards.interfaces["plug"], view.fact(wire, f"{end}_plug"), view.fact(spot, "plugs"))


def plugs_at(view: View, wire: Fitted, device: str) -> tuple[str, ...]:
    """The ends of the wire that may be the one at a device: one, or both where nobody knows how it is run."""
    end = "start" if wire.start == device else "end"
    test = turning(view, wire).is_turned
    return (OTHER[end],) if test.yes else (end,) if test.no else (end, OTHER[end])
