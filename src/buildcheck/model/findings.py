"""Findings and their evidence."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated

from pydantic import Field

from buildcheck.model.levels import Level, Origin, Since


@dataclass(frozen=True, slots=True)
class Evidence:
    """One fact that a finding rests on; `value` is None where the fact is missing."""

    position: str
    attribute: str
    value: str | None
    unit: str
    origin: Origin
    where: str

    @property
    def missing(self) -> bool:
        """True where nobody knows the value."""
        return self.value is None

    @property
    def open(self) -> bool:
        """True where the value is missing or only an interval."""
        return self.value is None or ".." in self.value


@dataclass(frozen=True, slots=True)
class Cause:
    """A node of the tree that tells why: a sentence and the causes below it.

    A sentence that tells one fact has the fact's origin and where it is written; one that was worked out has neither.
    """

    text: str
    because: tuple[Cause, ...] = ()
    origin: Origin | None = None
    where: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """One fact that the vetting established. `positions[0]` is the place to look at first.

    `undecided` is the part of the evidence that leaves the matter open. `turns_on` names positions of which it matters
    whether they are filled and whether their part is another one than before the change. `threads` says that it is
    there wherever the line at `positions[0]` is threaded anew, `ways_help` that it is there with fewer ways for lines,
    too. A report shows none of these.
    """

    name: str
    level: Level
    message: str
    positions: tuple[str, ...]
    evidence: tuple[Evidence, ...] = ()
    because: tuple[Cause, ...] = ()
    source: str = ""
    since: Since = Since.CHANGE
    undecided: tuple[Evidence, ...] = ()
    turns_on: Annotated[tuple[str, ...], Field(exclude=True)] = ()
    threads: Annotated[bool, Field(exclude=True)] = False
    ways_help: Annotated[bool, Field(exclude=True)] = False

    @property
    def key(self) -> tuple[str, str]:
        """The fault and where to look first: with the same one there, the fault is not gone."""
        return self.name, self.positions[0] if self.positions else ""

    @property
    def identity(self) -> tuple[str, tuple[str, ...]]:
        """What makes two findings the same one, before and after a change: the fault and all that it is about."""
        return self.name, self.positions

    def sort_key(self) -> tuple[int, int, str, tuple[str, ...]]:
        """Most serious first, then what the change brings, then by name and place."""
        return self.level.rank, 0 if self.since is Since.CHANGE else 1, self.name, self.positions
