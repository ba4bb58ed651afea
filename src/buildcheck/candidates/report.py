"""What clears what blocks, as the report tells it: the cheapest remedies with their proof, or why there is none."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from dataclasses import replace
from itertools import islice
from math import fsum, prod
from typing import NamedTuple

from buildcheck.candidates.beyond import Beyond, PartAssessment, with_a_junction
from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.evidence import rests_on_wiring
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.impossible import why_impossible
from buildcheck.candidates.oracle import PartsOracle, Regardless
from buildcheck.candidates.told import euros, told_parts
from buildcheck.candidates.vetter import Vetted, Vetter
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.quantities import count
from buildcheck.model.report import Outcome, PassedOver, Rejected, Remedy, RemedyPart, Search
from buildcheck.remedies import TAKEN_AWAY, GaveUpError, RemedySearch, taken_away, to_pay
from buildcheck.work.activities import total_minutes

MOST_REMEDIES = 3
MOST_REJECTED = 3
MOST_PASSED_OVER = 3
# So many vettings may it take to tell which cheaper sets take away more (our choice).
_MOST_BESIDES = 3
# A wire is only added where the finding that lacks it says between what.
NOT_CONSIDERED = "further junctions, and wires but those that would join what hangs apart"
# What is left of that where sets with one more junction were tried.
BEYOND_THOSE_TRIED = (
    "further junctions but in the {tried} sets that were tried, and wires but those that would join what hangs apart"
)
TOLD_LESS = "parts of which less is on record than of those that they would take the place of"
# Some ten seconds of a workshop's computer; the usual swap takes less than fifty.
MOST_VETTINGS = 400
# What the cheapest remedy leaves of so many vettings is for others (our choice: nobody waits long for those).
MOST_FOR_OTHERS = 12


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
    telling = _Telling(vetter, change, start, PartDomains(vetter, change, start.context, pinned), most)
    if telling.is_at_a_loss and telling.oracle.stock.told_less:
        every = PartDomains(vetter, change, start.context, pinned, on_record=False)
        telling = _Telling(vetter, change, start, every, most)
    return telling.found()


class _Telling:
    def __init__(self, vetter: Vetter, change: Change, start: Vetted, domains: PartDomains, most: int) -> None:
        self.start, self.oracle = start, PartsOracle(vetter, change, domains)
        self.search = RemedySearch(self.oracle, most, stop=vetter.stop)
        self.search.most_for_others = MOST_FOR_OTHERS
        self.remedies: list[PartAssessment] = []
        self.limit, self.beyond = "", Beyond()
        try:
            self.remedies.extend(islice(self.search, MOST_REMEDIES))
        except GaveUpError as error:
            self.limit = str(error) or f"{self.search.most} sets of parts were vetted"

    @property
    def is_at_a_loss(self) -> bool:
        """Is there no remedy, whatever is tried further?"""
        return not (self.remedies or self.limit)

    def found(self) -> FoundRemedies:
        if not self.is_at_a_loss:
            return self._told(self.remedies, self.limit)
        self.beyond = with_a_junction(self.oracle, self.start)
        if self.beyond.found is not None:
            return self._told_beyond(self.beyond.found)
        told = why_impossible(self.oracle, self.search, self._sets())
        limit = self.search.stop(len(self.search.assessed))  # it may have ended the search for one new part
        return FoundRemedies(
            (), replace(told, limit=limit, unconsidered=self._unconsidered(), beyond=self.beyond.rejected)
        )

    def _told_beyond(self, found: PartAssessment) -> FoundRemedies:
        """A remedy with one more junction, where no set does without."""
        rejected = self.beyond.rejected
        cheaper = [each for each in rejected if each.total_cost < euros(found.cost)]
        remedy = replace(
            self._remedy(found, (), proven=False), proof=self._proof_beyond(),
            rejected=tuple(cheaper[:MOST_REJECTED]), rejected_count=len(cheaper),
        )  # fmt: skip
        search = Search(
            outcome=Outcome.BEYOND,
            sets=self._sets(),
            vetted=len(self.search.assessed),
            unconsidered=self._unconsidered(),
            beyond=rejected,
        )
        return FoundRemedies((remedy,), search, self.oracle.change_with(found.picked))

    def _proof_beyond(self) -> str:
        do = self.beyond.tried - len(self.beyond.rejected)
        best = "none of them does without further parts" if not do else f"the cheapest of the {do} that do is this one"
        return (
            "Vetted again, nothing blocks; without any of these parts something does. None of the "
            f"{count(self._sets())} sets without one more junction does. Of those with one, {self.beyond.tried} were "
            f"tried, the likeliest and cheapest first, and {best}. That nothing cheaper does is not proven."
        )

    def _told(self, remedies: list[PartAssessment], limit: str) -> FoundRemedies:
        best = remedies or self._best_so_far()
        told = [self._remedy(assessed, best[:index], bool(remedies)) for index, assessed in enumerate(best)]
        if remedies:
            told[0] = replace(told[0], passed_over=self._passed_over(remedies[0]))
        least = remedies[0].cost if remedies else self.search.bound
        alike = best and not remedies and taken_away(best[0].cost) == taken_away(least)
        gap = euros(best[0].cost - least) if alike else None
        return FoundRemedies(
            tuple(told),
            Search(
                outcome=Outcome.CHEAPEST if remedies else Outcome.GAVE_UP,
                sets=self._sets(),
                vetted=len(self.search.assessed),
                lower_bound=euros(least),
                gives_up=least // TAKEN_AWAY,
                limit=limit,
                gap=gap,
                unconsidered=self._unconsidered(),
            ),
            self.oracle.change_with(best[0].picked) if best else None,
        )

    def _best_so_far(self) -> list[PartAssessment]:
        """Of the sets that do, the cheapest; that nothing cheaper does is not proven."""
        clear = (assessed for assessed in self.search.assessed.values() if not assessed.conflicts)
        return sorted(clear, key=lambda assessed: assessed.cost)[:1]

    def _passed_over(self, best: PartAssessment) -> tuple[PassedOver, ...]:
        """Sets that are cheaper than the best one, do as well, and take away more."""
        may_be = any(each.takes for domain in self.search.store.domains.values() for each in domain)
        if not may_be and not any(taken_away(cost) for cost, _ in self.search.store.costs.values()):
            return ()
        also = RemedySearch(Regardless(self.oracle), _MOST_BESIDES, stop=self.oracle.vetter.stop)
        also.store.learn_from(self.search.store)
        also.below, also.in_order = to_pay(best.cost), False
        found: list[PartAssessment] = []
        with suppress(GaveUpError):
            found.extend(islice(also, MOST_PASSED_OVER))
        found += [
            each for each in self.search.assessed.values()
            if not each.conflicts and to_pay(each.cost) < also.below and taken_away(each.cost) > taken_away(best.cost)
        ]  # fmt: skip
        told = dict.fromkeys(map(self._passed, sorted(found, key=lambda each: to_pay(each.cost))))
        return tuple(told)[:MOST_PASSED_OVER]

    def _passed(self, assessed: PartAssessment) -> PassedOver:
        picked = self._as_searched(assessed)
        return PassedOver(self._parts(assessed), euros(assessed.cost), self.oracle.taken_away(picked))

    def _as_searched(self, assessed: PartAssessment) -> dict[str, PartCandidate]:
        """The candidates of the search that minds what they take away."""
        return {
            at: next(
                each for each in self.search.store.domains.get(at) or self.oracle.domain(at)
                if (each.id, each.supply) == (picked.id, picked.supply) and each.changed
            )
            for at, picked in assessed.picked.items()
        }  # fmt: skip

    def _blocking(self, assessed: PartAssessment) -> tuple[Finding, ...]:
        return self.oracle.vetted(assessed.picked).blocking

    def _unconsidered(self) -> str:
        """What no set holds although it could clear what blocks."""
        every = (finding for assessed in self.search.assessed.values() for finding in self._blocking(assessed))
        told = BEYOND_THOSE_TRIED.format(tried=self.beyond.tried) if self.beyond.tried else NOT_CONSIDERED
        wiring = [told] if self.beyond.tried or any(map(rests_on_wiring, every)) else []
        return "; ".join([*wiring, *([TOLD_LESS] if self.oracle.stock.told_less else [])])

    def _sets(self) -> float:
        return float(prod(len(domain) for domain in self.search.store.domains.values()))

    def _remedy(self, assessed: PartAssessment, before: Sequence[PartAssessment], proven: bool) -> Remedy:
        parts, vetted = self._parts(assessed), self.oracle.vetted(assessed.picked)
        bought = [part.price for part in parts if part.id is not None]
        cost = None if None in bought else round(fsum(price or 0.0 for price in bought), 2)
        activities = self.oracle.vetter.extra_work(vetted)
        old = {finding.key for finding in self.start.findings}
        cheaper = [other for other in self._cheaper_than(assessed) if other.picked]
        nearest = sorted(cheaper, key=lambda other: (len({f.key for f in self._blocking(other)}), other.cost))
        undecided = any(f.level is Level.UNKNOWN for f in vetted.findings)
        return Remedy(
            parts=parts,
            parts_cost=cost,
            extra_minutes=total_minutes(activities),
            total_cost=None if cost is None else euros(assessed.cost),
            clears=tuple(sorted({finding.name for finding in self.start.blocking})),
            adds=tuple(sorted({finding.name for finding in vetted.findings if finding.key not in old})),
            operations=tuple(dict.fromkeys(activity.id for activity in activities)),
            proof=self._proof(assessed, before, proven)
            + (" It stays undecided: measure first." if undecided else ""),
            rejected=tuple(self._rejected(other) for other in nearest[:MOST_REJECTED]),
            rejected_count=len(cheaper),
            gives_up=self.oracle.taken_away(assessed.picked),
        )

    def _proof(self, assessed: PartAssessment, before: Sequence[PartAssessment], proven: bool) -> str:
        """Why nothing cheaper does; of the remedies told `before` and their like in other sizes nothing is said."""
        if not proven:
            so = "as little" if taken_away(self.search.bound) else "nothing"
            least = f"any remedy that gives up {so} costs at least EUR {euros(self.search.bound):.2f}"
            return f"Vetted again, nothing blocks. That nothing better does is not proven: {least}."
        cheaper = len(self._cheaper_than(assessed))
        sets = f"{cheaper} cheaper {'set was vetted that does' if cheaper == 1 else 'sets were vetted that do'} not do"
        nothing = "Of other kinds nothing" if before else "Nothing"
        price = f"cheaper than EUR {euros(assessed.cost):.2f}"
        claim = (
            f"{nothing} works that gives up less, and of what gives up as little nothing {price}"
            if taken_away(assessed.cost)
            else f"{nothing} {price} works without giving something up"
        )
        unconsidered = self._unconsidered()
        return (
            f"Vetted again, nothing blocks; without any of these parts something does. {claim}: {sets}, and what "
            f"blocks there, or is given up, rules out every other one of the {count(self._sets())} sets that there are."
            + (f" Not considered: {unconsidered}." if unconsidered else "")
        )

    def _cheaper_than(self, assessed: PartAssessment) -> list[PartAssessment]:
        """The sets that were vetted, do not do and would have been better."""
        return [
            other for other in self.search.assessed.values()
            if other.conflicts and other.cost < assessed.cost and to_pay(other.cost) < to_pay(assessed.cost)
        ]  # fmt: skip

    def _rejected(self, assessed: PartAssessment) -> Rejected:
        blocking = self._blocking(assessed)
        return Rejected(
            parts=self._parts(assessed),
            total_cost=euros(assessed.cost),
            blocked_by=tuple(sorted({finding.name for finding in blocking})),
            message=blocking[0].message,
        )

    def _parts(self, assessed: PartAssessment) -> tuple[RemedyPart, ...]:
        return told_parts(assessed.picked, self.start.context.view)
