"""The master problem: the cheapest assignment that meets no nogood known so far, as weighted MaxSAT.

Each slot takes one of its candidates; a cost cut is paid once if one of its cubes holds. Since cubes only ever make an
assignment dearer or rule it out, a candidate that meets no more of them than a dearer one makes that one needless.
Solved by RC2 of PySAT (Ignatiev, Morgado, Marques-Silva: RC2, an efficient MaxSAT solver, JSAT 11, 2019).
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from typing import Generic, NamedTuple

from pysat.examples.rc2 import RC2Stratified
from pysat.formula import WCNF
from pysat.solvers import Solver

from buildcheck.remedies.terms import C, Cube, Domains, Feature, Literal

# Stands for the variable of what always holds: SAT solvers count variables from 1.
_ALWAYS = 0


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
    return Master[C]().cheapest(domains, cuts)


def excluded_by(domains: Domains[C], cubes: Sequence[Cube]) -> bool:
    """Do these cubes leave no choice at all?"""
    return not _Problem(domains, [CostCut(None, tuple(cubes))], _Slot).feasible()


class Master(Generic[C]):
    """Solves the problems of one search, which differ in a few cuts: what candidates show is looked at once."""

    def __init__(self) -> None:
        self._slots: dict[str, _Slot[C]] = {}

    def cheapest(self, domains: Domains[C], cuts: Iterable[CostCut]) -> Assignment[C] | None:
        """See the function of this name."""
        return _Problem(domains, list(cuts), self._slot).solve()

    def _slot(self, slot: str, candidates: Sequence[C]) -> _Slot[C]:
        found = self._slots.get(slot)
        if found is None:
            found = self._slots[slot] = _Slot(slot, candidates)
        # Asked for some candidates of a slot only, it does not forget what it knows of all.
        return found if found.candidates is candidates else _Slot(slot, candidates)


# The literals that cuts ask of one slot, by their features and values.
_Asked = Mapping[tuple[Feature, ...], Mapping[Hashable, Literal]]


class _Slot(Generic[C]):
    """Which literals each candidate of a slot meets, as the bits of a number."""

    def __init__(self, slot: str, candidates: Sequence[C]) -> None:
        self.slot, self.candidates = slot, candidates
        self._met = [0] * len(candidates)
        self._showing: dict[tuple[Feature, ...], dict[Hashable, list[int]]] = {}
        self._bits: dict[tuple[Feature, ...], dict[Hashable, int]] = {}
        self._next = 1

    def bits(self, asked: _Asked) -> dict[Literal, int]:
        """The bit of each literal. Candidates are looked at once for features that were not asked before."""
        for features, literals in asked.items():
            known = self._bits.setdefault(features, {})
            for value in [each for each in literals if each not in known]:
                bit = known[value] = self._new_bit()
                for number in self._that_show(features).get(value, ()):
                    self._met[number] |= bit
        return {
            literal: self._bits[features][value]
            for features, literals in asked.items() for value, literal in literals.items()
        }  # fmt: skip

    def _that_show(self, features: tuple[Feature, ...]) -> dict[Hashable, list[int]]:
        """The numbers of the candidates by what they show."""
        found = self._showing.get(features)
        if found is None:
            found = self._showing[features] = {}
            for number, candidate in enumerate(self.candidates):
                found.setdefault(candidate.values(self.slot, features), []).append(number)
        return found

    def _new_bit(self) -> int:
        bit, self._next = self._next, self._next << 1
        return bit

    def undominated(self, asked: Iterable[int]) -> dict[int, C]:
        """The cheapest candidates first, without those that meet all the literals which one that is no dearer meets.

        Each with the bits of the literals that it meets, of those that are asked.
        """
        mask = sum(asked)
        best: dict[int, C] = {}
        for met, candidate in zip(self._met, self.candidates, strict=True):
            met &= mask
            if met not in best or candidate.cost < best[met].cost:
                best[met] = candidate
        kept: dict[int, C] = {}
        for met, candidate in sorted(best.items(), key=lambda row: row[1].cost):
            if not any(less & met == less for less in kept):
                kept[met] = candidate
        return kept


class _Problem(Generic[C]):
    def __init__(
        self, domains: Domains[C], cuts: list[CostCut], slot_of: Callable[[str, Sequence[C]], _Slot[C]]
    ) -> None:
        self.wcnf = WCNF()
        self.hard: list[list[int]] = self.wcnf.hard  # its own way of adding a clause looks at every literal
        self.variables = 0
        self.base = 0
        self.literals: dict[Literal, int] = {}
        asked: dict[str, dict[tuple[Feature, ...], dict[Hashable, Literal]]] = {slot: {} for slot in domains}
        for cut in cuts:
            for cube in cut.cubes:
                for literal in cube:
                    asked[literal.slot].setdefault(literal.features, {})[literal.values] = literal
        self.classes: dict[str, list[tuple[int, C]]] = {}
        for slot, candidates in domains.items():
            known = slot_of(slot, candidates)
            bits = known.bits(asked[slot])
            worth = {self._new(): row for row in known.undominated(bits.values()).items()}
            self.classes[slot] = classes = [(variable, candidate) for variable, (_, candidate) in worth.items()]
            self.hard.append([variable for variable, _ in classes])
            self._price(classes)
            for literal, bit in bits.items():
                self._show(literal, [variable for variable, (met, _) in worth.items() if met & bit], len(classes))
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
        """A variable that is true where a literal holds; `_ALWAYS` where it always does, no entry where it never does.

        `variables` are those of the classes that show it.
        """
        if len(variables) == classes:
            self.literals[literal] = _ALWAYS
        elif variables:
            self.literals[literal] = holds = variables[0] if len(variables) == 1 else self._new()
            self.hard += [[-variable, holds] for variable in variables if variable != holds]

    def _cut(self, cut: CostCut) -> None:
        paid = None
        for cube in cut.cubes:
            variables = [self.literals.get(literal) for literal in cube]
            if None in variables:
                continue  # no candidate shows that
            clause = [-variable for variable in variables if variable]
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
