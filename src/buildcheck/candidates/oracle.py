"""The oracle of the search for remedies: assignments of parts to positions, judged by vetting the bike."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from buildcheck.candidates.costs import costs_of
from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on
from buildcheck.candidates.explanations import ExplanationMinimiser
from buildcheck.candidates.features import KIND, PartCandidate, is_word
from buildcheck.candidates.vetter import Vetted, Vetter
from buildcheck.model.bikes import Change
from buildcheck.remedies import Conflict, Cube, Domains, Explanation, Features, OperationCost


class PartsOracle:
    """An `Oracle` whose slots are positions. A wire, a spacer or a whole crankset is a candidate like any other."""

    sort = KIND

    def __init__(self, vetter: Vetter, change: Change, stock: PartDomains) -> None:
        self.vetter, self.change, self.stock = vetter, change, stock
        self._bare: set[str] = set()
        self._minimiser = ExplanationMinimiser(vetter.found_again, self._settled)

    def fixed(self, slot: str) -> bool:
        """Does a position stay as it is?"""
        return self.stock.fixed(slot)

    def domain(self, slot: str) -> Sequence[PartCandidate]:
        """The part as it is, then what could come in its place."""
        found = self.stock.of(slot)
        if len(found) == 1:
            self._bare.add(slot)
        return found

    def _settled(self, slot: str) -> bool:
        return slot in self._bare or self.fixed(slot)

    def incompatible(self, domains: Domains[PartCandidate]) -> Iterable[tuple[Cube, str]]:
        """What cannot go together, by joint rows of two sides."""
        return self.stock.nogoods(domains)

    def change_with(self, picked: Mapping[str, PartCandidate]) -> Change:
        """The change as asked with these candidates."""
        fits = tuple((each.id, position) for position, each in sorted(picked.items()) if each.part is not None)
        offs = tuple(position for position, each in sorted(picked.items()) if each.part is None)
        return replace(self.change, fit=(*self.change.fit, *fits), take_off=(*self.change.take_off, *offs))

    def vetted(self, picked: Mapping[str, PartCandidate]) -> Vetted:
        """The bike with these candidates."""
        return self.vetter.vet(self.change_with(picked))

    def assess(self, picked: Mapping[str, PartCandidate]) -> tuple[list[Conflict], list[OperationCost]]:
        """What blocks, and what the work costs."""
        vetted = self.vetted(picked)
        conflicts: list[Conflict] = [
            FindingReason(vetted.context, finding, self.stock.with_beside(rests_on(vetted.context, finding)))
            for finding in vetted.blocking
        ]
        rate = self.vetter.terms.rate_eur_per_hour
        costs = costs_of(self.vetter.extra_work(vetted), vetted.context, self.vetter.known_before, rate)
        return conflicts, [self._whole(cost) for cost in costs]

    def _whole(self, cost: OperationCost) -> OperationCost:
        if cost.needs is None:
            return cost
        needs = self.stock.with_beside(cost.needs)
        cause = replace(cost.cause, whole=needs) if isinstance(cost.cause, FindingReason) else None
        return cost._replace(needs=needs, cause=cause)

    def minimise(self, cause: Conflict, domains: Domains[PartCandidate]) -> Explanation:
        """The evidence of a finding, cut down."""
        assert isinstance(cause, FindingReason)
        return self.stock.with_beside(self._minimiser.minimise(cause, domains))

    def of_kind(self, slot: str, candidate: PartCandidate, features: Features) -> Features:
        """Those of the features that are words: shapes, standards, fluids."""
        names = {name for name in features if isinstance(name, str)}
        return frozenset(name for name in names if is_word(getattr(candidate.part, name, None)))
