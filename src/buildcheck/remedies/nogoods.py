"""What a search has learned so far: the shelves that are open, conditions no remedy may meet, what work costs when.

Kept as what was seen (the attributes that something rests on, and the options at the time), and put into
conditions over the open shelves when these are asked for: a shelf that opens later counts as it was then, as it is.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from typing import NamedTuple

from buildcheck.candidates.costs import Cost
from buildcheck.candidates.domains import Shelves
from buildcheck.candidates.entailment import Needs
from buildcheck.candidates.features import CHANGED, KIND, WIRED, Condition, Literal, Name, Option
from buildcheck.model.findings import Finding
from buildcheck.remedies.master import Charge

Picked = Mapping[str, Option]


class Case(NamedTuple):
    """Something that held with these options, and what it rests on; `finding` is what taught it, if one did."""

    needs: Needs | None
    picked: Picked
    finding: Finding | None = None


class Lessons:
    """See the module."""

    def __init__(self, stock: Shelves) -> None:
        self.stock = stock
        self.shelves: dict[str, list[Option]] = {}
        self.conflicts: list[Case] = []
        self._costs: dict[str, tuple[int, list[Case]]] = {}
        self._excluded: list[Condition] = []
        self._seen: set[Condition] = set()
        self._bare: set[str] = set()  # positions with nothing to choose from
        self._hard: list[Condition] | None = None
        self._joints: list[Condition] | None = None
        self._soft: dict[str, dict[Condition, None]] = {}

    def open(self, positions: Iterable[str]) -> None:
        """Put what these positions may hold on the shelves."""
        for position in positions:
            if position in self.shelves or self.settled(position):
                continue
            options = self.stock.of(position)
            if len(options) == 1:
                self._bare.add(position)
                continue
            self.shelves[position] = options
            self._hard = self._joints = None
            self._soft.clear()

    def settled(self, position: str) -> bool:
        """Can nothing else ever come to a position?"""
        return position in self._bare or self.stock.fixed(position)

    # ------------------------------------------------------------------ learning

    def is_new(self, needs: Needs, picked: Picked) -> bool:
        """Was nothing learned yet from something that rests on the same?"""
        found = self.condition(Case(needs, picked))
        new = found not in self._seen
        self._seen.add(found)
        return new

    def learn_conflict(self, needs: Needs, picked: Picked, finding: Finding) -> None:
        """No remedy may have what is needed for this as it is with these options."""
        case = Case(needs, picked, finding)
        self.conflicts.append(case)
        if self._hard is not None:
            self._hard.append(self.condition(case))

    def learn_cost(self, cost: Cost, picked: Picked) -> None:
        """This work is to be paid whenever what it needs is as it is with these options."""
        _, cases = self._costs.setdefault(cost.unit, (cost.cost, []))
        case = Case(cost.needs, picked)
        cases.append(case)
        self._conditions(cost.unit, cases)[self.condition(case)] = None

    def charges_for(self, unit: str, picked: Picked) -> bool:
        """Is it known that this work is to be paid with these options?"""
        _, cases = self._costs.get(unit, (0, []))
        return any(self._holds(condition, picked) for condition in self._conditions(unit, cases))

    def exclude(self, condition: Condition) -> None:
        """No further remedy may meet this condition."""
        self._excluded.append(condition)

    def exclude_more_than(self, smaller: Picked, larger: Picked) -> None:
        """Whoever fits the parts of the smaller set needs none of the others."""
        same = {_literal(position, option, self._traits(position) | {CHANGED}) for position, option in smaller.items()}
        for position in larger.keys() - smaller.keys():
            self.exclude(frozenset({*same, Literal(position, (CHANGED,), (True,))}))

    def exclude_kind_of(self, picked: Picked) -> None:
        """No other set that does the same at the same places with parts that differ in sizes only, or in nothing."""
        self.exclude(
            frozenset(_literal(at, option, self._words(at, option) | {CHANGED}) for at, option in picked.items())
        )

    def excludes(self, picked: Picked) -> bool:
        """Does anything that was learned exclude these options?"""
        return any(self._holds(condition, picked) for condition in self.hard())

    def _holds(self, condition: Condition, picked: Picked) -> bool:
        return all((picked.get(at) or self.shelves[at][0]).value(at, trait) == value for at, trait, value in condition)

    # ------------------------------------------------------------------ what the relaxed problem reads

    def charges(self) -> list[Charge]:
        """All that was learned."""
        costs = [Charge(cost, tuple(self._conditions(unit, cases))) for unit, (cost, cases) in self._costs.items()]
        return [Charge(None, tuple(self.hard())), *costs]

    def hard(self) -> list[Condition]:
        """The conditions that no remedy may meet."""
        if self._joints is None:
            pairs = (each for position in self.shelves for each in self.stock.pairs.conditions(self.shelves, position))
            self._joints = [*self._dangling(), *pairs]
        if self._hard is None:
            self._hard = [self.condition(case) for case in self.conflicts]
        return [*self._joints, *self._hard, *self._excluded]

    def _dangling(self) -> Iterator[Condition]:
        """A wire is left off only where there is nothing with sockets at one of its ends."""
        for position, options in self.shelves.items():
            spot = options[0].spot(position)
            if spot is not None and spot.part.kind == "wire":
                ends = [end for end in (spot.start, spot.end) if end is not None]
                if all(end in self.shelves or self.stock.wired(end) for end in ends):
                    both = [Literal(end, (WIRED,), (True,)) for end in ends if end in self.shelves]
                    yield frozenset([Literal(position, (KIND,), (None,)), *both])

    def _conditions(self, unit: str, cases: list[Case]) -> dict[Condition, None]:
        if unit not in self._soft:
            self._soft[unit] = dict.fromkeys(self.condition(case) for case in cases)
        return self._soft[unit]

    def condition(self, case: Case) -> Condition:
        """The condition over the open shelves that what a case rests on is as it was."""
        everywhere = dict.fromkeys(self.shelves, frozenset({CHANGED}))
        return frozenset(
            _literal(position, case.picked.get(position) or self.shelves[position][0], names)
            for position, names in (everywhere if case.needs is None else case.needs).items()
            if position in self.shelves
        )

    def _traits(self, position: str) -> set[Name]:
        """The attributes of the part at a position that have mattered so far."""
        cases = [*self.conflicts, *(case for _, cases in self._costs.values() for case in cases)]
        return {name for case in cases if case.needs is not None for name in case.needs.get(position, ())}

    def _words(self, position: str, option: Option) -> set[str]:
        """Those of them that are words: shapes, standards, fluids."""
        names = {name for name in self._traits(position) if isinstance(name, str)}
        return {name for name in names if _is_word(getattr(option.part, name, None))}


def _is_word(value: object) -> bool:
    return isinstance(value, (str, bool)) or (isinstance(value, tuple) and all(isinstance(x, str) for x in value))


def _literal(position: str, option: Option, names: Collection[Name]) -> Literal:
    trait = (KIND, CHANGED) if names == {CHANGED} else (KIND, *sorted(names, key=str))
    return Literal(position, trait, option.value(position, trait))
