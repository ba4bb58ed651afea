"""The search itself: pick, assess, learn why it does not do, pick again. See the package."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from itertools import combinations
from math import inf
from typing import Generic

from buildcheck.remedies.master import Assignment, CostCut, Master
from buildcheck.remedies.nogoods import NogoodStore
from buildcheck.remedies.oracle import Assessment, OperationCost, Oracle
from buildcheck.remedies.terms import CHANGED, SUPPLY, C, Cube, Domains, Explanation, Feature, Literal, taken_away

Solve = Callable[[Domains[C], Iterable[CostCut]], Assignment[C] | None]
# The changed slots, by what they hold, and whether it comes out of a limited supply.
Key = frozenset[tuple[str, str, bool]]
# Told how many assignments were assessed, it says why the search has to stop; an empty text where it need not.
Stop = Callable[[int], str]
_WHOLE = frozenset[Feature]({CHANGED})


class GaveUpError(Exception):
    """The limit of assessments was reached, or what may stop the search did, for the reason that stands here."""


def _never(_: int) -> str:
    return ""


class ContradictionError(Exception):
    """An assessment contradicts what was learned from others: a fault of the oracle.

    To go on would call a remedy the cheapest that is not.
    """


class RemedySearch(Generic[C]):
    """A search with one oracle; `solve` solves the master problem. `stop` is asked before each costly step.

    What costs `below` or more is not looked for; further remedies only until `most_for_others` were assessed. Without
    `in_order` whatever does is a remedy, though what it costs that was not known before may make another one cheaper.
    """

    below: float = inf
    in_order: bool = True
    most_for_others: int | None = None

    def __init__(
        self, oracle: Oracle[C], most_assessed: int, solve: Solve[C] | None = None, stop: Stop | None = None
    ) -> None:
        self.oracle, self.most, self.solve = oracle, most_assessed, solve or Master[C]().cheapest
        self.stop = stop or _never
        self.store = NogoodStore(oracle)
        self.assessed: dict[Key, Assessment[C]] = {}
        self.bound = 0

    def __iter__(self) -> Iterator[Assessment[C]]:
        """The remedies, the cheapest first, each of another kind. Raises GaveUpError and ContradictionError.

        Those that take away more than the first one are none.
        """
        most = inf
        while (choice := self._choose(self.store.domains)) is not None:
            if choice.cost >= self.below or taken_away(choice.cost) > most:
                return
            self.bound = choice.cost
            picked = _changed(choice.candidates)
            if self._exceeds_supply(picked):
                continue
            known = _key(picked) in self.assessed
            assessment = self._assess(picked)
            dearer = assessment.cost > choice.cost and not known
            if assessment.conflicts or (dearer and (self.in_order or assessment.cost >= self.below)):
                continue  # what it costs beyond that is learned now: is it still the cheapest?
            if assessment.cost < choice.cost:
                raise ContradictionError(f"{sorted(picked)} cost {assessment.cost}, and {choice.cost} was learned")
            smaller = self._smaller(assessment)
            if smaller is not None:
                self.store.exclude_more_than(smaller.picked, assessment.picked)
                continue
            yield assessment
            most = taken_away(assessment.cost)
            if self.most_for_others is not None:
                self.most = min(self.most, max(self.most_for_others, len(self.assessed)))
            self.store.exclude_kind_of(assessment.picked)

    @property
    def start(self) -> Assessment[C]:
        """The assignment with nothing changed, which is assessed first. Raises StopIteration before."""
        return next(iter(self.assessed.values()))

    def ruled_out(self, slots: Collection[str], most: int) -> bool:
        """Is nothing left to choose at these slots, whatever is at others? Found out by at most so many assessments.

        What they teach is kept. Raises GaveUpError and ContradictionError.
        """
        domains = {slot: self.store.domains[slot] for slot in slots}
        for left in range(most, -1, -1):
            bodies = (nogood.body for nogood in self.store.nogoods())
            cubes = tuple(body for body in bodies if all(literal.slot in domains for literal in body))
            choice = self.solve(domains, [CostCut(None, cubes)])
            if choice is None:
                return True
            picked = _changed(choice.candidates)
            if not left or _key(picked) in self.assessed or not self._assess(picked).conflicts:
                return False
        return False

    def _go_on(self) -> None:
        reason = self.stop(len(self.assessed))
        if reason:
            raise GaveUpError(reason)

    def _choose(self, domains: Domains[C], also: Sequence[Cube] = ()) -> Assignment[C] | None:
        self._go_on()
        return self.solve(domains, [*self.store.cuts(), CostCut(None, tuple(also))])

    def _assess(self, picked: dict[str, C]) -> Assessment[C]:
        key = _key(picked)
        if key in self.assessed:
            return self.assessed[key]
        if len(self.assessed) >= self.most:
            raise GaveUpError
        self._go_on()
        conflicts, costs = self.oracle.assess(picked)
        cost = sum(candidate.cost for candidate in picked.values()) + sum(each.cost for each in costs)
        assessment = self.assessed[key] = Assessment(picked, tuple(conflicts), cost)
        for each in costs:
            self._learn_cost(each, picked)
        self._learn_conflicts(assessment)
        return assessment

    def _learn_cost(self, cost: OperationCost, picked: Mapping[str, C]) -> None:
        if self.store.is_charged(cost.name, picked):
            return
        if taken_away(cost.cost) and cost.needs is not None:
            self.store.open(cost.needs)  # another part there may spare it
        if cost.cause is not None:
            cost = cost._replace(needs=self.oracle.minimise(cost.cause, self.store.domains))
        self.store.learn_cost(cost, picked)

    def _learn_conflicts(self, assessment: Assessment[C]) -> None:
        picked, store = assessment.picked, self.store
        for conflict in assessment.conflicts:
            store.open(conflict.whole)
            # It may be there for lack of what was left off.
            absent: Explanation = dict.fromkeys((at for at, each in picked.items() if not each.id), frozenset())
            if store.is_new({**absent, **conflict.whole}, picked):
                self._go_on()
                store.learn_conflict(self.oracle.minimise(conflict, store.domains), picked, conflict)
        if assessment.conflicts and not store.excludes(picked):
            store.learn_conflict(dict.fromkeys(store.domains, _WHOLE), picked, assessment.conflicts[0])

    def _exceeds_supply(self, picked: Mapping[str, C]) -> bool:
        """Are more pieces taken out of a supply than there are? Then that is learned."""
        slots: dict[str, list[str]] = {}
        for slot, candidate in picked.items():
            if candidate.supply is not None:
                slots.setdefault(candidate.id, []).append(slot)
        for name, taken in slots.items():
            most = picked[taken[0]].supply or 0
            if len(taken) > most:
                for some in combinations(sorted(taken), most + 1):
                    self.store.exclude(frozenset(Literal(slot, (SUPPLY,), (name,)) for slot in some))
                return True
        return False

    def _smaller(self, assessment: Assessment[C]) -> Assessment[C] | None:
        """A remedy that does with some of these changes only and takes no more away, if there is one."""
        whole = frozenset(
            Literal(slot, (CHANGED,), each.values(slot, (CHANGED,))) for slot, each in assessment.picked.items()
        )
        most = taken_away(assessment.cost)
        while assessment.picked:
            domains = {
                slot: [domain[0], *([assessment.picked[slot]] if slot in assessment.picked else ())]
                for slot, domain in self.store.domains.items()
            }
            choice = self._choose(domains, (whole,))
            if choice is None or taken_away(choice.cost) > most:
                return None
            smaller = self._assess(_changed(choice.candidates))
            if not smaller.conflicts and taken_away(smaller.cost) <= most:
                return smaller
        return None


def _changed(candidates: Mapping[str, C]) -> dict[str, C]:
    return {slot: candidate for slot, candidate in candidates.items() if candidate.changed}


def _key(picked: Mapping[str, C]) -> Key:
    return frozenset((slot, candidate.id, candidate.supply is not None) for slot, candidate in picked.items())
