"""The search on problems that have nothing to do with bicycles: as looking at every assignment finds it."""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator, Mapping, Sequence
from itertools import chain, combinations, islice, product
from typing import NamedTuple

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.remedies import (
    CHANGED,
    STEP,
    TAKEN_AWAY,
    Candidate,
    Conflict,
    ContradictionError,
    Cube,
    Domains,
    Explanation,
    Feature,
    Features,
    Follows,
    GaveUpError,
    OperationCost,
    RemedySearch,
    Seen,
    excluded_by,
    infeasibility,
    minimal_subset,
    taken_away,
    to_pay,
)

SLOTS = ("a", "b", "c", "d")
Picked = Mapping[str, "Toy"]
# At some slots a colour that must not meet the others.
Clash = Mapping[str, str]


class Toy(Candidate):
    """A candidate of one colour."""

    __slots__ = ("colour",)

    def __init__(self, name: str, cost: int, colour: str, changed: bool = True, supply: int | None = None) -> None:
        super().__init__(name, cost, changed=changed, supply=supply)
        self.colour = colour

    def _look(self, slot: str, feature: Feature) -> Hashable:
        return self.colour if feature == "colour" else self.id[:1]


class Reason(NamedTuple):
    """Why an assignment does not do: of a clash, with a slot too many."""

    clash: Clash
    whole: Explanation


class World:
    """An oracle with clashes, and operations that are needed where a slot is changed to a colour."""

    sort = "sort"

    def __init__(
        self, domains: Mapping[str, Sequence[Toy]], clashes: Sequence[Clash], work: Mapping[tuple[str, str], int]
    ) -> None:
        self.domains, self.clashes, self.work = domains, clashes, work

    def fixed(self, slot: str) -> bool:
        return len(self.domains[slot]) == 1

    def domain(self, slot: str) -> Sequence[Toy]:
        return self.domains[slot]

    def incompatible(self, domains: Domains[Toy]) -> Iterable[tuple[Cube, str]]:
        return ()

    def at(self, picked: Picked, slot: str) -> Toy:
        return picked.get(slot) or self.domains[slot][0]

    def clashing(self, picked: Picked) -> list[Clash]:
        return [each for each in self.clashes if all(self.at(picked, at).colour == c for at, c in each.items())]

    def assess(self, picked: Picked) -> tuple[list[Conflict], list[OperationCost]]:
        everything: Explanation = dict.fromkeys(SLOTS, frozenset({"colour"}))
        conflicts: list[Conflict] = [Reason(clash, everything) for clash in self.clashing(picked)]
        return conflicts, [
            OperationCost(f"{slot} {colour}", cost, {slot: frozenset({CHANGED, "colour"})})
            for (slot, colour), cost in self.work.items()
            if slot in picked and picked[slot].colour == colour
        ]

    def minimise(self, cause: Conflict, domains: Domains[Toy]) -> Explanation:
        assert isinstance(cause, Reason)
        kept = minimal_subset(sorted(cause.whole), lambda some: cause.clash.keys() <= some)
        return {slot: cause.whole[slot] for slot in kept}

    def of_kind(self, slot: str, candidate: Toy, features: Features) -> Features:
        return features

    def cost(self, picked: Picked) -> int:
        return sum(each.cost for each in picked.values()) + sum(each.cost for each in self.assess(picked)[1])

    def does(self, picked: Picked) -> bool:
        return not self.clashing(picked)

    def every(self) -> Iterator[dict[str, Toy]]:
        for some in product(*(self.domains[slot] for slot in SLOTS)):
            yield {slot: each for slot, each in zip(SLOTS, some, strict=True) if each.changed}

    def cheapest(self) -> int | None:
        """Of the assignments that do, and of which no smaller one does that takes no more away."""
        costs = [self.cost(picked) for picked in self.every() if self.does(picked) and not self.does_with_less(picked)]
        return min(costs, default=None)

    def does_with_less(self, picked: Picked) -> bool:
        smaller = chain.from_iterable(combinations(picked, size) for size in range(len(picked)))
        sets = ({slot: picked[slot] for slot in some} for some in smaller)
        most = taken_away(self.cost(picked))
        return any(self.does(each) and taken_away(self.cost(each)) <= most for each in sets)


COLOURS = ("red", "blue", "green")
# Some take something away, by themselves or together with others.
COSTS = st.integers(0, 9) | st.builds(
    lambda euros, steps: TAKEN_AWAY + STEP * steps + euros, st.integers(0, 9), st.integers(0, 2)
)
TOYS = st.builds(Toy, st.sampled_from("xyz"), COSTS, st.sampled_from(COLOURS))


@st.composite
def worlds(draw: st.DrawFn) -> World:
    domains = {}
    for slot in SLOTS:
        others = draw(st.lists(TOYS, max_size=3))
        named = [Toy(f"{each.id}{number}", each.cost, each.colour) for number, each in enumerate(others)]
        domains[slot] = [Toy("", 0, draw(st.sampled_from(COLOURS)), changed=False), *named]
    clash = st.dictionaries(st.sampled_from(SLOTS), st.sampled_from(COLOURS), min_size=1, max_size=3)
    work = st.dictionaries(st.tuples(st.sampled_from(SLOTS), st.sampled_from(COLOURS)), COSTS, max_size=6)
    return World(domains, draw(st.lists(clash, max_size=12)), draw(work))


@given(worlds())
def test_the_first_remedy_is_the_cheapest(world: World) -> None:
    search = RemedySearch(world, 1000)
    found = next(iter(search), None)
    assert (None if found is None else found.cost) == world.cheapest()
    if found is not None:
        assert world.does(found.picked)
        assert search.bound == found.cost


@given(worlds())
def test_none_takes_away_more_than_another_set_that_does(world: World) -> None:
    least = world.cheapest()
    found = list(islice(RemedySearch(world, 1000), 4))
    assert {taken_away(each.cost) for each in found} == ({taken_away(least)} if least is not None else set())
    assert [each.cost for each in found] == sorted(each.cost for each in found)


@given(worlds())
def test_what_one_search_learned_serves_another_that_minds_less(world: World) -> None:
    """The cheapest set of those below a price, whatever it takes away."""
    minding = RemedySearch(world, 1000)
    best = next(iter(minding), None)
    if best is None:
        return
    careless = World(
        {slot: [at_its_price(each) for each in toys] for slot, toys in world.domains.items()},
        world.clashes,
        {where: to_pay(cost) for where, cost in world.work.items()},
    )
    also = RemedySearch(careless, 1000)
    also.store.learn_from(minding.store)
    also.below = to_pay(best.cost)
    costs = [careless.cost(picked) for picked in careless.every() if careless.does(picked)
             and not careless.does_with_less(picked)]  # fmt: skip
    cheaper = min((cost for cost in costs if cost < also.below), default=None)
    found = next(iter(also), None)
    assert (None if found is None else found.cost) == cheaper


def at_its_price(toy: Toy) -> Toy:
    return Toy(toy.id, to_pay(toy.cost), toy.colour, toy.changed)


@given(worlds())
def test_where_there_is_none_the_derivation_tells_why(world: World) -> None:
    search = RemedySearch(world, 1000)
    if next(iter(search), None) is not None:
        return
    nogood = infeasibility(search.store)
    assert isinstance(nogood.derivation, Follows)
    parents = nogood.derivation.parents
    assert all(isinstance(parent.derivation, Seen) and parent.derivation.picked == {} for parent in parents)
    every = search.store.nogoods()
    asked = {each.body for each in every if isinstance(each.derivation, Seen) and not each.derivation.picked}
    rest = [each.body for each in every if each.body not in asked]
    bodies = [parent.body for parent in parents]
    assert excluded_by(search.store.domains, [*rest, *bodies])
    for body in bodies:
        assert not excluded_by(search.store.domains, [*rest, *(other for other in bodies if other != body)])


def world_of(domain: Sequence[Toy], clashes: Sequence[Clash]) -> World:
    fixed = {slot: [Toy("", 0, "red", changed=False)] for slot in SLOTS}
    return World({**fixed, "a": [*fixed["a"], *domain], "b": [*fixed["b"], *domain]}, clashes, {})


def test_no_more_is_taken_out_of_a_supply_than_there_is() -> None:
    domain = [Toy("x", 1, "blue", supply=1), Toy("x", 5, "blue")]
    found = next(iter(RemedySearch(world_of(domain, [{"a": "red"}, {"b": "red"}]), 100)))
    assert found.cost == 6


class Washer(World):
    """An oracle that asks for one piece of work for more than one colour, each a reason of its own."""

    def assess(self, picked: Picked) -> tuple[list[Conflict], list[OperationCost]]:
        conflicts, costs = super().assess(picked)
        if self.at(picked, "a").colour != "green":
            costs.append(OperationCost("wash", 7, {"a": frozenset({"colour"})}))
        return conflicts, costs


def test_work_that_was_needed_for_one_reason_is_learned_again_for_another() -> None:
    fixed = {slot: [Toy("", 0, "red", changed=False)] for slot in SLOTS}
    domain = [Toy("x", 1, "blue"), Toy("y", 5, "green")]
    found = next(iter(RemedySearch(Washer({**fixed, "a": [*fixed["a"], *domain]}, [{"a": "red"}], {}), 100)))
    assert (found.picked, found.cost) == ({"a": domain[1]}, 5)


def test_the_limit_of_assessments_ends_the_search() -> None:
    search = RemedySearch(world_of([Toy("x", 1, "blue")], [{"a": "red"}]), 1)
    with pytest.raises(GaveUpError):
        next(iter(search))


class Liar(World):
    """An oracle that charges for work which it forgets later."""

    def assess(self, picked: Picked) -> tuple[list[Conflict], list[OperationCost]]:
        conflicts, costs = super().assess(picked)
        if conflicts:
            costs = [OperationCost("work", 7, {"a": frozenset()})]
        return conflicts, costs


def test_an_oracle_that_contradicts_itself_is_told_of() -> None:
    fixed = {slot: [Toy("", 0, "red", changed=False)] for slot in SLOTS}
    liar = Liar({**fixed, "b": [*fixed["b"], Toy("x", 1, "blue")]}, [{"b": "red"}], {})
    with pytest.raises(ContradictionError):
        next(iter(RemedySearch(liar, 10)))
