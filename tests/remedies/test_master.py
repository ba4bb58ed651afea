"""The choice of the cheapest parts, on problems that have nothing to do with bicycles: as two other ways choose."""

from __future__ import annotations

from collections.abc import Hashable, Sequence
from math import prod
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.remedies import Assignment, Candidate, CostCut, Cube, Feature, Literal, cheapest, excluded_by
from oracles import all_choices, cost_of_choice, cpsat_cheapest

SORT = "sort"


class Within(NamedTuple):
    """Is the length known to lie within these limits?"""

    low: float
    high: float


FEATURES: tuple[tuple[Feature, ...], ...] = (
    (SORT,), (SORT, "colour"), (SORT, "colour", "shape"), ("shape",), (Within(1.0, 2.0),),
    (SORT, "length"),
)  # fmt: skip
# The one who looks at every choice takes no longer than a moment for so many.
MOST_CHOICES = 600


class FakeCandidate(Candidate):
    """A candidate that shows these values."""

    __slots__ = ("shows",)

    def __init__(self, cost: int, shows: dict[str, Hashable]) -> None:
        super().__init__("some", cost, changed=True)
        self.shows = shows

    def _look(self, slot: str, feature: Feature) -> Hashable:
        if isinstance(feature, Within):
            length = self.shows["length"]
            return isinstance(length, tuple) and feature.low <= length[0] and length[1] <= feature.high
        return self.shows[str(feature)]

    def __repr__(self) -> str:
        return f"{self.cost}:{'/'.join(str(value) for value in self.shows.values())}"


class Problem(NamedTuple):
    domains: dict[str, list[FakeCandidate]]
    cuts: list[CostCut]


PRICES = st.one_of(st.integers(0, 3), st.integers(0, 10**9))
OPTIONS = st.builds(
    lambda cost, kind, colour, shape, size: FakeCandidate(
        cost, {SORT: kind, "colour": colour, "shape": shape, "length": size}
    ),
    PRICES,
    st.sampled_from(["a", "a", "b", None]),
    st.sampled_from(["red", "blue", None]),
    st.sampled_from(["round", "square"]),
    st.sampled_from([None, (1.0, 1.0), (1.0, 2.0), (2.0, 2.0), (1.5, 3.0)]),
)


@st.composite
def cubes(draw: st.DrawFn, domains: dict[str, list[FakeCandidate]]) -> Cube:
    """What some candidates show: mostly of those on the domains, now and then what nothing shows."""
    positions = draw(st.lists(st.sampled_from(sorted(domains)), min_size=1, max_size=3, unique=True))
    found = []
    for at in positions:
        features = draw(st.sampled_from(FEATURES))
        candidate = draw(st.one_of(*[st.sampled_from(domains[at])] * 5, OPTIONS))
        found.append(Literal(at, features, candidate.values(at, features)))
    return frozenset(found)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    domains = {
        f"at-{number}": draw(st.lists(OPTIONS, min_size=1, max_size=6)) for number in range(draw(st.integers(1, 5)))
    }
    while prod(map(len, domains.values())) > MOST_CHOICES:
        domains.popitem()
    some = st.lists(cubes(domains), min_size=1, max_size=4).map(tuple)
    must_not = draw(st.lists(cubes(domains), max_size=10))
    soft = draw(st.lists(st.builds(CostCut, PRICES.map(lambda price: price or 1), some), max_size=5))
    return Problem(domains, [CostCut(None, tuple(must_not)), *soft])


@settings(max_examples=max(60, settings.default.max_examples))
@given(problems())
def test_three_ways_find_the_same_cost(problem: Problem) -> None:
    found = [solve(*problem) for solve in (cheapest, cpsat_cheapest, all_choices)]
    costs = {None if choice is None else choice.cost for choice in found}
    assert len(costs) == 1, costs
    for choice in found:
        if choice is not None:
            hold_to_the_problem(problem, choice)


def hold_to_the_problem(problem: Problem, choice: Assignment) -> None:
    """One candidate of each shelf, and the cost is what they cost with the cuts that they bring."""
    assert choice.candidates.keys() == problem.domains.keys()
    assert all(any(candidate is other for other in problem.domains[at]) for at, candidate in choice.candidates.items())
    assert cost_of_choice(choice.candidates, problem.cuts) == choice.cost


@given(problems())
def test_what_is_excluded_has_no_choice(problem: Problem) -> None:
    hard = problem.cuts[0].cubes
    assert excluded_by(problem.domains, hard) is (all_choices(problem.domains, problem.cuts[:1]) is None)


@given(problems(), st.randoms())
def test_the_cost_does_not_depend_on_the_order_of_anything(problem: Problem, random: object) -> None:
    shuffle = random.shuffle  # type: ignore[attr-defined]
    domains = list(problem.domains.items())
    shuffle(domains)
    turned: dict[str, Sequence[FakeCandidate]] = {}
    for at, candidates in domains:
        turned[at] = list(candidates)
        shuffle(turned[at])
    cuts = list(problem.cuts)
    shuffle(cuts)
    one, two = cheapest(*problem), cheapest(turned, cuts)
    assert (one and one.cost) == (two and two.cost)


def test_of_equal_choices_the_first_candidate_is_taken() -> None:
    plain = {SORT: "a", "colour": "red", "shape": "round", "length": None}
    candidates: list[FakeCandidate] = [FakeCandidate(5, plain), FakeCandidate(5, plain | {"colour": "blue"})]
    found = cheapest({"at": candidates}, [])
    assert found is not None
    assert found.candidates["at"] is candidates[0]


def test_a_cost_cut_is_paid_once_however_many_of_its_cubes_hold() -> None:
    candidate: FakeCandidate = FakeCandidate(7, {SORT: "a", "colour": "red", "shape": "round", "length": None})
    held = [frozenset({Literal("at", (name,), candidate.values("at", (name,)))}) for name in (SORT, "colour", "shape")]
    found = cheapest({"at": [candidate]}, [CostCut(100, tuple(held)), CostCut(10, (frozenset(),))])
    assert found is not None
    assert found.cost == 117
