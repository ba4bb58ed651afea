"""Findings as data: what was found, where, by which values, on which evidence. Reports put them into words."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import Field

from buildcheck.model.levels import Level, Origin, Since
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import Said


@dataclass(frozen=True, slots=True)
class Evidence:
    """One fact that a finding rests on; `value` is None where the fact is missing. `fact` is the value itself.

    What stands `behind` another fact is what that one follows from, since the bike is in use: of what is fitted today.
    """

    position: str
    attribute: str
    value: str | None
    unit: str
    origin: Origin
    where: str
    fact: Annotated[Any, Field(exclude=True)] = None
    behind: bool = False

    @property
    def missing(self) -> bool:
        """True where nobody knows the value."""
        return self.value is None

    @property
    def open(self) -> bool:
        """True where the value is missing or only an interval."""
        return self.value is None or (isinstance(self.fact, Interval) and self.fact.low < self.fact.high)


@dataclass(frozen=True, slots=True)
class Cause:
    """A node of the tree that tells why: a sentence and the causes below it.

    A sentence that tells one fact has the fact's origin and where it is written; one that was worked out has neither.
    """

    text: Said
    because: tuple[Cause, ...] = ()
    origin: Origin | None = None
    where: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One fact that the vetting established. `positions[0]` is the place to look at first.

    `undecided` is the part of the evidence that leaves the matter open. `turns_on` names positions of which it was
    asked whether they are filled, or whether their part is another one than before the change; `threaded` lines of
    which it was asked whether they are threaded anew. Both are recorded while the rule reads; no report shows them.
    What is about the `whole_bike` is touched by every change.

    Where it does not count (`counts`), it was there before a change that leaves it alone: what is not known; and on a
    bike in use what blocks and puts nobody in danger. `endangers` says of what blocks and was there before on a bike in
    use that it is a danger to the rider: it counts, and is told first.
    """

    name: str
    level: Level
    message: Said
    positions: tuple[str, ...]
    evidence: tuple[Evidence, ...] = ()
    because: tuple[Cause, ...] = ()
    source: str = ""
    since: Since = Since.CHANGE
    undecided: tuple[Evidence, ...] = ()
    turns_on: Annotated[tuple[str, ...], Field(exclude=True)] = ()
    threaded: Annotated[tuple[str, ...], Field(exclude=True)] = ()
    whole_bike: Annotated[bool, Field(exclude=True)] = False
    counts: bool = True
    endangers: bool = False

    @property
    def key(self) -> tuple[str, str]:
        """The fault and where to look first: with the same one there, the fault is not gone."""
        return self.name, self.positions[0] if self.positions else ""

    @property
    def identity(self) -> tuple[str, tuple[str, ...]]:
        """What makes two findings the same one, before and after a change: the fault and all that it is about."""
        return self.name, self.positions

    def sort_key(self) -> tuple[int, int, str, tuple[str, ...]]:
        """Most serious first, of these what endangers the rider, then what the change brings; by name and place."""
        later = 0 if self.endangers else 1 if self.since is Since.CHANGE else 2 if self.counts else 3
        return self.level.rank, later, self.name, self.positions
