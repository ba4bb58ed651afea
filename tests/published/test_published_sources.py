"""Whose figures the tables and rules hold: how many have only memory behind them, and which must have more."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from buildcheck.rules import RULES
from plain_yaml import plain

CATALOG = Path(__file__).parents[2] / "catalog"
FILES = sorted([*CATALOG.glob("standards/*.yaml"), *CATALOG.glob("workshop/*.yaml")])
MEMORY = "from memory"
# What is left to find a source for; it may only fall.
CEILING = 256
# What tells no figure of the trade: names, what belongs to what, and our own estimates of minutes.
NO_FIGURE = {
    "a_where", "also_called", "at", "elsewhere", "id", "kinds", "minutes", "name", "operations", "order", "pairs",
    "source", "tools", "where",
}  # fmt: skip
# A torque, a thread, or the fluid and the pressure of a brake or a tyre.
WEIGHTY = re.compile(r"N·m|_nm\b|\bM\d|\btpi\b|\bin x \d|x 1 mm|\d (?:bar|kPa|psi|°C)\b|\bDOT\b", re.IGNORECASE)
PERSON = re.compile(r"\b[A-Z]\. (?:[A-Z]\. )?[A-Z][a-z]+|\bet al\b")


class Row(NamedTuple):
    """A row of a table, or a rule: where it is, its source, and the figures that it tells."""

    where: str
    source: str
    figures: tuple[str, ...]


def _figures(row: dict[str, Any]) -> Iterator[str]:
    for name, value in row.items():
        if name not in NO_FIGURE:
            yield from (f"{name} {one}" for one in _sizes(value) if not (name == "tolerance" and one == "0"))


def _sizes(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        yield from _figures(value) if "source" not in value else ()
    elif isinstance(value, list):
        for one in value:
            yield from _sizes(one)
    elif not isinstance(value, bool) and re.search(r"\d", str(value)):
        yield str(value)


def _rows(document: Any, where: str) -> Iterator[Row]:
    if isinstance(document, list):
        for one in document:
            yield from _rows(one, where)
    elif isinstance(document, dict):
        if "source" in document:
            name = document.get("name", next(iter(document.values())))
            yield Row(f"{where}: {name}", document["source"], tuple(_figures(document)))
        for value in document.values():
            yield from _rows(value, where)


ROWS = [row for file in FILES for row in _rows(plain(file), file.name)]
ROWS += [
    Row(f"rules: {each.name}", each.source, tuple(re.findall(r".*\d.*", f"{each.source}\n{each.page}")))
    for each in RULES
]
REMEMBERED = [row for row in ROWS if MEMORY in row.source and row.figures]


def test_every_row_is_looked_at() -> None:
    assert len(ROWS) > 1200
    assert sum(bool(row.figures) for row in ROWS) > 500


def test_figures_with_only_memory_behind_them_grow_fewer() -> None:
    assert len(REMEMBERED) <= CEILING


def test_no_torque_thread_fluid_or_pressure_rests_on_memory() -> None:
    assert [row.where for row in REMEMBERED if any(WEIGHTY.search(figure) for figure in row.figures)] == []


@pytest.mark.parametrize("figure", ["low_nm 5", "what M12 thread", "how 24 or 26 tpi", "how 1.5 to 2.5 bar", "DOT 4"])
def test_what_weighs_is_told_from_the_rest(figure: str) -> None:
    assert WEIGHTY.search(figure)
    assert not WEIGHTY.search("how Stems for 35.0 bars have 38 to 42 mm")


def test_a_source_names_no_person() -> None:
    assert [row.where for row in ROWS if PERSON.search(row.source)] == []
