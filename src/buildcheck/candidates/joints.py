"""Which parts of two domains cannot meet, as nogoods of two literals: every joint row, asked before any vetting."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Sequence
from dataclasses import replace
from functools import cached_property, partial

from buildcheck.candidates.features import KIND, PartCandidate
from buildcheck.fit.facts import Fact
from buildcheck.fit.joints import Neighbour, clash, joined, neighbours
from buildcheck.fit.reading import read_fact
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.parts.base import token_of
from buildcheck.model.standards import JointRow
from buildcheck.remedies import Cube, Domains, Feature, Literal

ADAPTER = "adapter"
Domain = Sequence[PartCandidate]
# A position, what is compared there, and what there is to choose from.
Side = tuple[str, tuple[Feature, ...], Domain]


class Joints:
    """The joints of the bike with the change as asked, and the adapters that could come between two sides."""

    def __init__(self, view: View, adapters: Callable[[], Iterable[Part]]) -> None:
        self.view, self.adapters = view, adapters
        self._firm: dict[str, list[Neighbour]] = {}
        self._joined: dict[Hashable, bool] = {}
        # What two domains gave when they were last asked for: each domain that is opened asks for all again.
        self._pairs_of: dict[tuple[str, int], tuple[Domain, Domain, list[tuple[Cube, str]]]] = {}
        self._spots: dict[tuple[str, object], Fitted] = {}  # so that what was read off one is known

    @cached_property
    def _adapters(self) -> list[Fitted]:
        there = (spot.part for spot in self.view.of_kind((ADAPTER,)))
        return [Fitted(part.id, part.id, part) for part in (*self.adapters(), *there)]

    def firm(self, position: str) -> list[Neighbour]:
        """The joints at a position that hold whatever else is fitted but an adapter: no cover can come between."""
        if position not in self._firm:
            self._firm[position] = self._find_firm(position)
        return self._firm[position]

    def _find_firm(self, position: str) -> list[Neighbour]:
        return [
            each for each in neighbours(self.view, position)
            if each.row.level is Level.BLOCKS and each.row.unless is None
            and not (each.row.of == "on" and self._looks_for_a_place(position, each))
        ]  # fmt: skip

    def _looks_for_a_place(self, position: str, each: Neighbour) -> bool:
        rider = self.view.bike.get(position) if each.at_side_a else each.other
        return rider is None or bool(rider.part.mounts) or self.view.row(rider.position).stacked

    def clash(self, position: str, candidate: PartCandidate, fixed: Sequence[Neighbour]) -> str | None:
        """The joint by which an candidate clashes with a part that stays; None where it clashes with none."""
        spot = self._spot(position, candidate)
        return next((each.row.name for each in fixed if spot is not None and self._clash(each, spot, each.other)), None)

    def nogoods(self, domains: Domains[PartCandidate], position: str) -> Iterator[tuple[Cube, str]]:
        """What does not go together of a domain and the other domains."""
        for number, each in enumerate(self.firm(position)):
            other = each.other.home
            if other in domains and each.at_side_a:
                near, far = domains[position], domains[other]
                known = self._pairs_of.get((position, number))
                if known is None or known[0] is not near or known[1] is not far:
                    ours = (KIND, each.row.a_attribute, *sorted(each.row.a_where))
                    pairs = self._pairs(each, (position, ours, near), (other, (KIND, each.row.b), far))
                    known = self._pairs_of[position, number] = near, far, list(pairs)
                yield from known[2]

    def _pairs(self, each: Neighbour, near: Side, far: Side) -> Iterator[tuple[Cube, str]]:
        (position, ours, domain), (other, theirs, other_domain) = near, far
        for value, candidate in _one_of_each(domain, position, ours).items():
            spot = self._spot(position, candidate)
            for value_there, candidate_there in _one_of_each(other_domain, other, theirs).items():
                there = self._spot(other, candidate_there)
                if spot is not None and there is not None and self._clash(each, spot, there):
                    body = frozenset((Literal(position, ours, value), Literal(other, theirs, value_there)))
                    yield body, each.row.name

    def _spot(self, position: str, candidate: PartCandidate) -> Fitted | None:
        if candidate.part is None:
            return None
        key = position, token_of(candidate.part)
        if key not in self._spots:
            spot, part = self.view.bike.get(position), candidate.part
            self._spots[key] = Fitted(position, position, part) if spot is None else replace(spot, part=part)
        return self._spots[key]

    def _clash(self, each: Neighbour, spot: Fitted, other: Fitted) -> bool:
        a, b = (spot, other) if each.at_side_a else (other, spot)
        if not clash(self.view, each.row, a, b, self._fact):
            return False
        return each.row.adapter is None or not self._could_be_joined(each.row, a, b)

    def _could_be_joined(self, row: JointRow, a: Fitted, b: Fitted) -> bool:
        """Is there any adapter that might stand between these two?"""
        near, far = self._fact(a, row.a_attribute), self._fact(b, row.b)
        key = row.interface, near.held, far.held
        if key not in self._joined:
            interface = self.view.standards.interfaces[row.interface]
            self._joined[key] = any(
                not joined(interface, near, far, partial(read_fact, adapter)).is_no for adapter in self._adapters
            )
        return self._joined[key]

    def _fact(self, spot: Fitted, attribute: str) -> Fact:
        as_it_is = self.view.bike.get(spot.position)
        if as_it_is is not None and as_it_is.part is spot.part:
            return self.view.fact(spot, attribute)
        return read_fact(spot, attribute)


def _one_of_each(
    candidates: Sequence[PartCandidate], position: str, features: tuple[Feature, ...]
) -> dict[object, PartCandidate]:
    found: dict[object, PartCandidate] = {}
    for candidate in candidates:
        found.setdefault(candidate.values(position, features), candidate)
    return found
