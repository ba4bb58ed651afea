"""The master problem: the cheapest assignment that meets no nogood known so far, as weighted MaxSAT.

Each slot takes one of its candidates; a cost cut is paid once if one of its cubes holds. Since cubes only ever make an
assignment dearer or rule it out, a candidate that meets no more of them than a dearer one makes that one needless.
Solved by RC2 of PySAT (Ignatiev, Morgado, Marques-Silva: RC2, an efficient MaxSAT solver, JSAT 11, 2019).
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Mapping, Sequence
from typing import Generic, NamedTuple

from pysat.examples.rc2 import RC2Stratified
from pysat.formula import WCNF
from pysat.solvers import Solver

from buildcheck.remedies.terms import C, Cube, Domains, Feature, Literal


class CostCut(NamedTuple):
    """What is paid once where one of the cubes holds; with `cost` None none of them may hold."""

    cost: int | None
    cubes: tuple[Cube, ...]


class Assignment(NamedTuple, Generic[C]):
    """The candidate of each slot, and what they cost with the cuts that they meet."""

    cost: int
    candidates: dict[str, C]


def cheapest(domains: Domains[C], cuts: Iterable[CostCut]) -> Assignment[C] | None:
    """The cheapest choice, or None where there is none. Of equal ones the first in the order of the candidates."""
    return _Problem(domains, list(cuts)).solve()


def excluded_by(domains: Domains[C], cubes: Sequence[Cube]) -> bool:
    """Do these cubes leave no choice at all?"""
    return not _Problem(domains, [CostCut(None, tuple(cubes))]).feasible()


def _undominated(
    slot: str, candidates: Iterable[C], asked: Mapping[tuple[Feature, ...], Mapping[Hashable, Literal]]
) -> list[C]:
    """The cheapest candidates first, without those that meet all the literals which one that is no dearer meets."""
    if not asked:
        return [min(candidates, key=lambda candidate: candidate.cost)]
    every = (literal for row in asked.values() for literal in row.values())
    bits = {literal: 1 << number for number, literal in enumerate(every)}
    best: dict[int, C] = {}
    for candidate in candidates:
        met = 0
        for features, values in asked.items():
            literal = values.get(candidate.values(slot, features))
            met |= 0 if literal is None else bits[literal]
        if met not in best or candidate.cost < best[met].cost:
            best[met] = candidate
    kept: dict[int, C] = {}
    for met, candidate in sorted(best.items(), key=lambda row: row[1].cost):
        if not any(less & met == less for less in kept):
            kept[met] = candidate
    return list(kept.values())


class _Problem(Generic[C]):
    def __init__(self, domains: Domains[C], cuts: list[CostCut]) -> None:
        self.wcnf = WCNF()
        self.hard: list[list[int]] = self.wcnf.hard  # its own way of adding a clause looks at every literal
        self.variables = 0
        self.base = 0
        self.literals: dict[Literal, int | None] = {}
        asked: dict[str, dict[tuple[Feature, ...], dict[Hashable, Literal]]] = {slot: {} for slot in domains}
        for cut in cuts:
            for cube in cut.cubes:
                for literal in cube:
                    asked[literal.slot].setdefault(literal.features, {})[literal.values] = literal
        self.classes: dict[str, list[tuple[int, C]]] = {}
        for slot, candidates in domains.items():
            worth = _undominated(slot, candidates, asked[slot])
            self.classes[slot] = classes = [(self._new(), candidate) for candidate in worth]
            self.hard.append([variable for variable, _ in classes])
            self._price(classes)
            for features, literals in asked[slot].items():
                shown: dict[Hashable, list[int]] = {}
                for variable, candidate in classes:
                    shown.setdefault(candidate.values(slot, features), []).append(variable)
                for value, literal in literals.items():
                    self._show(literal, shown.get(value, []), len(classes))
        for cut in cuts:
            self._cut(cut)
        self.wcnf.nv = self.variables

    def _new(self) -> int:
        self.variables += 1
        return self.variables

    def _price(self, classes: list[tuple[int, C]]) -> None:
        """The steps of the prices: a dearer class pays those of all cheaper ones, too."""
        step, paid = 0, classes[0][1].cost
        self.base += paid
        for variable, candidate in classes:
            if candidate.cost > paid:
                before, step = step, self._new()
                if before:
                    self.hard.append([-step, before])
                self.wcnf.append([-step], weight=candidate.cost - paid)
                paid = candidate.cost
            if step:
                self.hard.append([-variable, step])

    def _show(self, literal: Literal, variables: list[int], classes: int) -> None:
        """A variable that is true where a literal holds; none where it always does, no entry where it never does.

        `variables` are those of the classes that show it.
        """
        if len(variables) == classes:
            self.literals[literal] = None
        elif variables:
            self.literals[literal] = holds = variables[0] if len(variables) == 1 else self._new()
            self.hard += [[-variable, holds] for variable in variables if variable != holds]

    def _cut(self, cut: CostCut) -> None:
        paid = None
        for cube in cut.cubes:
            if any(literal not in self.literals for literal in cube):
                continue  # no candidate shows that
            clause = [-variable for literal in cube if (variable := self.literals[literal]) is not None]
            if cut.cost is None:
                self.hard.append(clause)
                continue
            if paid is None:
                paid = self._new()
                self.wcnf.append([-paid], weight=cut.cost)
            self.hard.append([*clause, paid])

    def feasible(self) -> bool:
        """Is there an assignment at all?"""
        if any(not clause for clause in self.hard):
            return False
        with Solver("g4", bootstrap_with=self.hard) as plain:
            return bool(plain.solve())

    def solve(self) -> Assignment[C] | None:
        """The cheapest assignment, None where there is none."""
        found = self._optimum()
        if found is None:
            return None
        model, cost = found
        true = {variable for variable in model if variable > 0}
        candidates = {
            slot: next(candidate for variable, candidate in classes if variable in true)
            for slot, classes in self.classes.items()
        }
        return Assignment(self.base + cost, candidates)

    def _optimum(self) -> tuple[Sequence[int], int] | None:
        """The variables of the cheapest model and its cost; None where there is no model."""
        if not self.feasible():  # RC2 wants a problem that has an answer
            return None
        if not self.wcnf.soft:
            with Solver("g4", bootstrap_with=self.hard) as plain:
                plain.solve()
                return plain.get_model() or [], 0
        # Of its solvers and ways to split up the weights these are the quickest for our problems (tests/benchmarks).
        with RC2Stratified(self.wcnf, solver="cd15", adapt=True, blo="cluster", minz=True) as solver:
            return solver.compute(), solver.cost
