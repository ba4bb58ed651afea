"""What may sit at a position as a candidate of the search, and the features that it shows.

A candidate shows itself by features only: values of attributes that a finding rested on, and a few that no attribute
tells, such as the ways that a part has for lines.
"""

from __future__ import annotations

from collections.abc import Hashable
from functools import cache
from typing import NamedTuple

from buildcheck.fit.reading import has_attribute
from buildcheck.fit.view import View
from buildcheck.fit.wiring import system_of_part
from buildcheck.library.alike import signature
from buildcheck.model.bikes import Fitted
from buildcheck.model.parts import Part, Record
from buildcheck.model.pieces import of_the_piece
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import Said
from buildcheck.remedies import STEP, TAKEN_AWAY, Candidate, Feature

# Features beside attributes of parts: of which kind is the part; which one is it, up to what no rule sees; has it
# sockets; to which electric system do these belong; are its ways for lines known?
KIND, PART, WIRED, SYSTEM, WAYS = "(kind)", "(part)", "(wired)", "(system)", "(ways)"
# The plugs that something takes; None where they may be any.
Plugs = frozenset[str] | None


class Within(NamedTuple):
    """Is an attribute of the part known to lie within these limits?"""

    attribute: str
    low: float
    high: float


class WaysAtOpening(NamedTuple):
    """What ways has the part at this opening: "none", "closed", "open", "both", or "unknown" for nobody knows."""

    opening: str


class GoesBetween(NamedTuple):
    """Could a wire go between devices whose sockets take these plugs, one way round or the other?"""

    start: Plugs
    end: Plugs


class Laid(NamedTuple):
    """Has the part these ways, whatever their lengths as long as each lies within its limits?"""

    ways: str
    limits: tuple[tuple[float, float], ...]


class Lost(NamedTuple):
    """Something that is lost with a part, in words, and by how many steps that can be felt."""

    text: Said
    steps: int = 0


class PartCandidate(Candidate):
    """A part at a position, or with `part` None nothing; its `price` is in ten-thousandths of a euro.

    `view` is given for the part as it is; `supply` counts the pieces where it comes from the shop's stock. `takes` is
    what it takes away, which counts among its cost. `onto` is the position of another part that is to carry it.
    `renews`: it is the part that is there, put in new; what the view knows of its sort holds for it.
    """

    __slots__ = ("onto", "part", "price", "renews", "takes", "view")

    def __init__(
        self,
        part: Part | None,
        price: int,
        view: View | None = None,
        supply: int | None = None,
        takes: tuple[Lost, ...] = (),
        onto: str = "",
        renews: View | None = None,
    ) -> None:
        cost = price + sum(TAKEN_AWAY + STEP * each.steps for each in takes)
        name = "" if part is None else f"{part.id} on {onto}" if onto else part.id
        super().__init__(name if renews is None else f"new {name}", cost, changed=onto or view is None, supply=supply)
        self.part, self.price, self.view, self.takes, self.onto = part, price, view, takes, onto
        self.renews = renews

    @property
    def is_fitted(self) -> bool:
        """Is it a part that comes from elsewhere, and is not the one that is there, moved or new?"""
        return self.part is not None and not self.onto and self.renews is None

    def at_its_price(self) -> PartCandidate:
        """The same whatever it takes away."""
        if not self.takes:
            return self
        return PartCandidate(self.part, self.price, self.view, self.supply, onto=self.onto, renews=self.renews)

    def spot(self, position: str) -> Fitted | None:
        """The part as it is at its position; None where another is to be fitted, or nothing is there."""
        return self.view.bike.get(position) if self.view is not None else None

    def _look(self, slot: str, feature: Feature) -> Hashable:
        if isinstance(feature, Within):
            value = self.value(slot, feature.attribute)
            return isinstance(value, Interval) and feature.low <= value.low and value.high <= feature.high
        if isinstance(feature, WaysAtOpening):
            return ways_at(self.part, feature.opening)
        if isinstance(feature, Laid):
            return self._is_laid(feature)
        if isinstance(feature, GoesBetween):
            return self._goes_between(slot, feature)
        assert isinstance(feature, str)
        if self.part is None:
            return False if feature in (WAYS, WIRED) else None
        return self._of_part(self.part, slot, feature)

    def _goes_between(self, position: str, ends: GoesBetween) -> bool | None:
        """None for what is no wire."""
        if self.part is None or self.part.kind != "wire":
            return None
        return _go_between(plugs_of(self, position, "start_plug"), plugs_of(self, position, "end_plug"), ends)

    def _is_laid(self, name: Laid) -> bool:
        found = None if self.part is None else laid(self.part)
        if found is None or found.ways != name.ways:
            return False
        pairs = zip(found.limits, name.limits, strict=True)
        return all(low <= least and most <= high for (least, most), (low, high) in pairs)

    def _of_part(self, part: Part, position: str, name: str) -> Hashable:
        if name == WAYS:
            return part.passages is not None
        if name == WIRED:
            return bool(part.ports)
        if name == KIND:
            return part.kind
        if name == SYSTEM:
            return system_of_part(part)
        if name == PART:
            if self.view is not None:
                return f"as it is {self.onto}"
            return signature(part.model_dump(mode="json", by_alias=True, exclude_unset=True))
        if not has_attribute(type(part), name):
            return None
        if self.view is not None:  # what is known of the part as it is, also by reading it off its neighbours
            fact = self.view.fact(self.view.bike[position], name)
            return _plain(fact.value) if not fact.possible else f"one of {fact.possible}"
        value = getattr(part, name)
        if value is None and self.renews is not None and name not in of_the_piece(part.kind):
            value = self.renews.fact(self.renews.bike[position], name).value
        return _plain(value)


def plugs_of(candidate: PartCandidate, position: str, name: str) -> Plugs:
    """The plugs that an attribute of a candidate tells; None where nobody knows them, or there is no such thing."""
    part = candidate.part
    if part is None:
        return None
    spot = candidate.spot(position)
    held = candidate.view.fact(spot, name).held if spot is not None and candidate.view else getattr(part, name, None)
    return None if held is None else frozenset((held,) if isinstance(held, str) else held)


@cache
def _go_between(start: Plugs, end: Plugs, ends: GoesBetween) -> bool:
    """Do these two plugs go into the sockets at both ends, one way round or the other?"""
    return any(_go_into(start, a) and _go_into(end, b) for a, b in (ends, ends[::-1]))


def _go_into(plugs: Plugs, sockets: Plugs) -> bool:
    """Could one of these plugs go into one of these sockets?"""
    return plugs is None or sockets is None or not plugs.isdisjoint(sockets)


def ways_at(part: Part | None, opening: str) -> str:
    """The answer to `At` for a part, or for none."""
    if part is None:
        return "none"
    if part.passages is None:
        return "unknown"
    closed = {way.bore.shape != "open" for way in part.passages if opening in (way.start, way.end)}
    return "none" if not closed else "both" if len(closed) > 1 else "closed" if True in closed else "open"


def laid(part: Part) -> Laid | None:
    """The ways of a part with their lengths; None where they are not all known."""
    lengths = [way.length_mm for way in part.passages or ()]
    known = tuple((length.low, length.high) for length in lengths if length is not None)
    if part.passages is None or len(known) < len(lengths):
        return None
    ways = [way.model_dump(mode="json", exclude_unset=True, exclude={"length_mm"}) for way in part.passages]
    return Laid(repr(ways), known)


def is_word(value: object) -> bool:
    """A shape, a standard, a fluid: no size."""
    return isinstance(value, (str, bool)) or (isinstance(value, tuple) and all(isinstance(x, str) for x in value))


def _plain(value: object) -> Hashable:
    """A value that can be compared quickly: lists of records become their text."""
    if isinstance(value, tuple):
        return repr([x.model_dump(mode="json", exclude_unset=True) if isinstance(x, Record) else x for x in value])
    return value if isinstance(value, Hashable) else repr(value)
