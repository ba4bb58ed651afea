"""The choice of the cheapest parts, on problems that have nothing to do with bicycles: as two other ways choose."""

from __future__ import annotations

from collections.abc import Sequence
from math import prod
from typing import NamedTuple

from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.candidates.features import KIND, Condition, Literal, Option, Trait, Within
from buildcheck.model.quantities import Interval
from buildcheck.remedies.master import Charge, Choice, cheapest, excluded_by
from oracles import all_choices, cost_of_choice, cpsat_cheapest

NAMES = ("colour", "shape", "length_mm")
TRAITS: tuple[Trait, ...] = (
    (KIND,), (KIND, "colour"), (KIND, "colour", "shape"), ("shape",), (Within("length_mm", 1.0, 2.0),),
    (KIND, "length_mm"),
)  # fmt: skip
# The one who looks at every choice takes no longer than a moment for so many.
MOST_CHOICES = 600


class FakeOption(Option):
    """An option that shows these values, whatever part it has."""

    __slots__ = ("shows",)

    def __init__(self, cost: int, shows: dict[str, object]) -> None:
        super().__init__(None, cost)
        self.shows = shows

    def _look(self, position: str, name: str | Within) -> object:
        if isinstance(name, Within):
            value = self.shows[name.attribute]
            return isinstance(value, Interval) and name.low <= value.low and value.high <= name.high
        return self.shows[name]

    def __repr__(self) -> str:
        return f"{self.cost}:{'/'.join(str(value) for value in self.shows.values())}"


class Problem(NamedTuple):
    shelves: dict[str, list[Option]]
    charges: list[Charge]


PRICES = st.one_of(st.integers(0, 3), st.integers(0, 10**9))
OPTIONS = st.builds(
    lambda cost, kind, colour, shape, size: FakeOption(
        cost, {KIND: kind, "colour": colour, "shape": shape, "length_mm": size and Interval(*size)}
    ),
    PRICES,
    st.sampled_from(["a", "a", "b", None]),
    st.sampled_from(["red", "blue", None]),
    st.sampled_from(["round", "square"]),
    st.sampled_from([None, (1.0, 1.0), (1.0, 2.0), (2.0, 2.0), (1.5, 3.0)]),
)


@st.composite
def conditions(draw: st.DrawFn, shelves: dict[str, list[Option]]) -> Condition:
    """What some options show: mostly of those on the shelves, now and then what nothing shows."""
    positions = draw(st.lists(st.sampled_from(sorted(shelves)), min_size=1, max_size=3, unique=True))
    found = []
    for at in positions:
        trait = draw(st.sampled_from(TRAITS))
        option = draw(st.one_of(*[st.sampled_from(shelves[at])] * 5, OPTIONS))
        found.append(Literal(at, trait, option.value(at, trait)))
    return frozenset(found)


@st.composite
def problems(draw: st.DrawFn) -> Problem:
    shelves = {
        f"at-{number}": draw(st.lists(OPTIONS, min_size=1, max_size=6)) for number in range(draw(st.integers(1, 5)))
    }
    while prod(map(len, shelves.values())) > MOST_CHOICES:
        shelves.popitem()
    some = st.lists(conditions(shelves), min_size=1, max_size=4).map(tuple)
    must_not = draw(st.lists(conditions(shelves), max_size=10))
    soft = draw(st.lists(st.builds(Charge, PRICES.map(lambda price: price or 1), some), max_size=5))
    return Problem(shelves, [Charge(None, tuple(must_not)), *soft])


@settings(max_examples=6 * settings.default.max_examples)
@given(problems())
def test_three_ways_find_the_same_cost(problem: Problem) -> None:
    found = [solve(*problem) for solve in (cheapest, cpsat_cheapest, all_choices)]
    costs = {None if choice is None else choice.cost for choice in found}
    assert len(costs) == 1, costs
    for choice in found:
        if choice is not None:
            hold_to_the_problem(problem, choice)


def hold_to_the_problem(problem: Problem, choice: Choice) -> None:
    """One option of each shelf, and the cost is what they cost with the charges that they bring."""
    assert choice.options.keys() == problem.shelves.keys()
    assert all(any(option is other for other in problem.shelves[at]) for at, option in choice.options.items())
    assert cost_of_choice(choice.options, problem.charges) == choice.cost


@given(problems())
def test_what_is_excluded_has_no_choice(problem: Problem) -> None:
    hard = problem.charges[0].conditions
    assert excluded_by(problem.shelves, hard) is (all_choices(problem.shelves, problem.charges[:1]) is None)


@given(problems(), st.randoms())
def test_the_cost_does_not_depend_on_the_order_of_anything(problem: Problem, random: object) -> None:
    shuffle = random.shuffle  # type: ignore[attr-defined]
    shelves = list(problem.shelves.items())
    shuffle(shelves)
    turned: dict[str, Sequence[Option]] = {}
    for at, options in shelves:
        turned[at] = list(options)
        shuffle(turned[at])
    charges = list(problem.charges)
    shuffle(charges)
    one, two = cheapest(*problem), cheapest(turned, charges)
    assert (one and one.cost) == (two and two.cost)


def test_of_equal_choices_the_first_option_is_taken() -> None:
    plain = {KIND: "a", "colour": "red", "shape": "round", "length_mm": None}
    options: list[Option] = [FakeOption(5, plain), FakeOption(5, plain | {"colour": "blue"})]
    found = cheapest({"at": options}, [])
    assert found is not None
    assert found.options["at"] is options[0]


def test_a_charge_is_paid_once_however_many_conditions_hold() -> None:
    option: Option = FakeOption(7, {KIND: "a", "colour": "red", "shape": "round", "length_mm": None})
    held = [frozenset({Literal("at", (name,), option.value("at", (name,)))}) for name in (KIND, "colour", "shape")]
    found = cheapest({"at": [option]}, [Charge(100, tuple(held)), Charge(10, (frozenset(),))])
    assert found is not None
    assert found.cost == 117
