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
    return not Master[C]().problem(domains, [CostCut(None, tuple(cubes))]).feasible()


class Master(Generic[C]):
    """Solves the problems of one search, which differ in a few cuts: each candidate and each cube is read once."""

    def __init__(self) -> None:
        self._slots: dict[str, _Slot[C]] = {}
        self._numbers: dict[Literal, int] = {}
        self._literals: list[Literal] = []
        self._cubes: dict[Cube, tuple[int, ...]] = {}

    def cheapest(self, domains: Domains[C], cuts: Iterable[CostCut]) -> Assignment[C] | None:
        """See the function of this name."""
        return self.problem(domains, cuts).solve()

    def problem(self, domains: Domains[C], cuts: Iterable[CostCut]) -> _Problem[C]:
        """The choice among these candidates with these cuts."""
        bodies = [_Bodies(cut.cost, [self._read(cube) for cube in cut.cubes]) for cut in cuts]
        asked: dict[str, dict[int, Literal]] = {slot: {} for slot in domains}
        for number in sorted({number for cut in bodies for cube in cut.cubes for number in cube}):
            literal = self._literals[number]
            asked[literal.slot][number] = literal
        return _Problem({slot: self._slot(slot, domains[slot]).seen(asked[slot]) for slot in domains}, bodies)

    def _slot(self, slot: str, candidates: Sequence[C]) -> _Slot[C]:
        found = self._slots.get(slot)
        if found is None:
            found = self._slots[slot] = _Slot(slot, candidates)
        # Asked for some candidates of a slot only, it does not forget what it knows of all.
        return found if found.candidates is candidates else _Slot(slot, candidates)

    def _read(self, cube: Cube) -> tuple[int, ...]:
        """The numbers of its literals: to look up a cube is far quicker than to look up each of them."""
        found = self._cubes.get(cube)
        if found is None:
            found = self._cubes[cube] = tuple(self._number(literal) for literal in cube)
        return found

    def _number(self, literal: Literal) -> int:
        number = self._numbers.setdefault(literal, len(self._literals))
        if number == len(self._literals):
            self._literals.append(literal)
        return number


class _Bodies(NamedTuple):
    """A cost cut whose cubes are told by the numbers of their literals."""

    cost: int | None
    cubes: list[tuple[int, ...]]


class _Seen(NamedTuple, Generic[C]):
    """The classes of a slot's candidates, each with the bits that it meets, and the bits of the literals' numbers."""

    worth: dict[int, C]
    bits: dict[int, int]


class _Slot(Generic[C]):
    """Which literals each candidate of a slot meets, as the bits of a number."""

    def __init__(self, slot: str, candidates: Sequence[C]) -> None:
        self.slot, self.candidates = slot, candidates
        self._met = [0] * len(candidates)
        self._showing: dict[tuple[Feature, ...], dict[Hashable, list[int]]] = {}
        self._bits: dict[int, int] = {}

    def seen(self, asked: Mapping[int, Literal]) -> _Seen[C]:
        """What there is to choose from if only these literals count. Each is looked at once."""
        bits = {number: self._bits.get(number) or self._look(number, literal) for number, literal in asked.items()}
        return _Seen(self._undominated(sum(bits.values())), bits)

    def _look(self, number: int, literal: Literal) -> int:
        bit = self._bits[number] = 1 << len(self._bits)
        for place in self._that_show(literal.features).get(literal.values, ()):
            self._met[place] |= bit
        return bit

    def _that_show(self, features: tuple[Feature, ...]) -> dict[Hashable, list[int]]:
        """The places of the candidates by what they show."""
        found = self._showing.get(features)
        if found is None:
            found = self._showing[features] = {}
            for place, candidate in enumerate(self.candidates):
                found.setdefault(candidate.values(self.slot, features), []).append(place)
        return found

    def _undominated(self, mask: int) -> dict[int, C]:
        """The cheapest candidates first, without those that meet all the literals which one that is no dearer meets.

        Each with the bits of the literals that it meets, of those in the mask.
        """
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
    def __init__(self, slots: Mapping[str, _Seen[C]], cuts: Iterable[_Bodies]) -> None:
        self.wcnf = WCNF()
        self.hard: list[list[int]] = self.wcnf.hard  # its own way of adding a clause looks at every literal
        self.variables = 0
        self.base = 0
        self.literals: dict[int, int] = {}
        self.classes: dict[str, list[tuple[int, C]]] = {}
        for slot, (worth, bits) in slots.items():
            variables = {self._new(): met for met in worth}
            self.classes[slot] = classes = list(zip(variables, worth.values(), strict=True))
            self.hard.append([*variables])
            self._price(classes)
            for number, bit in bits.items():
                self._show(number, [variable for variable, met in variables.items() if met & bit], len(classes))
        together: dict[frozenset[frozenset[int]], int] = {}
        for cut in cuts:
            clauses = self._clauses(cut)
            if cut.cost is None:
                self.hard += map(list, clauses)
            elif clauses:
                together[clauses] = together.get(clauses, 0) + cut.cost
        for clauses, cost in together.items():
            self._pay(clauses, cost)
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

    def _show(self, number: int, variables: list[int], classes: int) -> None:
        """A variable that is true where a literal holds; `_ALWAYS` where it always does, no entry where it never does.

        `variables` are those of the classes that show it.
        """
        if len(variables) == classes:
            self.literals[number] = _ALWAYS
        elif variables:
            self.literals[number] = holds = variables[0] if len(variables) == 1 else self._new()
            self.hard += [[-variable, holds] for variable in variables if variable != holds]

    def _clauses(self, cut: _Bodies) -> frozenset[frozenset[int]]:
        """What forbids each of its cubes. None for those that no candidate shows."""
        of = self.literals.get
        shown = (variables for cube in cut.cubes if None not in (variables := [*map(of, cube)]))
        return frozenset(frozenset(-variable for variable in variables if variable) for variables in shown)

    def _pay(self, clauses: frozenset[frozenset[int]], cost: int) -> None:
        """What is to be paid unless all of these hold: once for all cuts that say the same."""
        if not all(clauses):
            self.base += cost
        elif len(clauses) == 1 and len(clause := [*min(clauses)]) == 1:
            self.wcnf.append(clause, weight=cost)
        else:
            paid = self._new()
            self.wcnf.append([-paid], weight=cost)
            self.hard += [[*clause, paid] for clause in clauses]

    def feasible(self) -> bool:
        """Is there an assignment at all?"""
        if not all(self.hard):
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
        if not all(self.hard):
            return None
        if not self.wcnf.soft:
            with Solver("g4", bootstrap_with=self.hard) as plain:
                return (plain.get_model() or [], 0) if plain.solve() else None
        # Of its solvers and ways to split up the weights these are the quickest for our problems (tests/benchmarks).
        with RC2Stratified(self.wcnf, solver="cd15", adapt=True, blo="cluster", minz=True) as solver:
            solver.oracle.solver.use_timer = False  # to ask for the time takes longer than most of its steps
            if not solver.oracle.solve():  # RC2 wants a problem that has an answer
                return None
            return solver.compute(), solver.cost
