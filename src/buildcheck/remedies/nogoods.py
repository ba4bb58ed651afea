"""What the search has learned so far: open domains, nogoods with their derivation, when which operation costs.

Kept as it was observed (the features that something rests on, and the candidates at the time), and put into cubes over
the open domains when these are asked for: a domain that opens later counts as it was then, as it is.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Generic, NamedTuple

from buildcheck.remedies.master import CostCut
from buildcheck.remedies.oracle import Conflict, OperationCost, Oracle
from buildcheck.remedies.terms import CHANGED, TAKES, C, Cube, Explanation, Feature, Features, Literal, taken_away

_NOTHING: Features = frozenset()


class Given(NamedTuple):
    """Known to be incompatible before anything was assessed, by the name of what says so."""

    name: str


class Seen(NamedTuple):
    """Taught by a conflict of an assignment with these changed slots."""

    conflict: Conflict
    picked: Mapping[str, object]


class RemedyFound(NamedTuple):
    """Excluded beside a remedy that was found, so that the next one is another."""

    slots: frozenset[str]


class Follows(NamedTuple):
    """Resolved from other nogoods."""

    parents: tuple[Nogood, ...]


Derivation = Given | Seen | RemedyFound | Follows


class Nogood(NamedTuple):
    """What no remedy may meet, and why. One without a body rules out everything."""

    body: Cube
    derivation: Derivation


class Observation(NamedTuple, Generic[C]):
    """Something that held with these candidates, and what it rests on; `conflict` is what taught it, if one did."""

    needs: Explanation | None
    picked: Mapping[str, C]
    conflict: Conflict | None = None


class NogoodStore(Generic[C]):
    """See the module."""

    def __init__(self, oracle: Oracle[C]) -> None:
        self.oracle = oracle
        self.domains: dict[str, list[C]] = {}
        self.conflicts: list[Observation[C]] = []
        self.costs: dict[str, tuple[int, list[Observation[C]]]] = {}
        self._found: list[Nogood] = []
        self._known: set[Cube] = set()
        self._bare: set[str] = set()  # slots with nothing to choose from
        self._given: list[Nogood] | None = None
        self._seen: list[Nogood] | None = None
        self._cuts: dict[str, dict[Cube, None]] = {}
        self._names: dict[Features, tuple[Feature, ...]] = {}  # in their order

    def open(self, slots: Iterable[str]) -> None:
        """Let these slots be changed."""
        for slot in slots:
            if slot in self.domains or self.settled(slot):
                continue
            domain = list(self.oracle.domain(slot))
            if len(domain) == 1:
                self._bare.add(slot)
                continue
            self.domains[slot] = domain
            self._seen = self._given = None
            self._cuts.clear()

    def learn_from(self, other: NogoodStore[C]) -> None:
        """What another store learned of the same assignments, but for what counts as taken away."""
        self.open(other.domains)
        self._known |= other._known
        self.conflicts = [*other.conflicts]
        self.costs = {name: (cost, [*seen]) for name, (cost, seen) in other.costs.items() if not taken_away(cost)}

    def settled(self, slot: str) -> bool:
        """Can nothing else ever come to a slot?"""
        return slot in self._bare or self.oracle.fixed(slot)

    # ------------------------------------------------------------------ learning

    def is_new(self, needs: Explanation, picked: Mapping[str, C]) -> bool:
        """Was nothing learned yet from something that rests on the same?"""
        cube = self.cube(Observation(needs, picked))
        new = cube not in self._known
        self._known.add(cube)
        return new

    def learn_conflict(self, needs: Explanation, picked: Mapping[str, C], conflict: Conflict) -> None:
        """No remedy may have what is needed for this as it is with these candidates."""
        observation = Observation(needs, picked, conflict)
        self.conflicts.append(observation)
        if self._seen is not None:
            self._seen.append(self.nogood(observation))

    def learn_cost(self, cost: OperationCost, picked: Mapping[str, C]) -> None:
        """This operation is to be paid whenever what it needs is as it is with these candidates."""
        _, observations = self.costs.setdefault(cost.name, (cost.cost, []))
        observation = Observation(cost.needs, picked)
        observations.append(observation)
        self._cubes(cost.name)[self.cube(observation)] = None

    def is_charged(self, operation: str, picked: Mapping[str, C]) -> bool:
        """Is it known that this operation is to be paid with these candidates?"""
        return operation in self.costs and any(self._holds(cube, picked) for cube in self._cubes(operation))

    def exclude(self, body: Cube) -> None:
        """No further remedy may meet this."""
        self._found.append(Nogood(body, RemedyFound(frozenset(literal.slot for literal in body))))

    def exclude_more_than(self, smaller: Mapping[str, C], larger: Mapping[str, C]) -> None:
        """Whoever has the candidates of the smaller set needs none of the others."""
        same = {self._literal(at, each, self._features(at) | {CHANGED, TAKES}) for at, each in smaller.items()}
        for slot in larger.keys() - smaller.keys():
            self.exclude(frozenset({*same, Literal(slot, (CHANGED,), (True,))}))

    def exclude_kind_of(self, picked: Mapping[str, C]) -> None:
        """No other set that changes the same slots to candidates that differ in sizes only, or in nothing."""
        self.exclude(
            frozenset(
                self._literal(at, each, self.oracle.of_kind(at, each, self._features(at)) | {CHANGED})
                for at, each in picked.items()
            )
        )

    def excludes(self, picked: Mapping[str, C]) -> bool:
        """Does any nogood forbid these candidates?"""
        return any(self._holds(nogood.body, picked) for nogood in self.nogoods())

    def _holds(self, cube: Cube, picked: Mapping[str, C]) -> bool:
        return all(
            (picked.get(at) or self.domains[at][0]).values(at, features) == values for at, features, values in cube
        )

    # ------------------------------------------------------------------ what the master problem reads

    def cuts(self) -> list[CostCut]:
        """All that was learned."""
        costs = [CostCut(cost, tuple(self._cubes(name))) for name, (cost, _) in self.costs.items()]
        return [CostCut(None, tuple(nogood.body for nogood in self.nogoods())), *costs]

    def nogoods(self) -> list[Nogood]:
        """What no remedy may meet."""
        if self._given is None:
            self._given = [Nogood(body, Given(name)) for body, name in self.oracle.incompatible(self.domains)]
        if self._seen is None:
            self._seen = [self.nogood(observation) for observation in self.conflicts]
        return [*self._given, *self._seen, *self._found]

    def _cubes(self, operation: str) -> dict[Cube, None]:
        if operation not in self._cuts:
            self._cuts[operation] = dict.fromkeys(self.cube(each) for each in self.costs[operation][1])
        return self._cuts[operation]

    def nogood(self, observation: Observation[C]) -> Nogood:
        """What an observed conflict forbids."""
        assert observation.conflict is not None
        return Nogood(self.cube(observation), Seen(observation.conflict, observation.picked))

    def cube(self, observation: Observation[C]) -> Cube:
        """The cube over the open domains that says: what an observation rests on is as it was."""
        everywhere = dict.fromkeys(self.domains, frozenset({CHANGED}))
        return frozenset(
            self._literal(slot, observation.picked.get(slot) or self.domains[slot][0], features)
            for slot, features in (everywhere if observation.needs is None else observation.needs).items()
            if slot in self.domains
        )

    def _features(self, slot: str) -> Features:
        """The features of a slot that have mattered so far."""
        every = [*self.conflicts, *(each for _, observations in self.costs.values() for each in observations)]
        needs = (each.needs.get(slot, _NOTHING) for each in every if each.needs is not None)
        return _NOTHING.union(*needs)

    def _literal(self, slot: str, candidate: C, features: Features) -> Literal:
        names = self._names.get(features)
        if names is None:
            names = self._names[features] = (self.oracle.sort, *sorted(features, key=str))
        return Literal(slot, names, candidate.values(slot, names))
