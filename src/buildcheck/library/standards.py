"""Reading catalog/standards and catalog/workshop."""

from __future__ import annotations

from typing import Any, TypeVar

from buildcheck.library.problems import InputError, Problem, did_you_mean
from buildcheck.library.records import validated
from buildcheck.library.yaml_text import Document
from buildcheck.model.parts import PART_KINDS, Record
from buildcheck.model.standards import (
    Interface,
    JointRow,
    Measurement,
    Opening,
    Operation,
    PositionRow,
    Standards,
    VocabularyRow,
)

R = TypeVar("R", bound=Record)

TABLES: dict[str, type[Record]] = {
    "vocabularies": VocabularyRow,
    "interfaces": Interface,
    "joints": JointRow,
    "positions": PositionRow,
    "openings": Opening,
    "operations": Operation,
    "measurements": Measurement,
}


def read_tables(document: Document, tables: dict[str, list[Any]]) -> None:
    """Check one file of standards and add its rows to `tables`. Raises InputError."""
    if not isinstance(document.value, dict):
        raise InputError([Problem(document.place(()), "tables of rows are expected here", "schema")])
    problems: list[Problem] = []
    for name, rows in document.value.items():
        record = TABLES.get(name)
        if record is None:
            text = f"{name!r} is not a table of the standards{did_you_mean(name, TABLES)}"
            problems.append(Problem(document.key_place((name,)), text, "schema"))
            continue
        if not isinstance(rows, list):
            problems.append(Problem(document.place((name,)), f"{name} is a list of rows", "schema"))
            continue
        for index, row in enumerate(rows):
            try:
                validated(record, row, document, (name, index))
            except InputError as error:
                problems.extend(error.problems)
            else:
                place = document.place((name, index))
                tables.setdefault(name, []).append({"row": row, "where": f"{place.file}:{place.line}"})
    if problems:
        raise InputError(problems)


def standards_from(tables: dict[str, list[Any]]) -> Standards:
    """The standards as records, from rows that were checked when they were read."""

    def rows(name: str, record: type[R]) -> list[R]:
        return [record.model_validate(item["row"]) for item in tables.get(name, ())]

    return Standards(
        vocabularies={row.id: row for row in rows("vocabularies", VocabularyRow)},
        interfaces={row.id: row for row in rows("interfaces", Interface)},
        joints=tuple(sorted(rows("joints", JointRow), key=lambda row: row.name)),
        positions={row.id: row for row in rows("positions", PositionRow)},
        openings={row.id: row for row in rows("openings", Opening)},
        operations={row.id: row for row in rows("operations", Operation)},
        measurements=tuple(rows("measurements", Measurement)),
    )


def words_from(tables: dict[str, list[Any]]) -> dict[str, dict[str, str]]:
    """For each vocabulary: every id and trade name in lower case, with the neutral id."""
    vocabularies: dict[str, dict[str, str]] = {
        "interface": {item["row"]["id"]: item["row"]["id"] for item in tables.get("interfaces", ())}
    }
    for item in tables.get("vocabularies", ()):
        words = vocabularies.setdefault(item["row"]["id"], {})
        for term in item["row"]["terms"]:
            for name in (*term.get("also_called", ()), term["id"]):
                words[str(name).casefold()] = str(term["id"])
    return vocabularies


def openings_from(tables: dict[str, list[Any]]) -> frozenset[str]:
    """Every name that a passage may start or end at."""
    named = {item["row"]["id"] for item in (*tables.get("openings", ()), *tables.get("positions", ()))}
    return frozenset(named | {"@below", "@above"})


def cross_problems(tables: dict[str, list[Any]]) -> list[str]:
    """Rows that name a row that is not there; each as `file:line: text`."""
    problems: list[str] = []
    ids = {name: [item["row"].get("id") for item in rows] for name, rows in tables.items()}
    for name in ("vocabularies", "interfaces", "positions", "openings", "operations"):
        for item in tables.get(name, ()):
            if ids[name].count(item["row"]["id"]) > 1:
                problems.append(f"{item['where']}: meaning: the {name} row {item['row']['id']!r} stands there twice")
    positions = set(ids.get("positions", ()))
    for item in tables.get("joints", ()):
        row = item["row"]
        if row["interface"] not in ids.get("interfaces", ()):
            hint = did_you_mean(row["interface"], ids.get("interfaces", ()))
            problems.append(f"{item['where']}: meaning: no interface {row['interface']!r}{hint}")
        for position in row["at"]:
            if position not in positions:
                problems.append(
                    f"{item['where']}: meaning: no position {position!r}{did_you_mean(position, positions)}"
                )
    for item in tables.get("positions", ()):
        for kind in item["row"]["kinds"]:
            if kind not in PART_KINDS:
                problems.append(f"{item['where']}: meaning: no kind {kind!r}{did_you_mean(kind, PART_KINDS)}")
    return problems
