"""Other ways to the cheapest remedy, slower and simpler than the search: what it finds is held to these.

`cpsat_cheapest` chooses with the CP-SAT solver of OR-Tools, one variable for each single candidate.
`BruteForce` knows of no lessons at all: it vets every set of parts that may be fitted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import chain, combinations, product
from math import floor
from random import Random
from typing import Generic, NamedTuple

from ortools.sat.python import cp_model

from buildcheck.candidates.costs import PARTS_OF_A_EURO
from buildcheck.candidates.domains import UNPRICED_EUR, PartDomains
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.candidates.vetter import Vetted
from buildcheck.library.alike import Group
from buildcheck.library.catalogue import Catalogue
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.blind import unseen
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from buildcheck.remedies import (
    STEP,
    TAKEN_AWAY,
    Assignment,
    C,
    CostCut,
    Cube,
    Domains,
    Literal,
    RemedySearch,
    Solve,
    cheapest,
)
from buildcheck.rules import SETTLED_AT_WORK
from buildcheck.trade.pert import pert_mean_min
from buildcheck.vetting import PartsVetter, Vetting
from buildcheck.work.activities import bare_and_rest
from laws.bench import BIKES, bike

PartSearch = RemedySearch[PartCandidate]
Groups = Callable[[Iterable[str]], Sequence[Group]]


# ---------------------------------------------------------------------- the master problem, by another solver


def cpsat_cheapest(domains: Domains[C], cuts: Iterable[CostCut]) -> Assignment[C] | None:
    """As `master.cheapest`, with a Boolean for each single candidate. One worker, so that it is the same every time."""
    model = cp_model.CpModel()
    taken = {at: [model.new_bool_var("") for _ in candidates] for at, candidates in domains.items()}
    prices: list[int] = []
    terms: list[cp_model.IntVar] = []
    for at, candidates in domains.items():
        model.add_exactly_one(taken[at])
        prices += [candidate.cost for candidate in candidates]
        terms += taken[at]
    shown = _Shown(model, domains, taken)
    for cut in cuts:
        paid = None if cut.cost is None else model.new_bool_var("")
        for cube in cut.cubes:
            literals = [variable for literal in cube if (variable := shown[literal]) is not None]
            if len(literals) == len(cube):
                clause = [variable.negated() for variable in literals]
                model.add_bool_or(clause if paid is None else [*clause, paid])
        if paid is not None and cut.cost is not None:
            prices.append(cut.cost)
            terms.append(paid)
    model.minimize(cp_model.LinearExpr.weighted_sum(terms, prices))
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status == cp_model.INFEASIBLE:
        return None
    assert status == cp_model.OPTIMAL, solver.status_name(status)
    pairs = {at: zip(domains[at], taken[at], strict=True) for at in domains}
    candidates = {
        at: next(candidate for candidate, variable in rows if solver.boolean_value(variable))
        for at, rows in pairs.items()
    }
    return Assignment(round(solver.objective_value), candidates)


class _Shown(Generic[C]):
    """A variable for each literal, true where one of the candidates that show it is taken; None where none does."""

    def __init__(
        self, model: cp_model.CpModel, domains: Domains[C], taken: Mapping[str, list[cp_model.IntVar]]
    ) -> None:  # fmt: skip
        self.model, self.domains, self.taken = model, domains, taken
        self.known: dict[Literal, cp_model.IntVar | None] = {}

    def __getitem__(self, literal: Literal) -> cp_model.IntVar | None:
        if literal not in self.known:
            at, features, value = literal
            those = [
                variable for candidate, variable in zip(self.domains[at], self.taken[at], strict=True)
                if candidate.values(at, features) == value
            ]  # fmt: skip
            holds = None
            if those:
                holds = self.model.new_bool_var("")
                for variable in those:
                    self.model.add_implication(variable, holds)
            self.known[literal] = holds
        return self.known[literal]


def all_choices(domains: Domains[C], cuts: Iterable[CostCut]) -> Assignment[C] | None:
    """As `master.cheapest`, by looking at every choice there is."""
    best, rows = None, list(cuts)
    for picked in product(*domains.values()):
        candidates = dict(zip(domains, picked, strict=True))
        cost = cost_of_choice(candidates, rows)
        if cost is not None and (best is None or cost < best.cost):
            best = Assignment(cost, candidates)
    return best


def cost_of_choice(candidates: Mapping[str, C], cuts: Iterable[CostCut]) -> int | None:
    """What a choice costs with its cuts; None where it meets a cube that nothing may meet."""
    cost = sum(candidate.cost for candidate in candidates.values())
    for cut in cuts:
        if any(_meets(candidates, cube) for cube in cut.cubes):
            if cut.cost is None:
                return None
            cost += cut.cost
    return cost


def _meets(candidates: Mapping[str, C], cube: Cube) -> bool:
    return all(candidates[at].values(at, features) == value for at, features, value in cube)


def single_parts(catalogue: Catalogue) -> Callable[[Iterable[str]], Sequence[Group]]:
    """The groups of a store in which each part is a group of its own."""

    def groups(kinds: Iterable[str]) -> Sequence[Group]:
        return [
            Group(group.kind, (name,), catalogue.part(name).best_price_eur())
            for group in catalogue.groups(kinds) for name in group.ids
        ]  # fmt: skip

    return groups


# ---------------------------------------------------------------------- the search, and the plainest other way


@dataclass(frozen=True)
class Grouped(PartsVetter):
    """A vetting with other groups of parts than the catalogue's."""

    other: Groups

    def groups(self, kinds: Iterable[str]) -> Sequence[Group]:
        return self.other(kinds)


class Case(NamedTuple):
    """A change of a bike under the terms of the vetting, and how it stands without a remedy."""

    vetting: Vetting
    change: Change

    @property
    def asked(self) -> frozenset[str]:
        """The positions that were asked for."""
        return frozenset(position for _, position in self.change.fit) | frozenset(self.change.take_off)

    @property
    def start(self) -> Vetted:
        """The change as asked, vetted."""
        return self.vetting._vet(self.change)[0]

    @property
    def pinned(self) -> frozenset[str]:
        """What no remedy touches, as `Vetting.swap` says it."""
        return self.vetting._pinned(self.start.context, self.asked) | self.vetting.kept

    def search(
        self, solve: Solve[PartCandidate] = cheapest, groups: Groups | None = None, most: int = 2000
    ) -> PartSearch:  # fmt: skip
        """The search under test. `groups` takes the place of the catalogue's groups of parts."""
        vetter = self.vetting.vetter(self.asked) if groups is None else Grouped(self.vetting, self.asked, groups)
        domains = PartDomains(vetter, self.change, self.start.context, self.pinned)
        return RemedySearch(PartsOracle(vetter, self.change, domains), most, solve)


def blocked_case(random: Random, stock: Catalogue) -> Case:
    """A random change that blocks: mostly a part that differs but little from the one there."""
    while True:
        of = bike(random.choice(BIKES))
        positions = random.sample([spot.position for spot in of.main_spots()], random.choice((1, 1, 1, 2)))
        fits = tuple((_another(of, at, stock, random), at) for at in positions)
        case = Case(Vetting(of, stock), Change(fits))
        if case.start.blocking:
            return case


def _another(of: Bike, at: str, stock: Catalogue, random: Random) -> str:
    row, part = stock.standards.position(at), of[at].part
    assert row is not None
    some = random.sample(pool := [each.id for each in stock.of_kinds(row.kinds)], min(8, len(pool)))
    facts = {name: getattr(part, name) for name in type(part).model_fields}
    return max(some, key=lambda each: sum(getattr(stock.part(each), name, None) == facts[name] for name in facts))


def first_cost(
    case: Case, solve: Solve[PartCandidate] = cheapest, groups: Groups | None = None, most: int = 2000
) -> int | None:  # fmt: skip
    """What the search's first remedy costs, in ten-thousandths of a euro; None where it finds that there is none."""
    found = next(iter(case.search(solve, groups, most)), None)
    return None if found is None else found.cost


class Judged(NamedTuple):
    """One set of parts beside the change: does anything block, the minutes of each unit of work, what it brings."""

    blocks: bool
    minutes: Mapping[str, float]
    brings: frozenset[tuple[str, str, str]]


class Offer(NamedTuple):
    """A part that may come to a position, or None to leave it off, at a price; out of the shop's stock or bought.

    What it takes away counts among the price.
    """

    part: Part | None
    price: int
    in_stock: bool = False
    onto: str = ""  # what is to carry the part that is there
    renews: bool = False  # the part that is there, new


Extra = Mapping[str, Offer]
# What a bike file measures on the one piece that is there, not on its sort.
_WORN_OR_CUT = {"links", "half_link", "length_mm", "steerer_length_mm", "filled", "thickness_mm"}


def _tells_less(part: Part, than: Part) -> bool:
    """Is a fact on record of the one part, and not of the other of its kind, that any rule reads?"""
    facts, others = (each.model_dump(exclude_none=True).keys() for each in (part, than))
    return part.kind == than.kind and bool(others - facts - unseen(part.kind))


class BruteForce:
    """Every set of parts that may be fitted at these positions beside a change, each vetted whole.

    What was judged is kept for the next terms: they change prices, and what may be fitted, but no finding.
    """

    def __init__(self, case: Case, positions: Iterable[str], judged: dict[Change, Judged] | None = None) -> None:
        self.case, self.positions = case, tuple(positions)
        self.terms = case.vetting.agreed
        self.start = case.start.context
        self.standards = self.start.view.standards
        self.judged: dict[Change, Judged] = {} if judged is None else judged

    def cheapest(self) -> int | None:
        """What the cheapest remedy costs of which no smaller set would do; None if there is none."""
        best: int | None = None
        for price, extra in sorted(self.every_set(), key=lambda row: row[0]):
            if best is not None and price >= best:
                break  # work costs nothing less than nothing
            cost = price + self.work(extra)
            if (best is None or cost < best) and self.does(extra) and self.needs_all(extra):
                best = cost
        return best

    def every_set(self) -> Iterator[tuple[int, Extra]]:
        """Each set with what its parts cost."""
        places = {at: self.offers(at) for at in self.positions if not self.stays(at)}
        for picked in product(*([None, *offers] for offers in places.values())):
            extra = {at: offer for at, offer in zip(places, picked, strict=True) if offer is not None}
            if self.may_be(extra):
                yield sum(offer.price for offer in extra.values()), extra

    def stays(self, position: str) -> bool:
        """What was asked for and what is kept; frame and fork are the bike."""
        spot, row = self.start.bike.get(position), self.standards.position(position)
        return (
            position in self.case.pinned or row is None or row.id in ("frame", "fork")
            or (spot is not None and not spot.is_main)
        )  # fmt: skip

    def offers(self, position: str) -> list[Offer]:
        """What may come to a position in place of what sits there now."""
        spot, row = self.start.bike.get(position), self.standards.position(position)
        assert row is not None
        found = []
        for part in self.case.vetting.catalogue.of_kinds(row.kinds):
            there = spot is not None and spot.part.id == part.id
            fit_for = self.does_the_same(position, part) and (spot is None or not _tells_less(part, spot.part))
            if there and spot is not None:
                fit_for = position not in self.start.changed and bool(spot.condition or spot.measured & _WORN_OR_CUT)
            if part.id not in self.terms.exclude and fit_for:
                price, less = part.best_price_eur(), 0 if there else self.takes_away(position, part)
                found.append(Offer(part, less + in_parts(UNPRICED_EUR if price is None else price), renews=there))
                if part.id in self.terms.stock:
                    in_shop = less + in_parts(self.terms.stock[part.id].price_eur)
                    found.append(Offer(part, in_shop, in_stock=True, renews=there))
        if spot is not None and row.id in ("accessory", "wire", "dropper-line", "bb-spacer", "freehub-spacer"):
            worth = spot.part.best_price_eur() if row.id == "accessory" else 0.0
            missed = TAKEN_AWAY if row.id == "accessory" else 0
            found.append(Offer(None, missed + in_parts(worth or 0.0)))
        return found + [Offer(spot.part, 0, onto=at) for at in self.other_carriers(position) if spot is not None]

    def other_carriers(self, position: str) -> list[str]:
        """Where a thing could go that what blocks names with its carrier: to places of its sort, in front or behind."""
        spot, bike = self.start.bike.get(position), self.start.bike
        if spot is None or not spot.part.mounts or position in self.start.changed:
            return []
        told = [f for f in self.case.start.blocking if position in f.positions]
        if not any(spot.on in {*f.positions, *(item.position for item in f.evidence)} for f in told):
            return []
        sorts = {mount.type for mount in spot.part.mounts}
        roomy = {
            at for at, other in bike.fitted.items() if other.is_main and at != position
            for place in other.part.places if place.type in sorts and (at, place.id) != (spot.on, spot.place)
        }  # fmt: skip
        if spot.part.kind != "accessory":
            return sorted(roomy | {at for at in ("seatpost", "frame") if spot.part.kind == "battery" and at != spot.on})
        ahead = {at for at in bike.fitted if {at, bike.fitted[at].on} & {"fork", "stem", "handlebar"}}
        return sorted(at for at in roomy if (at in ahead) is (spot.on in ahead))

    def takes_away(self, position: str, part: Part) -> int:
        """Of how much the rider had more with the part before, how many sizes are felt to be others, and how much."""
        before, row = self.start.before, self.standards.position(position)
        assert row is not None
        spot = (before.bike.get(position) if before is not None else None) or self.start.bike.get(position)
        if spot is None:
            return 0
        old = {name: getattr(spot.part, name, None) for name in (*row.worth, *row.felt)}
        new = {name: getattr(part, name, None) for name in old}
        had = [name for name in row.worth if old[name] not in (None, False, "none")]
        less = [name for name in had if not _as_good(old[name], new[name])]
        less += [
            name for name, words in row.poor.items()
            if getattr(part, name, None) in words and getattr(spot.part, name, None) not in (None, "none", *words)
        ]
        off = {name: _apart(old[name], new[name]) for name in row.felt if name in type(part).model_fields}
        felt = {name: off[name] / (row.felt[name] or 1.0) for name in off if off[name] > row.felt[name]}
        return TAKEN_AWAY * (len(less) + len(felt)) + STEP * sum(min(100, floor(steps)) for steps in felt.values())

    def does_the_same(self, position: str, part: Part) -> bool:
        """A brake lever that shifts gives way to one that brakes and shifts, a front ring to a front ring."""
        row, spot = self.standards.position(position), self.start.bike.get(position)
        assert row is not None
        if row.fills.get(part.kind) != (row.fills.get(spot.part.kind) if spot is not None else None):
            return False
        before = self.start.before
        was = (before.bike.get(position) if before is not None else None) or spot
        if was is None:
            return all(getattr(part, name, None) == word for name, word in row.when_new.items())
        old = {name: getattr(was.part, name, None) for name in (*row.keeps, *row.does)}
        new = {name: getattr(part, name, None) for name in old}
        return not any(old[name] is not None and new[name] != old[name] for name in row.keeps) and not any(
            old[name] not in (None, "none") and new[name] == "none" for name in row.does
        )

    def may_be(self, extra: Extra) -> bool:
        """A wire is not left off between two things that have sockets for it, nor more taken than is in stock."""
        taken = Counter(offer.part.id for offer in extra.values() if offer.in_stock and offer.part is not None)
        asked = Counter(part_id for part_id, _ in self.case.change.fit)
        if any(count + asked[name] > self.terms.stock[name].quantity for name, count in taken.items()):
            return False
        for position, offer in extra.items():
            spot = self.start.bike.get(position)
            if offer.part is None and spot is not None and spot.part.kind == "wire":
                ends = [self.part_at(end, extra) for end in (spot.start, spot.end) if end is not None]
                if all(end is not None and end.ports for end in ends):
                    return False
        return True

    def part_at(self, position: str, extra: Extra) -> Part | None:
        """What sits at a position with a set."""
        spot = self.start.bike.get(position)
        return extra[position].part if position in extra else None if spot is None else spot.part

    def judge(self, extra: Extra) -> Judged:
        """What is left that blocks with a set, and the minutes of its work."""
        put = {
            at: offer.part.id for at, offer in extra.items()
            if offer.part is not None and not offer.onto and not offer.renews
        }  # fmt: skip
        fits = tuple((part_id, position) for position, part_id in put.items())
        offs = tuple(position for position, offer in extra.items() if offer.part is None)
        moves = tuple((position, offer.onto) for position, offer in extra.items() if offer.onto)
        new = tuple(position for position, offer in extra.items() if offer.renews)
        change = Change((*self.case.change.fit, *fits), (*self.case.change.take_off, *offs), moves, new)
        if change not in self.judged:
            vetted = self.case.vetting._vet_anew(change)[0]
            asked = self.case.vetting._pinned(vetted.context, self.case.asked)
            minutes = {
                unit.id: pert_mean_min(unit.operation.low_min, unit.operation.likely_min, unit.operation.high_min)
                for unit in bare_and_rest(vetted.context, vetted.findings, asked, {})[1]
            }
            self.judged[change] = Judged(bool(vetted.blocking), minutes, brought(vetted, self.case.start))
        return self.judged[change]

    def work(self, extra: Extra) -> int:
        """What the bench work beyond the bare swap costs; what a set brings counts among it."""
        rate, judged = self.terms.rate_eur_per_hour / 60 * PARTS_OF_A_EURO, self.judge(extra)
        work = sum(round(minutes * rate) for minutes in judged.minutes.values())
        return work + TAKEN_AWAY * len(judged.brings)

    def does(self, extra: Extra) -> bool:
        """Does nothing block?"""
        return not self.judge(extra).blocks

    def needs_all(self, extra: Extra) -> bool:
        """Would no smaller set do that takes no more away?"""
        rows, most = list(extra.items()), self.taken_away(extra)
        smaller = chain.from_iterable(combinations(rows, size) for size in range(len(rows)))
        return not any(
            self.may_be(some) and self.does(some) and self.taken_away(some) <= most for some in map(dict, smaller)
        )

    def taken_away(self, extra: Extra) -> int:
        """How much a set takes away."""
        by_itself = sum(offer.price // STEP * STEP for offer in extra.values())
        return by_itself + TAKEN_AWAY * len(self.judge(extra).brings)


def _as_good(old: object, new: object) -> bool:
    """Is it the same word, or a size that is for sure as large?"""
    if isinstance(old, Interval):
        return isinstance(new, Interval) and new.low >= old.low
    return old == new


def _apart(old: Interval | None, new: Interval | None) -> float:
    """How far two sizes may be apart: a hundred where only the new one is not known."""
    if old is None or new is None:
        return 0.0 if old is None else 100.0
    return max(abs(new.high - old.low), abs(new.low - old.high), abs(new.low - old.low), abs(new.high - old.high))


def brought(vetted: Vetted, asked: Vetted) -> frozenset[tuple[str, str, str]]:
    """By level, name and first place: what is undecided with a set, and was not with the change alone; new cautions.

    Not those cautions that another part would be no better for.
    """
    had = {(finding.level.value, *finding.key) for finding in asked.findings}
    return frozenset(
        (finding.level.value, *finding.key) for finding in vetted.findings
        if finding.level is Level.UNKNOWN
        or (finding.level is Level.CAUTION and not finding.undecided and finding.name not in SETTLED_AT_WORK)
    ) - had  # fmt: skip


def in_parts(price_eur: float) -> int:
    """A price in ten-thousandths of a euro."""
    return round(price_eur * PARTS_OF_A_EURO)
