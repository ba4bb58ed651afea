"""The cheapest choice that breaks no condition known so far: a small weighted MaxSAT problem.

It knows nothing of bicycles. Each position takes one of its options; a charge is paid once if one of its
conditions holds, and a charge without a cost must not be paid at all. Since conditions only ever make a choice dearer
or rule it out, an option that meets no more of them than a dearer one makes that one needless. Solved by RC2 of
PySAT (Ignatiev, Morgado, Marques-Silva: RC2, an efficient MaxSAT solver, JSAT 11, 2019).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import NamedTuple

from pysat.examples.rc2 import RC2Stratified
from pysat.formula import WCNF
from pysat.solvers import Solver

from buildcheck.candidates.features import Condition, Literal, Option, Trait


class Charge(NamedTuple):
    """What is paid once where one of the conditions holds; with `cost` None none of them may hold."""

    cost: int | None
    conditions: tuple[Condition, ...]


class Choice(NamedTuple):
    """The option of each position, and what they cost with the charges that they bring."""

    cost: int
    options: dict[str, Option]


def cheapest(shelves: Mapping[str, Sequence[Option]], charges: Iterable[Charge]) -> Choice | None:
    """The cheapest choice, or None where there is none. Of equal ones the first in the order of the options."""
    return _Problem(shelves, list(charges)).solve()


def excluded_by(shelves: Mapping[str, Sequence[Option]], conditions: Sequence[Condition]) -> bool:
    """Do these conditions leave no choice at all?"""
    return cheapest(shelves, [Charge(None, tuple(conditions))]) is None


def _worth_a_look(
    position: str, options: Iterable[Option], asked: Mapping[Trait, Mapping[Hashable, Literal]]
) -> list[Option]:
    """The cheapest options first, without those that meet all the literals which one that is no dearer meets."""
    every = (literal for row in asked.values() for literal in row.values())
    bits = {literal: 1 << number for number, literal in enumerate(every)}
    best: dict[int, Option] = {}
    for option in options:
        met = 0
        for trait, values in asked.items():
            literal = values.get(option.value(position, trait))
            met |= 0 if literal is None else bits[literal]
        if met not in best or option.cost < best[met].cost:
            best[met] = option
    kept: dict[int, Option] = {}
    for met, option in sorted(best.items(), key=lambda row: row[1].cost):
        if not any(less & met == less for less in kept):
            kept[met] = option
    return list(kept.values())


class _Problem:
    def __init__(self, shelves: Mapping[str, Sequence[Option]], charges: list[Charge]) -> None:
        self.wcnf = WCNF()
        self.variables = 0
        self.base = 0
        self.literals: dict[Literal, int | None] = {}
        asked: dict[str, dict[Trait, dict[Hashable, Literal]]] = {position: {} for position in shelves}
        for charge in charges:
            for condition in charge.conditions:
                for literal in condition:
                    asked[literal.position].setdefault(literal.trait, {})[literal.value] = literal
        self.classes: dict[str, list[tuple[int, Option]]] = {}
        for position, options in shelves.items():
            worth = _worth_a_look(position, options, asked[position])
            self.classes[position] = classes = [(self._new(), option) for option in worth]
            self.wcnf.append([variable for variable, _ in classes])
            self._price(classes)
            for literals in asked[position].values():
                for literal in literals.values():
                    self._show(literal, classes)
        for charge in charges:
            self._charge(charge)

    def _new(self) -> int:
        self.variables += 1
        return self.variables

    def _price(self, classes: list[tuple[int, Option]]) -> None:
        """The steps of the prices: a dearer class pays those of all cheaper ones, too."""
        step, paid = 0, classes[0][1].cost
        self.base += paid
        for variable, option in classes:
            if option.cost > paid:
                before, step = step, self._new()
                if before:
                    self.wcnf.append([-step, before])
                self.wcnf.append([-step], weight=option.cost - paid)
                paid = option.cost
            if step:
                self.wcnf.append([-variable, step])

    def _show(self, literal: Literal, classes: list[tuple[int, Option]]) -> None:
        """A variable that is true where a literal holds; none where it always does, no entry where it never does."""
        position, trait, value = literal
        variables = [variable for variable, option in classes if option.value(position, trait) == value]
        if len(variables) == len(classes):
            self.literals[literal] = None
        elif variables:
            self.literals[literal] = holds = variables[0] if len(variables) == 1 else self._new()
            self.wcnf.extend([[-variable, holds] for variable in variables if variable != holds])

    def _charge(self, charge: Charge) -> None:
        paid = None
        for condition in charge.conditions:
            if any(literal not in self.literals for literal in condition):
                continue  # nothing on the shelf shows that
            clause = [-variable for literal in condition if (variable := self.literals[literal]) is not None]
            if charge.cost is None:
                self.wcnf.append(clause)
                continue
            if paid is None:
                paid = self._new()
                self.wcnf.append([-paid], weight=charge.cost)
            self.wcnf.append([*clause, paid])

    def solve(self) -> Choice | None:
        found = self._optimum()
        if found is None:
            return None
        model, cost = found
        true = {variable for variable in model if variable > 0}
        options = {
            position: next(option for variable, option in classes if variable in true)
            for position, classes in self.classes.items()
        }
        return Choice(self.base + cost, options)

    def _optimum(self) -> tuple[Sequence[int], int] | None:
        """The variables of the cheapest model and its cost; None where there is no model."""
        if any(not clause for clause in self.wcnf.hard):
            return None
        with Solver("g4", bootstrap_with=self.wcnf.hard) as plain:  # RC2 wants a problem that has an answer
            if not plain.solve():
                return None
            if not self.wcnf.soft:
                return plain.get_model() or [], 0
        # Of its solvers and ways to split up the weights these are the quickest for our problems (tests/benchmarks).
        with RC2Stratified(self.wcnf, solver="cd15", adapt=True, blo="cluster", minz=True) as solver:
            return solver.compute(), solver.cost
