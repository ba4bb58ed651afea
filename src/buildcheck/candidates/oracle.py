"""The oracle of the search for remedies: assignments of parts to positions, judged by vetting the bike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from buildcheck.candidates.costs import costs_of
from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.entailment import FindingReason
from buildcheck.candidates.evidence import rests_on
from buildcheck.candidates.explanations import ExplanationMinimiser
from buildcheck.candidates.features import KIND, PartCandidate, is_word
from buildcheck.candidates.severed import why_severed
from buildcheck.candidates.vetter import Vetted, Vetter
from buildcheck.candidates.worth import Brought
from buildcheck.model.bikes import Change
from buildcheck.model.levels import Level
from buildcheck.model.sentences import Said
from buildcheck.remedies import TAKEN_AWAY, Conflict, Cube, Domains, Explanation, Features, OperationCost

_NOTHING: Features = frozenset()


class PartsOracle:
    """An `Oracle` whose slots are positions. A wire, a spacer or a whole crankset is a candidate like any other."""

    sort = KIND

    def __init__(self, vetter: Vetter, change: Change, stock: PartDomains) -> None:
        self.vetter, self.change, self.stock = vetter, change, stock
        self._bare: set[str] = set()
        self._minimiser = ExplanationMinimiser(vetter.found_again, self._settled)
        self._domains: dict[str, list[PartCandidate]] = {}

    def fixed(self, slot: str) -> bool:
        """Does a position stay as it is?"""
        return self.stock.fixed(slot)

    def domain(self, slot: str) -> Sequence[PartCandidate]:
        """The part as it is, then what could come in its place."""
        if slot not in self._domains:
            self._domains[slot] = self.stock.of(slot)
        found = self._domains[slot]
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
        in_order = sorted(picked.items())
        fits = tuple((each.part.id, at) for at, each in in_order if each.is_fitted and each.part is not None)
        offs = tuple(at for at, each in in_order if each.part is None)
        moves = tuple((at, each.onto) for at, each in in_order if each.onto)
        news = tuple(at for at, each in in_order if each.renews is not None)
        return self.change.with_more(fits, offs, moves, news)

    def vetted(self, picked: Mapping[str, PartCandidate]) -> Vetted:
        """The bike with these candidates."""
        return self.vetter.vet(self.change_with(picked))

    def assess(self, picked: Mapping[str, PartCandidate]) -> tuple[list[Conflict], list[OperationCost]]:
        """What blocks, and what the work costs."""
        vetted = self.vetted(picked)
        conflicts: list[Conflict] = [
            FindingReason(vetted.context, finding, self.stock.whole(rests_on(vetted.context, finding)))
            for finding in vetted.blocking
        ]
        rate = self.vetter.terms.rate_eur_per_hour
        costs = costs_of(self.vetter.extra_work(vetted), vetted.context, self.vetter.known_before, rate)
        return conflicts, [*map(self._whole, costs), *self._taken(picked, vetted)]

    def taken_away(self, picked: Mapping[str, PartCandidate]) -> tuple[Said, ...]:
        """What these candidates take away, each by itself and together."""
        by_itself = (lost.text for _, each in sorted(picked.items()) for lost in each.takes)
        return (*by_itself, *(finding.message for finding in self.brought.among(self.vetted(picked).findings)))

    @cached_property
    def brought(self) -> Brought:
        """What sets bring, beside the change as asked."""
        return Brought(self.vetted({}).findings, self.vetter.settled_at_work)

    def _taken(self, picked: Mapping[str, PartCandidate], vetted: Vetted) -> Iterator[OperationCost]:
        absent = {at: _NOTHING for at, each in picked.items() if each.part is None}
        for finding in self.brought.among(vetted.findings):
            needs = self.stock.whole(rests_on(vetted.context, finding))
            # With less known what is undecided stays so, and with more it may be decided: it cannot be cut down.
            decided = finding.level is not Level.UNKNOWN
            cause = FindingReason(vetted.context, finding, needs) if decided else None
            name = f"{finding.level} {finding.name}@{finding.key[1]}"
            yield OperationCost(name, TAKEN_AWAY, needs if decided else {**absent, **needs}, cause)

    def _whole(self, cost: OperationCost) -> OperationCost:
        if cost.needs is None:
            return cost
        needs = self.stock.whole(cost.needs)
        cause = replace(cost.cause, whole=needs) if isinstance(cost.cause, FindingReason) else None
        return cost._replace(needs=needs, cause=cause)

    def minimise(self, cause: Conflict, domains: Domains[PartCandidate]) -> Explanation:
        """The evidence of a finding, cut down."""
        assert isinstance(cause, FindingReason)
        needs = why_severed(cause)
        return self.stock.whole(self._minimiser.minimise(cause, domains) if needs is None else needs)

    def of_kind(self, slot: str, candidate: PartCandidate, features: Features) -> Features:
        """Those of the features that are words: shapes, standards, fluids."""
        names = {name for name in features if isinstance(name, str)}
        return frozenset(name for name in names if is_word(getattr(candidate.part, name, None)))


class Regardless(PartsOracle):
    """The same oracle for a search that does not mind what is taken away."""

    def __init__(self, of: PartsOracle) -> None:
        super().__init__(of.vetter, of.change, of.stock)
        self.of, self._bare, self._minimiser = of, of._bare, of._minimiser

    def domain(self, slot: str) -> Sequence[PartCandidate]:
        """At their prices."""
        found = self.of.domain(slot)
        return [each.at_its_price() for each in found] if any(each.takes for each in found) else found

    def _taken(self, picked: Mapping[str, PartCandidate], vetted: Vetted) -> Iterator[OperationCost]:
        return iter(())
