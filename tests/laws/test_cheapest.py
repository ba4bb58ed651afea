"""Law: nothing cheaper than what the search calls the cheapest remedy does, and where it finds none there is none.

Small cases are held against every set of parts that there is. Larger ones are searched again with another
solver, which chooses among all single parts where the search looks at groups and classes of them.
"""

from __future__ import annotations

from functools import cache
from itertools import islice
from random import Random
from typing import Any

import pytest
from hypothesis import given, reject, settings
from hypothesis import strategies as st

from buildcheck.candidates.domains import MOST_OF_MANY
from buildcheck.library.catalogue import Catalogue
from buildcheck.model.bikes import Change
from buildcheck.model.terms import InStock, Terms
from buildcheck.remedies import GaveUpError
from buildcheck.vetting import Vetting
from generated import bundled_parts, generated_catalogue
from laws.bench import bike
from oracles import BruteForce, Case, Offer, blocked_case, cpsat_cheapest, first_cost, single_parts
from small_cases import SmallCase, small_case

# The demo's swap is in the bench: its search takes seconds.
SWAPS = (
    ("city-rim", "tolverne-lantern-100@stem"), ("city-rim", "tolverne-hollin-420@handlebar"),
    ("trail-hardtail", "merrowby-sill-780-50@handlebar"), ("trail-hardtail", "wexcombe-hazel-309-350@seatpost"),
    ("tourer-cable", "brackwater-gully-4@front-caliper"), ("road-rim", "merrowby-beck-11-34-11@cassette"),
)  # fmt: skip
RATES = (0.5, 30.0, 60.0, 200.0)
TERMS = 11 if settings.default.max_examples > 1000 else 5  # for each small case, besides the plain ones


def everywhere_else(case: SmallCase) -> frozenset[str]:
    """The positions at which a small case gives no choice, those of which there may be many among them."""
    rows = case.catalogue.standards.positions
    return frozenset(
        {*rows, *case.bike.fitted, *(f"{row}-{number}" for row in rows for number in range(1, MOST_OF_MANY + 1))}
    ) - set(case.choices)


def some_terms(case: SmallCase, random: Random) -> Terms:
    """Another rate; some parts excluded, some in stock, one more position kept."""
    ids = sorted(case.catalogue.ids)
    exclude = frozenset(random.sample(ids, min(len(ids), random.choice((0, 0, 1, 2))))) - {
        part_id for part_id, _ in case.change.fit
    }
    stock = {
        part_id: InStock(random.choice((0, 1, 1, 3)), round(random.uniform(0.0, 60.0), 2))
        for part_id in random.sample(ids, min(len(ids), random.choice((0, 1, 3))))
    }
    kept = random.sample(sorted(case.choices), 1 if len(case.choices) > 2 and random.random() < 0.3 else 0)
    return Terms(random.choice(RATES), everywhere_else(case) | frozenset(kept), exclude, stock)


# With the plain terms: 30 cases here, more than 2,000 in `make prove`.
@settings(max_examples=max(5, settings.default.max_examples // 8))
@given(st.integers(0, 2**32 - 1))
def test_the_first_remedy_costs_what_trying_every_set_finds(seed: int) -> None:
    small, random = small_case(seed, most_sets=60), Random(seed)
    judged: dict[Change, Any] = {}
    for terms in (Terms(60.0, everywhere_else(small)), *(some_terms(small, random) for _ in range(TERMS))):
        case = Case(Vetting(small.bike, small.catalogue, terms), small.change)
        hold_to_every_set(case, BruteForce(case, small.choices, judged))


def hold_to_every_set(case: Case, brute: BruteForce) -> None:
    """The first remedy is the cheapest there is; the others cost no less, and none has a part too many."""
    remedies = list(islice(case.search(), 3))
    assert (remedies[0].cost if remedies else None) == brute.cheapest(), f"{case.change} with {brute.terms}"
    assert [tried.cost for tried in remedies] == sorted(tried.cost for tried in remedies)
    for tried in remedies:
        extra = {
            at: Offer(each.part, each.cost, each.supply is not None, each.onto) for at, each in tried.picked.items()
        }
        assert brute.may_be(extra)
        assert brute.does(extra)
        assert brute.needs_all(extra), f"{case.change}: a part too many in {sorted(tried.picked)}"
        assert tried.cost == sum(offer.price for offer in extra.values()) + brute.work(extra)


# A twin search among all single parts takes no longer than a moment in these; the prove profile asks for larger ones.
MOST_PARTS = len(bundled_parts()) + (1500 if settings.default.max_examples > 1000 else 800)


# Our choice: a search that takes more does not end soon, as where any number of thin spacers may be stacked.
MOST_VETTINGS = 250


@cache
def catalogue_no(number: int) -> Catalogue:
    """One of a few generated catalogues, the largest first."""
    random = Random(number)
    return generated_catalogue(MOST_PARTS if number == 0 else random.randint(len(bundled_parts()), MOST_PARTS), number)


def hold_to_the_other_solver(case: Case) -> None:
    """Found once more by another solver, among all single parts."""
    again = Case(Vetting(case.vetting.bike, case.vetting.catalogue, case.vetting.terms), case.change)
    singles = single_parts(case.vetting.catalogue)
    assert first_cost(case, most=MOST_VETTINGS) == first_cost(again, cpsat_cheapest, singles, MOST_VETTINGS)


@pytest.mark.parametrize(("name", "part"), SWAPS)
def test_another_solver_among_all_single_parts_finds_the_same_for_usual_swaps(name: str, part: str) -> None:
    part_id, _, position = part.partition("@")
    hold_to_the_other_solver(Case(Vetting(bike(name), catalogue_no(0)), Change(((part_id, position),))))


@settings(max_examples=max(4, settings.default.max_examples // 10))
@given(st.integers(0, 2**32 - 1))
def test_so_it_does_for_random_changes(seed: int) -> None:
    random = Random(seed)
    try:
        hold_to_the_other_solver(blocked_case(random, catalogue_no(random.randrange(4))))
    except GaveUpError:  # the search says so, and claims nothing
        reject()
