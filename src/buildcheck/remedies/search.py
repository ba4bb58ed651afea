"""The search for the cheapest remedies: choose, vet, learn why it does not do, choose again.

Each round takes the cheapest choice of parts that nothing learned so far excludes (`relaxed`), and vets it as a
whole. What blocks teaches a condition that no remedy may meet (`reasons`); the work of it teaches what work
costs when (`charges`). Since only what is certain is learned, the cost of each choice is a lower bound of what any
remedy costs, and a choice that comes back after it was vetted, its whole cost known, is the cheapest. No rule
knows of the search.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import NamedTuple

from buildcheck.candidates.costs import Cost
from buildcheck.candidates.domains import Shelves
from buildcheck.candidates.entailment import Needs, Shelved, rests_on
from buildcheck.candidates.explanations import Needed
from buildcheck.candidates.features import CHANGED, STOCK, Condition, Literal, Name, Option
from buildcheck.fit.context import Context
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.remedies.master import Charge, Choice, cheapest
from buildcheck.remedies.nogoods import Lessons, Picked

Solve = Callable[[Shelved, Iterable[Charge]], Choice | None]
_WHOLE = frozenset[Name]({CHANGED})


class Vetted(NamedTuple):
    """One vetting inside the search."""

    context: Context
    findings: tuple[Finding, ...]

    @property
    def blocking(self) -> tuple[Finding, ...]:
        """The findings that block."""
        return tuple(finding for finding in self.findings if finding.level is Level.BLOCKS)


class Tried(NamedTuple):
    """A set of parts that was vetted, and what it costs above the bare swap."""

    picked: dict[str, Option]
    change: Change
    vetted: Vetted
    cost: int

    @property
    def refused_by(self) -> tuple[Finding, ...]:
        """What blocks with these parts."""
        return self.vetted.blocking


class Bench(NamedTuple):
    """What the search is given: how to vet, what the work costs; `still` gives the findings of one name."""

    vet: Callable[[Change], Vetted]
    still: Callable[[Context, str], Sequence[Finding]]
    costs: Callable[[Vetted], list[Cost]]


class GaveUpError(Exception):
    """The limit of vettings was reached."""


class Remedies:
    """A search over one change; `solve` gives the cheapest choice that breaks nothing learned so far."""

    def __init__(
        self, bench: Bench, shelves: Shelves, change: Change, most_vettings: int, solve: Solve = cheapest
    ) -> None:  # fmt: skip
        self.bench, self.change, self.most, self.solve = bench, change, most_vettings, solve
        self.lessons = Lessons(shelves)
        self.tried: dict[Change, Tried] = {}
        self.bound = 0
        self._needed = Needed(bench.still, self.lessons.shelves, self.lessons.settled)

    def __iter__(self) -> Iterator[Tried]:
        """The remedies, the cheapest first, each of another kind. Raises GaveUpError."""
        while (choice := self._choose(self.lessons.shelves)) is not None:
            self.bound = choice.cost
            picked = _new(choice.options)
            if self._too_many(picked):
                continue
            known = self.change_with(picked) in self.tried
            tried = self._try(picked)
            if tried.refused_by or not known:
                continue  # first learn what it costs
            smaller = self._smaller(tried)
            if smaller is not None:
                self.lessons.exclude_more_than(smaller.picked, tried.picked)
                continue
            yield tried
            self.lessons.exclude_kind_of(tried.picked)

    @property
    def start(self) -> Tried:
        """The change as asked, which is tried first. Raises StopIteration before."""
        return next(iter(self.tried.values()))

    def _choose(self, shelves: Shelved, also: Sequence[Condition] = ()) -> Choice | None:
        return self.solve(shelves, [*self.lessons.charges(), Charge(None, tuple(also))])

    def change_with(self, picked: Picked) -> Change:
        """The change as asked with these options."""
        fits = tuple((option.id, position) for position, option in sorted(picked.items()) if option.part is not None)
        offs = tuple(position for position, option in sorted(picked.items()) if option.part is None)
        return replace(self.change, fit=(*self.change.fit, *fits), take_off=(*self.change.take_off, *offs))

    def _try(self, picked: dict[str, Option]) -> Tried:
        change = self.change_with(picked)
        if change in self.tried:
            return self.tried[change]
        if len(self.tried) >= self.most:
            raise GaveUpError
        vetted = self.bench.vet(change)
        costs = self.bench.costs(vetted)
        cost = sum(option.cost for option in picked.values()) + sum(each.cost for each in costs)
        tried = self.tried[change] = Tried(picked, change, vetted, cost)
        for each in costs:
            self._learn_cost(each, tried)
        self._learn_conflicts(tried)
        return tried

    def _learn_cost(self, cost: Cost, tried: Tried) -> None:
        if self.lessons.charges_for(cost.unit, tried.picked):
            return
        needs, context = cost.needs, tried.vetted.context
        if cost.finding is not None and needs is not None:
            fewer, gone = self._needed.of(context, cost.finding, needs), self._needed.gone(context, cost.finding, needs)
            needs = {**gone, **needs, **fewer}
        if needs is not None:
            needs = self._with_beside(needs)
        self.lessons.learn_cost(cost._replace(needs=needs), tried.picked)

    def _learn_conflicts(self, tried: Tried) -> None:
        picked, context = tried.picked, tried.vetted.context
        for finding in tried.refused_by:
            needs = self._with_beside(rests_on(context, finding))
            self.lessons.open(needs)
            # It may be there for lack of what was left off.
            gone = dict.fromkeys((at for at, option in picked.items() if option.part is None), frozenset[Name]())
            if self.lessons.is_new({**gone, **needs}, picked):
                needs = {**self._needed.gone(context, finding, needs), **self._needed.of(context, finding, needs)}
                self.lessons.learn_conflict(needs, picked, finding)
        if tried.refused_by and not self.lessons.excludes(picked):
            whole = dict.fromkeys(self.lessons.shelves, _WHOLE)
            self.lessons.learn_conflict(whole, picked, tried.refused_by[0])

    def _with_beside(self, needs: Needs) -> Needs:
        """What holds for an empty place of many that is to stay empty holds for the next one."""
        beside = {self.lessons.stock.beside(position): names for position, names in needs.items()}
        return {**beside, **needs}

    def _too_many(self, picked: Picked) -> bool:
        """Are more pieces of a part taken out of the stock than lie there? Then that is learned."""
        places: dict[str, list[str]] = {}
        for position, option in picked.items():
            if option.in_stock is not None:
                places.setdefault(option.id, []).append(position)
        asked = Counter(part_id for part_id, _ in self.change.fit)  # they come out of the stock first
        for name, positions in places.items():
            most = max(0, (picked[positions[0]].in_stock or 0) - asked[name])
            if len(positions) > most:
                for some in combinations(sorted(positions), most + 1):
                    self.lessons.exclude(frozenset(Literal(place, (STOCK,), (name,)) for place in some))
                return True
        return False

    def _smaller(self, tried: Tried) -> Tried | None:
        """A remedy that does with some of these parts only, if there is one."""
        whole = frozenset(Literal(position, (CHANGED,), (True,)) for position in tried.picked)
        while tried.picked:
            shelves = {
                position: [options[0], *([tried.picked[position]] if position in tried.picked else ())]
                for position, options in self.lessons.shelves.items()
            }
            choice = self._choose(shelves, (whole,))
            if choice is None:
                return None
            smaller = self._try(_new(choice.options))
            if not smaller.refused_by:
                return smaller
        return None


def _new(options: Picked) -> dict[str, Option]:
    return {position: option for position, option in options.items() if option.changed}
