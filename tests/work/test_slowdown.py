"""Conditions make work longer, never shorter; each tells why, and only where it counts."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.problems import InputError
from buildcheck.library.standards import cross_problems, read_tables
from buildcheck.library.yaml_text import read_document
from buildcheck.trade.durations import spread_of
from buildcheck.work.slowdown import Slowness, Times
from laws.bench import bike, catalogue, change, context_of, with_facts

STANDARDS = catalogue().standards
POSITIONS = ["frame", "stem", "seatpost", "cassette"]
# What can be seen on any of these parts.
UNSEEN = {word for kind in POSITIONS for word in STANDARDS.kinds[kind].seen.no_sense}
WORDS = sorted(STANDARDS.slowdowns.keys() - UNSEEN)
TIMES = (2.0, 3.0, 8.0)

times = st.lists(st.floats(0, 200), min_size=3, max_size=3).map(lambda three: tuple(sorted(three)))
noted = st.dictionaries(st.sampled_from(POSITIONS), st.lists(st.sampled_from(WORDS), min_size=1, unique=True))
places = st.sampled_from([*POSITIONS, None])


def slowness(conditions: dict[str, list[str]]) -> Slowness:
    facts = {f"{position}__condition": words for position, words in conditions.items()}
    return Slowness(with_facts(bike("tourer-cable"), **facts), STANDARDS)


@given(noted, times, st.sampled_from(["fit-stem", "free-stuck-part"]), places)
def test_a_condition_never_makes_work_shorter(
    conditions: dict[str, list[str]], book: Times, operation: str, position: str | None
) -> None:
    slow = slowness(conditions)
    found = slow.slowed(book, operation, position)
    assert all(after >= before for before, after in zip(book, found, strict=True))
    assert all(a <= b for a, b in pairwise(found))
    if not slow.notes([(operation, position)]):
        assert found == book
    assert spread_of([found]).p95 >= spread_of([book]).p95 - 1e-6


@given(noted, st.sampled_from(POSITIONS), st.sampled_from(WORDS), places)
def test_one_condition_more_never_makes_it_shorter(
    conditions: dict[str, list[str]], at: str, word: str, position: str | None
) -> None:
    more = {**conditions, at: sorted({*conditions.get(at, ()), word})}
    less, found = (slowness(each).slowed(TIMES, "fit-stem", position) for each in (conditions, more))
    assert all(a <= b for a, b in zip(less, found, strict=True))


def test_a_condition_counts_where_it_was_noted() -> None:
    slow = slowness({"seatpost": ["seized"]})
    assert slow.slowed(TIMES, "take-off-seatpost", "seatpost") == pytest.approx((2.4, 4.5, 24))
    assert slow.slowed(TIMES, "take-off-saddle", "saddle") == TIMES
    assert slow.slowed(TIMES, "record-position", None) == TIMES


def test_what_the_minutes_allow_for_is_not_counted_twice() -> None:
    slow = slowness({"seatpost": ["corroded", "seized"]})
    assert slow.slowed(TIMES, "free-stuck-part", "seatpost") == TIMES
    assert slow.notes([("free-stuck-part", "seatpost")]) == ()


def test_of_two_conditions_the_greater_factor_counts() -> None:
    slow = slowness({"seatpost": ["corroded", "contaminated"]})
    assert slow.slowed((10, 10, 10), "fit-seatpost", "seatpost") == pytest.approx((11, 13, 20))


def test_an_unknown_history_is_told_once_and_counts_everywhere() -> None:
    slow = slowness({"frame": ["unknown history", "bent"], "stem": ["corroded"]})
    assert slow.slowed((10, 10, 10), "record-position", None) == pytest.approx((10, 11, 18))
    notes = slow.notes([("record-position", None), ("fit-stem", "stem"), ("fit-saddle", "saddle")])
    assert [str(note.text) for note in notes] == [
        "frame: nobody knows what was done to it; all work is reckoned with 1 to 1.8 times as long "
        "(common practice, no source)",
        "stem: rusted or eaten by corrosion; work there is reckoned with 1.1 to 2 times as long "
        "(common practice, no source)",
    ]


def test_a_one_piece_part_is_told_once() -> None:
    of = bike("allroad-wired")
    whole = context_of(of, change(of, "wexcombe-veil-420-100@handlebar")).bike
    one_piece = {n: replace(spot, condition=("bent",)) for n, spot in whole.fitted.items() if spot.home == "handlebar"}
    assert sorted(one_piece) == ["handlebar", "stem"]
    slow = Slowness(whole.with_fitted({**whole.fitted, **one_piece}), STANDARDS)
    notes = slow.notes([("fit-stem", "stem"), ("fit-handlebar", "handlebar")])
    assert [note.position for note in notes] == ["handlebar"]


TABLE = """\
vocabularies: [{id: condition, what: w, terms: [{id: corroded, what: w, source: s}]}]
slowdowns:
  - {id: FIRST, low_factor: 1, likely_factor: 1, high_factor: 2, source: s}
  - {id: corroded, low_factor: 1, likely_factor: FACTOR, high_factor: 2, counted_by: [none-such], source: s}
"""


def test_the_table_is_checked() -> None:
    def read(first: str, factor: str) -> dict[str, list[object]]:
        tables: dict[str, list[object]] = {}
        read_tables(read_document(TABLE.replace("FIRST", first).replace("FACTOR", factor), "t.yaml"), 0, tables)
        return tables

    assert cross_problems(read("corrodid", "1.5")) == [
        "t.yaml:3: meaning: id: no condition 'corrodid' — did you mean \"corroded\"?",
        "t.yaml:4: meaning: counted_by: no operation 'none-such'",
    ]
    assert "the slowdowns row 'corroded' stands there twice" in cross_problems(read("corroded", "1.5"))[0]
    for wrong, text in (("3", "factors must run low <= likely <= high"), ("0.5", "a number of at least 1 is expected")):
        with pytest.raises(InputError, match=text):
            read("corroded", wrong)
