"""What clears what blocks, as the report tells it: the cheapest remedies with their proof, or why there is none."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import islice
from math import prod
from typing import NamedTuple

from buildcheck.candidates.costs import PARTS_OF_A_EURO, costs_of
from buildcheck.candidates.domains import Shelves, Store
from buildcheck.candidates.features import Option
from buildcheck.candidates.infeasible import why_impossible
from buildcheck.fit.context import Context
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.quantities import count
from buildcheck.model.report import Outcome, Rejected, Remedy, RemedyPart, Search
from buildcheck.remedies.search import Bench, GaveUpError, Remedies, Tried, Vetted
from buildcheck.work.activities import Activity, total_minutes

MOST_REMEDIES = 3
MOST_REJECTED = 3
# Some ten seconds of a workshop's computer; the usual swap takes less than fifty.
MOST_VETTINGS = 400


class Desk(NamedTuple):
    """What the search needs of the vetting.

    `activities` gives the work of a vetting beyond the bare swap, `known_before` the identities of the findings before
    the change; `invent` makes a part known that is in no catalogue.
    """

    vet: Callable[[Change], Vetted]
    still: Callable[[Context, str], Sequence[Finding]]
    activities: Callable[[Vetted], Sequence[Activity]]
    known_before: frozenset[object]
    store: Store
    invent: Callable[[Part], None]


class Found(NamedTuple):
    """The remedies, what the search did, and the cheapest of them as it was tried, where there is one."""

    remedies: tuple[Remedy, ...] = ()
    search: Search = Search()
    cheapest: Tried | None = None


def find_remedies(
    desk: Desk, change: Change, start: Vetted, pinned: frozenset[str], most: int = MOST_VETTINGS
) -> Found:
    """The cheapest remedies, each of another kind. `pinned` positions are left alone."""
    if not start.blocking:
        return Found()
    return _Report(desk, change, start, pinned, most).found()


class _Report:
    def __init__(self, desk: Desk, change: Change, start: Vetted, pinned: frozenset[str], most: int) -> None:
        self.desk, self.change, self.start, self.most = desk, change, start, most
        rate = desk.store.terms.rate_eur_per_hour
        self.bench = Bench(
            vet=desk.vet,
            still=desk.still,
            costs=lambda vetted: costs_of(desk.activities(vetted), vetted.context, desk.known_before, rate),
        )
        self.shelves = Shelves(desk.store, start.context, pinned)

    def found(self) -> Found:
        search = Remedies(self.bench, self.shelves, self.change, self.most)
        remedies: list[Tried] = []
        limit = ""
        try:
            remedies.extend(islice(search, MOST_REMEDIES))
        except GaveUpError:
            limit = f"{self.most} sets of parts were vetted"
        if remedies or limit:
            return self._told(search, remedies, limit)
        return Found((), why_impossible(self.desk.invent, search, self._sets(search)))

    def _told(self, search: Remedies, remedies: list[Tried], limit: str) -> Found:
        best = remedies or self._best_so_far(search)
        told = tuple(self._remedy(search, tried, best[:index], bool(remedies)) for index, tried in enumerate(best))
        gap = (best[0].cost - search.bound) / PARTS_OF_A_EURO if best and not remedies else None
        return Found(
            told,
            Search(
                outcome=Outcome.CHEAPEST if remedies else Outcome.GAVE_UP,
                sets=self._sets(search),
                vetted=len(search.tried),
                lower_bound=_euros(remedies[0].cost if remedies else search.bound),
                limit=limit,
                gap=None if gap is None else round(gap, 2),
            ),
            best[0] if best else None,
        )

    def _best_so_far(self, search: Remedies) -> list[Tried]:
        """Of the sets that do, the cheapest; that nothing cheaper does is not proven."""
        return sorted((tried for tried in search.tried.values() if not tried.refused_by), key=lambda t: t.cost)[:1]

    def _sets(self, search: Remedies) -> float:
        return float(prod(len(options) for options in search.lessons.shelves.values()))

    def _remedy(self, search: Remedies, tried: Tried, before: Sequence[Tried], proven: bool) -> Remedy:
        parts = tuple(_part(position, option, self.start) for position, option in sorted(tried.picked.items()))
        bought = [part.price for part in parts if part.id is not None]
        cost = None if None in bought else round(sum(price or 0.0 for price in bought), 2)
        activities = self.desk.activities(tried.vetted)
        old = {finding.key for finding in self.start.findings}
        cheaper = [
            other for other in search.tried.values() if other.refused_by and other.picked and other.cost < tried.cost
        ]
        nearest = sorted(cheaper, key=lambda other: (len({f.key for f in other.refused_by}), other.cost))
        undecided = any(f.level is Level.UNKNOWN for f in tried.vetted.findings)
        return Remedy(
            parts=parts,
            parts_cost=cost,
            extra_minutes=total_minutes(activity.operation for activity in activities),
            total_cost=None if cost is None else _euros(tried.cost),
            clears=tuple(sorted({finding.name for finding in self.start.blocking})),
            adds=tuple(sorted({finding.name for finding in tried.vetted.findings if finding.key not in old})),
            operations=tuple(dict.fromkeys(activity.id for activity in activities)),
            proof=self._proof(search, tried, before, proven)
            + (" It stays undecided: measure first." if undecided else ""),
            rejected=tuple(self._rejected(other) for other in nearest[:MOST_REJECTED]),
            rejected_count=len(cheaper),
        )

    def _proof(self, search: Remedies, tried: Tried, before: Sequence[Tried], proven: bool) -> str:
        """Why nothing cheaper does; of the remedies told `before` and their like in other sizes nothing is said."""
        if not proven:
            least = f"any remedy costs at least EUR {_euros(search.bound):.2f}"
            return f"Vetted again, nothing blocks. That nothing cheaper does is not proven: {least}."
        cheaper = sum(bool(other.refused_by) and other.cost < tried.cost for other in search.tried.values())
        sets = f"{cheaper} cheaper {'set was vetted that does' if cheaper == 1 else 'sets were vetted that do'} not do"
        nothing = "Of other kinds nothing" if before else "Nothing"
        return (
            f"Vetted again, nothing blocks; without any of these parts something does. {nothing} cheaper than "
            f"EUR {_euros(tried.cost):.2f} works: {sets}, and what blocks there rules out every other cheaper one of "
            f"the {count(self._sets(search))} sets that there are."
        )

    def _rejected(self, tried: Tried) -> Rejected:
        return Rejected(
            parts=tuple(_part(position, option, self.start) for position, option in sorted(tried.picked.items())),
            total_cost=_euros(tried.cost),
            blocked_by=tuple(sorted({finding.name for finding in tried.refused_by})),
            message=tried.refused_by[0].message,
        )


def _part(position: str, option: Option, start: Vetted) -> RemedyPart:
    price = option.cost / PARTS_OF_A_EURO
    if option.part is None:
        return RemedyPart(None, f"leave off {start.context.bike[position].part.name}", position, price)
    known = option.in_stock is not None or option.part.best_price_eur() is not None
    return RemedyPart(option.part.id, option.part.name, position, round(price, 2) if known else None)


def _euros(cost: int) -> float:
    return round(cost / PARTS_OF_A_EURO, 2)
