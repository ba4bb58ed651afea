"""What the search may choose from: for each position the part as it is, the parts of the catalogue, nothing at all.

An option shows itself to the search by traits only: values of attributes that a finding rested on. Options
that are equal in every trait that has mattered so far are one class, of which only the cheapest counts.
"""

from __future__ import annotations

from collections.abc import Hashable
from typing import NamedTuple

from buildcheck.fit.facts import has_attribute
from buildcheck.fit.view import View
from buildcheck.library.alike import signature
from buildcheck.model.bikes import Fitted
from buildcheck.model.parts import Part, Record
from buildcheck.model.quantities import Interval

# Names that a trait may hold beside attributes of parts: is the part another one than the change as asked has there; of
# which kind is it; which part is it, up to what no rule sees; which of the shop's stock is it; has it sockets; are its
# ways for lines known?
CHANGED, KIND, PART, STOCK, WIRED, WAYS = "(changed)", "(kind)", "(part)", "(stock)", "(wired)", "(ways)"


class Within(NamedTuple):
    """Is an attribute of the part known to lie within these limits?"""

    attribute: str
    low: float
    high: float


class At(NamedTuple):
    """What ways has the part at this opening: "none", "closed", "open", "both", or "unknown" for nobody knows."""

    opening: str


class Laid(NamedTuple):
    """Has the part these ways, whatever their lengths as long as each lies within its limits?"""

    ways: str
    limits: tuple[tuple[float, float], ...]


# What a trait may name.
Name = str | Within | At | Laid
Trait = tuple[Name, ...]


class Literal(NamedTuple):
    """At this position sits something whose trait has this value."""

    position: str
    trait: Trait
    value: Hashable


Condition = frozenset[Literal]


class Option:
    """One thing that one position may hold; `part` None is nothing. `cost` is in ten-thousandths of a euro.

    `view` is given for the part as it is; `in_stock` counts the pieces where it comes from the shop's stock.
    """

    __slots__ = ("_seen", "_shown", "changed", "cost", "id", "in_stock", "part", "view")

    def __init__(self, part: Part | None, cost: int, view: View | None = None, in_stock: int | None = None) -> None:
        self.part, self.cost, self.view, self.in_stock = part, cost, view, in_stock
        self.changed = view is None
        self.id = part.id if part is not None else ""
        self._shown: dict[Trait, tuple[Hashable, ...]] = {}
        self._seen: dict[tuple[str, Name], Hashable] = {}

    def spot(self, position: str) -> Fitted | None:
        """The part as it is at its position; None where another is to be fitted, or nothing is there."""
        return self.view.bike.get(position) if self.view is not None else None

    def value(self, position: str, trait: Trait) -> tuple[Hashable, ...]:
        """What the option shows of a trait at its position."""
        found = self._shown.get(trait)
        if found is None:
            found = self._shown[trait] = tuple(self._one(position, name) for name in trait)
        return found

    def _one(self, position: str, name: Name) -> Hashable:
        key = (position, name)
        if key not in self._seen:
            self._seen[key] = self._look(position, name)
        return self._seen[key]

    def _look(self, position: str, name: Name) -> Hashable:
        if isinstance(name, Within):
            value = self._one(position, name.attribute)
            return isinstance(value, Interval) and name.low <= value.low and value.high <= name.high
        if isinstance(name, At):
            return ways_at(self.part, name.opening)
        if isinstance(name, Laid):
            return self._is_laid(name)
        if name == CHANGED:
            return self.changed
        if name == STOCK:
            return self.id if self.in_stock is not None else None
        part = self.part
        if part is None:
            return False if name in (WAYS, WIRED) else None
        return self._of_part(part, position, name)

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
        if name == PART:
            if not self.changed:
                return "as it is"
            return signature(part.model_dump(mode="json", by_alias=True, exclude_unset=True))
        if not has_attribute(type(part), name):
            return None
        if self.view is not None:  # what is known of the part as it is, also by reading it off its neighbours
            return _plain(self.view.fact(self.view.bike[position], name).value)
        return _plain(getattr(part, name))


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


def _plain(value: object) -> Hashable:
    """A value that can be compared quickly: lists of records become their text."""
    if isinstance(value, tuple):
        return repr([x.model_dump(mode="json", exclude_unset=True) if isinstance(x, Record) else x for x in value])
    return value if isinstance(value, Hashable) else repr(value)
