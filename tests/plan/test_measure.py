"""What to measure first."""

from __future__ import annotations

from types import SimpleNamespace

import pytest

from buildcheck.fit.view import View
from buildcheck.model.findings import Evidence, Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.plan.measure import how_to_measure, measure_first
from laws.bench import bike, context_of, vetting, with_facts


def unknown(name: str, *items: tuple[str, str, str | None], level: Level = Level.UNKNOWN) -> Finding:
    evidence = tuple(
        Evidence(position, attribute, value, "mm", Origin.STATED, "") for position, attribute, value in items
    )
    return Finding(name, level, "", ("fork",), evidence, undecided=tuple(item for item in evidence if item.open))


def view() -> View:
    return context_of(bike("allroad-wired")).view


def test_each_fact_stands_once_with_all_that_it_decides() -> None:
    rows = measure_first(view(), [
        unknown("steerer-too-short", ("fork", "steerer_length_mm", None), ("stem", "stack_mm", "40")),
        unknown("steerer-too-long", ("fork", "steerer_length_mm", None)),
    ])  # fmt: skip
    assert [(row.position, row.attribute, row.decides) for row in rows] == [
        ("fork", "steerer_length_mm", ("steerer-too-long", "steerer-too-short"))
    ]


def test_an_interval_is_worth_measuring() -> None:
    rows = measure_first(view(), [unknown("line-too-short", ("front-brake-line", "length_mm", "800..900"))])
    assert [row.attribute for row in rows] == ["length_mm"]


def test_only_undecided_findings_ask_for_measuring() -> None:
    assert (
        measure_first(view(), [unknown("line-too-short", ("front-brake-line", "length_mm", None), level=Level.BLOCKS)])
        == ()
    )


def test_what_settles_most_per_minute_comes_first() -> None:
    many = [unknown(f"rule-{index}", ("fork", "steerer_length_mm", None)) for index in range(30)]
    rows = measure_first(view(), [unknown("one", ("stem", "stack_mm", None)), *many])
    worth = [len(row.decides) / row.minutes for row in rows]
    assert worth == sorted(worth, reverse=True)
    assert rows[0].position == "fork"


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
