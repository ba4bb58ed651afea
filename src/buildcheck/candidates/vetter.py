"""What the search needs of the vetting, the catalogue and the work: one protocol, kept by the use case."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, NamedTuple, Protocol

from buildcheck.fit.context import Context
from buildcheck.library.alike import Group
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.terms import Terms

if TYPE_CHECKING:  # a vetting without a search needs neither
    from buildcheck.remedies import Stop
    from buildcheck.work.activities import Activity


class Vetted(NamedTuple):
    """One vetting: the bike after a change, and what was found."""

    context: Context
    findings: tuple[Finding, ...]

    @property
    def blocking(self) -> tuple[Finding, ...]:
        """The findings that block the change."""
        return tuple(finding for finding in self.findings if finding.level is Level.BLOCKS and finding.counts)


class Vetter(Protocol):
    """See the module."""

    @property
    def terms(self) -> Terms:
        """The shop's prices, its stock, and what it leaves out."""

    @property
    def known_before(self) -> frozenset[object]:
        """The identities of the findings before the change."""

    @property
    def settled_at_work(self) -> frozenset[str]:
        """The names of the findings for whose cautions no other part would be better."""

    @property
    def stop(self) -> Stop | None:
        """What may stop the search."""

    def vet(self, change: Change) -> Vetted:
        """The bike after a change with all that is found."""

    def context(self, change: Change) -> Context:
        """The bike after a change, of which nothing is vetted yet."""

    def found_again(self, context: Context, finding: Finding) -> Finding | None:
        """The same finding on another bike, if it is there and as serious; without its causes."""

    def extra_work(self, vetted: Vetted) -> Sequence[Activity]:
        """The activities beyond the bare swap."""

    def groups(self, kinds: Iterable[str]) -> Sequence[Group]:
        """The catalogue's groups of parts that no rule can tell apart."""

    def part(self, part_id: str) -> Part:
        """A record of the catalogue."""

    def invent(self, part: Part) -> None:
        """Make a part known that is in no catalogue."""
