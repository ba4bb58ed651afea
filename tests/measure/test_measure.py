"""What to measure first."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from types import SimpleNamespace
from typing import NamedTuple

import pytest

from buildcheck.fit.view import View
from buildcheck.measure.search import Answers, measure_first
from buildcheck.measure.values import how_to_measure
from buildcheck.model.findings import Evidence, Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from buildcheck.model.report import MeasureFirst
from buildcheck.model.sentences import NOTHING
from laws.bench import bike, catalogue, context_of, vetting, with_facts
from laws.strategies import parts_for


def unknown(name: str, *items: tuple[str, str, Interval | None], level: Level = Level.UNKNOWN) -> Finding:
    evidence = tuple(
        Evidence(position, attribute, None if size is None else str(size), "mm", Origin.STATED, "", size)
        for position, attribute, size in items
    )
    return Finding(name, level, NOTHING, ("fork",), evidence, undecided=tuple(item for item in evidence if item.open))


FORK, STEM = ("fork", "steerer_length_mm"), ("stem", "stack_mm")


def view() -> View:
    return context_of(bike("allroad-wired")).view


class Bench(NamedTuple):
    """A vetting as the search sees it, without a bike."""

    vet: Callable[[Answers, Collection[str] | None], Sequence[Finding]]

    def parts_like(self, position: str) -> list[Part]:
        return [catalogue().part(each) for each in parts_for(position)]


def bench(*findings: Finding, blocks_at: Callable[[float], bool] = lambda size: False) -> Bench:
    """A bench on which a finding is gone once its facts are known, unless a known size blocks."""

    def vet(told: Answers, names: Collection[str] | None) -> list[Finding]:
        if any(blocks_at(value.low) for value in told.values()):
            return [Finding("blocked", Level.BLOCKS, NOTHING, ("fork",))]
        return [each for each in findings if {(item.position, item.attribute) for item in each.undecided} - told.keys()]

    return Bench(vet)


def rows(*findings: Finding, blocks_at: Callable[[float], bool] = lambda size: False) -> list[MeasureFirst]:
    return list(measure_first(view(), findings, bench(*findings, blocks_at=blocks_at)))


def test_each_fact_stands_once_with_all_that_it_decides() -> None:
    found = rows(
        unknown("steerer-too-short", (*FORK, None), ("stem", "stack_mm", Interval(40, 40))),
        unknown("steerer-too-long", (*FORK, None)),
    )  # fmt: skip
    assert [(row.position, row.attribute, row.decides) for row in found] == [
        (*FORK, ("steerer-too-long", "steerer-too-short"))
    ]


def test_an_interval_is_worth_measuring() -> None:
    (row,) = rows(unknown("line-too-short", ("front-brake-line", "length_mm", Interval(800, 900))))
    assert (row.attribute, row.settles) == ("length_mm", row.outcomes)


def test_only_undecided_findings_ask_for_measuring() -> None:
    assert rows(unknown("line-too-short", ("front-brake-line", "length_mm", None), level=Level.BLOCKS)) == []


def test_nothing_is_asked_where_something_blocks_anyway() -> None:
    blocks = Finding("crank-arm-hits-stay", Level.BLOCKS, NOTHING, ("crankset",))
    assert rows(unknown("steerer-too-short", (*FORK, None)), blocks) == []


def test_what_settles_most_per_minute_comes_first() -> None:
    many = [unknown(f"rule-{index}", (*FORK, None)) for index in range(30)]
    found = rows(unknown("one", (*STEM, None)), *many)
    assert [(row.position, row.settles * 31) for row in found] == [
        ("fork", 30 * found[0].outcomes), ("stem", found[1].outcomes)
    ]  # fmt: skip


def test_a_value_that_blocks_settles_everything() -> None:
    one, other = unknown("one", (*FORK, None)), unknown("other", (*STEM, None))
    found = {row.position: row for row in rows(one, other, blocks_at=lambda size: size > 45)}
    sizes = found["fork"].outcomes // 2
    assert found["fork"].settles == 2 * sizes  # each steerer is longer
    assert 0 < found["stem"].settles <= found["stem"].outcomes


def test_two_facts_of_one_finding_settle_nothing_by_themselves() -> None:
    found = rows(unknown("one", (*FORK, None), (*STEM, None)))
    assert {(row.position, row.settles) for row in found} == {("fork", 0), ("stem", 0)}


def test_of_two_facts_one_of_which_is_enough_the_better_one_is_asked() -> None:
    finding = unknown("one", (*FORK, None), (*STEM, None))
    either = bench()._replace(vet=lambda told, names: [] if told else [finding])
    (row,) = measure_first(view(), [finding], either)
    assert row.position == "stem"  # 3 minutes against 12


def test_a_fact_that_comes_up_only_then_is_on_the_list() -> None:
    first, second = unknown("one", (*FORK, None)), unknown("two", (*STEM, None))

    def vet(told: Answers, names: Collection[str] | None) -> list[Finding]:
        return [first] if FORK not in told else [second] if STEM not in told and told[FORK].low < 250 else []

    found = measure_first(view(), [first], bench()._replace(vet=vet))
    assert [(row.position, row.decides, row.settles > 0) for row in found] == [
        ("fork", ("one",), True), ("stem", ("two",), False)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("position", "attribute"),
    [
        ("fork", "steerer_length_mm"),
        ("frame", "passages.port.bore.diameter_mm"),
        ("nowhere", "anything"),
        ("stem", "no_such"),
    ],
)
def test_there_is_always_a_way_to_measure(position: str, attribute: str) -> None:
    how = how_to_measure(view(), position, attribute)
    assert how.how
    assert how.minutes > 0


def test_without_a_row_it_is_looked_up() -> None:
    of = view()
    bare = View(of.bike, SimpleNamespace(measurements=()))
    assert "papers" in how_to_measure(bare, "fork", "steerer_length_mm").how


def test_the_report_lists_what_is_missing() -> None:
    of = with_facts(bike("allroad-wired"), fork__steerer_length_mm="unknown")
    report = vetting(of).check()
    first = report.measure_first[0]
    assert (first.position, first.attribute) == ("fork", "steerer_length_mm")
    assert "steerer-too-short" in first.decides
