"""The words of the search: slots, candidates and the features that they show. What they stand for it does not know."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Hashable, Mapping, Sequence
from typing import NamedTuple, TypeVar

# What a candidate may be asked for. Its value is compared with that of other candidates, and with nothing else.
Feature = Hashable
# Features that every candidate shows: is it another one than is there at first; of which limited supply is it; how much
# does it take away by itself?
CHANGED, SUPPLY, TAKES = "(changed)", "(supply)", "(takes)"
Features = frozenset[Feature]
# What something depends on: features of the candidate at each slot.
Explanation = Mapping[str, Features]
# What each thing counts that a candidate or an assignment takes away, and each step by which it does: a step more than
# all prices and all work together, a thing more than all steps. So of two assignments that comes first which takes away
# fewer things, of those alike in that the one by fewer steps, and of those alike in both the cheaper one.
TAKEN_AWAY, STEP = 10**14, 10**11


def taken_away(cost: int) -> int:
    """How much something of this cost takes away: more for one thing more, and for one step more."""
    return cost // STEP


def to_pay(cost: int) -> int:
    """What something of this cost comes to without what it takes away."""
    return cost % STEP


class Candidate(ABC):
    """One thing that a slot may hold; without an `id` it is nothing at all. `supply` counts pieces where they are few.

    `changed` is a text where it is what there is at first, and only lies otherwise: this says how.

    Those that are equal in every feature that has mattered so far are one class, of which only the cheapest counts.
    """

    __slots__ = ("_seen", "_shown", "changed", "cost", "id", "supply")

    def __init__(self, name: str, cost: int, *, changed: bool | str, supply: int | None = None) -> None:
        self.id, self.cost, self.changed, self.supply = name, cost, changed, supply
        self._shown: dict[tuple[str, tuple[Feature, ...]], tuple[Hashable, ...]] = {}
        self._seen: dict[tuple[str, Feature], Hashable] = {}

    def values(self, slot: str, features: tuple[Feature, ...]) -> tuple[Hashable, ...]:
        """What it shows of these features at a slot."""
        found = self._shown.get((slot, features))
        if found is None:
            found = self._shown[slot, features] = tuple(self.value(slot, feature) for feature in features)
        return found

    def value(self, slot: str, feature: Feature) -> Hashable:
        """What it shows of one feature."""
        key = slot, feature
        if key not in self._seen:
            if feature == CHANGED:
                self._seen[key] = self.changed
            elif feature == SUPPLY:
                self._seen[key] = self.id if self.supply is not None else None
            elif feature == TAKES:
                self._seen[key] = taken_away(self.cost)
            else:
                self._seen[key] = self._look(slot, feature)
        return self._seen[key]

    @abstractmethod
    def _look(self, slot: str, feature: Feature) -> Hashable:
        """What it shows of a feature that only those know who made it."""


C = TypeVar("C", bound=Candidate)
# What each open slot may hold; what is there at first stands first.
Domains = Mapping[str, Sequence[C]]


class Literal(NamedTuple):
    """At this slot sits something that shows these values."""

    slot: str
    features: tuple[Feature, ...]
    values: Hashable


# A conjunction: the body of a nogood, or the condition of a cost.
Cube = frozenset[Literal]
