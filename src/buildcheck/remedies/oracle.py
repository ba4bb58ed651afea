"""What the search asks about assignments. It learns everything else from the answers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Generic, NamedTuple, Protocol

from buildcheck.remedies.terms import C, Cube, Domains, Explanation, Feature, Features


class Conflict(Protocol):
    """Why an assignment does not do, or needs an operation. `whole` is enough for it, and may be more than needed."""

    @property
    def whole(self) -> Explanation:
        """What it rests on."""


class OperationCost(NamedTuple):
    """One operation that an assignment needs, what it costs, and what is enough to need it.

    `needs` None: it depends on which slots are changed, whichever they are. Where a `cause` is given, `needs` is its
    whole explanation, which can be minimised.
    """

    name: str
    cost: int
    needs: Explanation | None
    cause: Conflict | None = None


class Assessment(NamedTuple, Generic[C]):
    """An assignment that the oracle assessed: what is changed, what is left in conflict, what it costs in all."""

    picked: Mapping[str, C]
    conflicts: tuple[Conflict, ...]
    cost: int


class Oracle(Protocol[C]):
    """See the module. An assignment is told by its changed slots."""

    @property
    def sort(self) -> Feature:
        """The feature that every literal shows: candidates that differ in it are never alike."""

    def fixed(self, slot: str) -> bool:
        """Is a slot never to be changed?"""

    def domain(self, slot: str) -> Sequence[C]:
        """What a slot may hold, what is there first."""

    def incompatible(self, domains: Domains[C]) -> Iterable[tuple[Cube, str]]:
        """What cannot go together of the open domains, known before anything is assessed; each with its name."""

    def assess(self, picked: Mapping[str, C]) -> tuple[Sequence[Conflict], Sequence[OperationCost]]:
        """The conflicts of an assignment, and the operations that it needs."""

    def minimise(self, cause: Conflict, domains: Domains[C]) -> Explanation:
        """What is enough for a conflict, cut down to what it cannot do without, for the open domains."""

    def of_kind(self, slot: str, candidate: C, features: Features) -> Features:
        """Those of the features in which candidates of another kind differ, not only in size."""
