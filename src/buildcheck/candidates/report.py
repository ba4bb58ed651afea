"""What clears what blocks, as the report tells it: the cheapest remedies with their proof, or why there is none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import islice
from math import fsum, prod
from typing import NamedTuple

from buildcheck.candidates.costs import PARTS_OF_A_EURO
from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.evidence import rests_on_wiring
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.impossible import why_impossible
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.candidates.vetter import Vetted, Vetter
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.quantities import count
from buildcheck.model.report import Outcome, Rejected, Remedy, RemedyPart, Search
from buildcheck.model.sentences import say
from buildcheck.remedies import Assessment, GaveUpError, RemedySearch
from buildcheck.work.activities import total_minutes

MOST_REMEDIES = 3
MOST_REJECTED = 3
# A new wire has no ends of its own yet, so that a set with one more tells nothing.
NOT_CONSIDERED = "further wires and junctions, beside those in the positions of this bike"
# Some ten seconds of a workshop's computer; the usual swap takes less than fifty.
MOST_VETTINGS = 400


PartAssessment = Assessment[PartCandidate]


class FoundRemedies(NamedTuple):
    """The remedies, what the search did, and the change with the cheapest of them, where there is one."""

    remedies: tuple[Remedy, ...] = ()
    search: Search = Search()
    cheapest: Change | None = None


def find_remedies(
    vetter: Vetter, change: Change, start: Vetted, pinned: frozenset[str], most: int = MOST_VETTINGS
) -> FoundRemedies:
    """The cheapest remedies, each of another kind. `pinned` positions are left alone."""
    if not start.blocking:
        return FoundRemedies()
    oracle = PartsOracle(vetter, change, PartDomains(vetter, change, start.context, pinned))
    return _Telling(oracle, start, RemedySearch(oracle, most, stop=vetter.stop)).found()


class _Telling:
    def __init__(self, oracle: PartsOracle, start: Vetted, search: RemedySearch[PartCandidate]) -> None:
        self.oracle, self.start, self.search = oracle, start, search

    def found(self) -> FoundRemedies:
        remedies: list[PartAssessment] = []
        limit = ""
        try:
            remedies.extend(islice(self.search, MOST_REMEDIES))
        except GaveUpError as error:
            limit = str(error) or f"{self.search.most} sets of parts were vetted"
        if remedies or limit:
            return self._told(remedies, limit)
        told = why_impossible(self.oracle, self.search, self._sets())
        limit = self.search.stop(len(self.search.assessed))  # it may have ended the search for one new part
        return FoundRemedies((), replace(told, limit=limit, unconsidered=self._unconsidered()))

    def _told(self, remedies: list[PartAssessment], limit: str) -> FoundRemedies:
        best = remedies or self._best_so_far()
        told = tuple(self._remedy(assessed, best[:index], bool(remedies)) for index, assessed in enumerate(best))
        gap = (best[0].cost - self.search.bound) / PARTS_OF_A_EURO if best and not remedies else None
        return FoundRemedies(
            told,
            Search(
                outcome=Outcome.CHEAPEST if remedies else Outcome.GAVE_UP,
                sets=self._sets(),
                vetted=len(self.search.assessed),
                lower_bound=_euros(remedies[0].cost if remedies else self.search.bound),
                limit=limit,
                gap=None if gap is None else round(gap, 2),
                unconsidered=self._unconsidered(),
            ),
            self.oracle.change_with(best[0].picked) if best else None,
        )

    def _best_so_far(self) -> list[PartAssessment]:
        """Of the sets that do, the cheapest; that nothing cheaper does is not proven."""
        clear = (assessed for assessed in self.search.assessed.values() if not assessed.conflicts)
        return sorted(clear, key=lambda assessed: assessed.cost)[:1]

    def _blocking(self, assessed: PartAssessment) -> tuple[Finding, ...]:
        return self.oracle.vetted(assessed.picked).blocking

    def _unconsidered(self) -> str:
        """What no set holds although it could clear what blocks."""
        every = (finding for assessed in self.search.assessed.values() for finding in self._blocking(assessed))
        return NOT_CONSIDERED if any(map(rests_on_wiring, every)) else ""

    def _sets(self) -> float:
        return float(prod(len(domain) for domain in self.search.store.domains.values()))

    def _remedy(self, assessed: PartAssessment, before: Sequence[PartAssessment], proven: bool) -> Remedy:
        parts, vetted = self._parts(assessed), self.oracle.vetted(assessed.picked)
        bought = [part.price for part in parts if part.id is not None]
        cost = None if None in bought else round(fsum(price or 0.0 for price in bought), 2)
        activities = self.oracle.vetter.extra_work(vetted)
        old = {finding.key for finding in self.start.findings}
        others = (other for other in self.search.assessed.values() if other.conflicts and other.picked)
        cheaper = [other for other in others if other.cost < assessed.cost]
        nearest = sorted(cheaper, key=lambda other: (len({f.key for f in self._blocking(other)}), other.cost))
        undecided = any(f.level is Level.UNKNOWN for f in vetted.findings)
        return Remedy(
            parts=parts,
            parts_cost=cost,
            extra_minutes=total_minutes(activities),
            total_cost=None if cost is None else _euros(assessed.cost),
            clears=tuple(sorted({finding.name for finding in self.start.blocking})),
            adds=tuple(sorted({finding.name for finding in vetted.findings if finding.key not in old})),
            operations=tuple(dict.fromkeys(activity.id for activity in activities)),
            proof=self._proof(assessed, before, proven)
            + (" It stays undecided: measure first." if undecided else ""),
            rejected=tuple(self._rejected(other) for other in nearest[:MOST_REJECTED]),
            rejected_count=len(cheaper),
        )

    def _proof(self, assessed: PartAssessment, before: Sequence[PartAssessment], proven: bool) -> str:
        """Why nothing cheaper does; of the remedies told `before` and their like in other sizes nothing is said."""
        if not proven:
            least = f"any remedy costs at least EUR {_euros(self.search.bound):.2f}"
            return f"Vetted again, nothing blocks. That nothing cheaper does is not proven: {least}."
        cheaper = sum(bool(other.conflicts) and other.cost < assessed.cost for other in self.search.assessed.values())
        sets = f"{cheaper} cheaper {'set was vetted that does' if cheaper == 1 else 'sets were vetted that do'} not do"
        nothing = "Of other kinds nothing" if before else "Nothing"
        unconsidered = self._unconsidered()
        return (
            f"Vetted again, nothing blocks; without any of these parts something does. {nothing} cheaper than "
            f"EUR {_euros(assessed.cost):.2f} works: {sets}, and what blocks there rules out every other cheaper one "
            f"of the {count(self._sets())} sets that there are."
            + (f" Not considered: {unconsidered}." if unconsidered else "")
        )

    def _rejected(self, assessed: PartAssessment) -> Rejected:
        blocking = self._blocking(assessed)
        return Rejected(
            parts=self._parts(assessed),
            total_cost=_euros(assessed.cost),
            blocked_by=tuple(sorted({finding.name for finding in blocking})),
            message=blocking[0].message,
        )

    def _parts(self, assessed: PartAssessment) -> tuple[RemedyPart, ...]:
        return tuple(_part(position, candidate, self.start) for position, candidate in sorted(assessed.picked.items()))


def _part(position: str, candidate: PartCandidate, start: Vetted) -> RemedyPart:
    price = candidate.cost / PARTS_OF_A_EURO
    if candidate.part is None:
        return RemedyPart(None, say("leave off {part}", part=start.context.bike[position].part.name), position, price)
    known = candidate.supply is not None or candidate.part.best_price_eur() is not None
    return RemedyPart(candidate.part.id, candidate.part.name, position, round(price, 2) if known else None)


def _euros(cost: int) -> float:
    return round(cost / PARTS_OF_A_EURO, 2)
