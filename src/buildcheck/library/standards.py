"""Reading catalog/standards and catalog/workshop."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from buildcheck.library.contradictions import constraint_problems
from buildcheck.library.function_rows import function_problems
from buildcheck.library.problems import InputError, Problem, did_you_mean
from buildcheck.library.records import validated
from buildcheck.library.seen import conditions_of, seen_problems
from buildcheck.library.yaml_text import Document, Where
from buildcheck.model.constraints import Constraint
from buildcheck.model.counter import FollowUp, KeySizes, Sort, TradeWord
from buildcheck.model.functions import FunctionRow
from buildcheck.model.parts import PART_KINDS, Record
from buildcheck.model.quantities import Unit
from buildcheck.model.standards import (
    Contact,
    Interface,
    JointRow,
    KindRow,
    Opening,
    OtherPlace,
    PositionRow,
    Standards,
    VocabularyRow,
)
from buildcheck.model.workshop import AdviceRow, Crowfoot, Fastener, Measurement, Operation, Shop, Slowdown, Wrench

TABLES: dict[str, type[Record]] = {
    "vocabularies": VocabularyRow,
    "interfaces": Interface,
    "joints": JointRow,
    "contacts": Contact,
    "kinds": KindRow,
    "constraints": Constraint,
    "positions": PositionRow,
    "functions": FunctionRow,
    "openings": Opening,
    "operations": Operation,
    "measurements": Measurement,
    "slowdowns": Slowdown,
    "shop": Shop,
    "fasteners": Fastener,
    "wrenches": Wrench,
    "crowfeet": Crowfoot,
    "advice": AdviceRow,
    "follow_ups": FollowUp,
    "trade_words": TradeWord,
    "key_sizes": KeySizes,
    "sorts": Sort,
}

# What operations say of lines.
_PART_CALLS = ("takes_off", "fits", "moves", "reseats", "sets", "undone")
_LINE_CALLS = ("threads", "leads_in", "relays", "looks_over", "renews_inner", "hooks_up", "opens_far")
# (table, column, what its words name): checked once all tables are read.
_REFERENCES = (
    ("joints", "interface", "interfaces"),
    ("joints", "at", "positions"),
    ("joints", "a_kinds", "kinds"),
    ("joints", "b_kinds", "kinds"),
    ("contacts", "at", "positions"),
    ("contacts", "of", "positions"),
    ("kinds", "id", "kinds"),
    ("constraints", "kinds", "kinds or *"),
    ("positions", "kinds", "kinds"),
    ("positions", "on", "positions"),
    ("positions", "held_by", "positions"),
    ("positions", "needed_unless", "positions"),
    ("positions", "set_after", "positions"),
    ("positions", "hides", "openings"),
    ("positions", "ends", "positions"),
    ("functions", "line", "positions"),
    ("functions", "through", "positions"),
    *(("operations", column, "kinds") for column in (*_LINE_CALLS, *_PART_CALLS)),
    ("operations", "after", "operations"),
    ("operations", "proven_by", "operations"),
    *(("operations", column, "conditions") for column in ("takes_off_if", "mends")),
    ("operations", "waited_by", "operations"),
    ("measurements", "kinds", "kinds"),
    *((table, "at", "positions") for table in ("fasteners", "advice")),
    *((table, column, "operations") for table in ("fasteners", "advice") for column in ("operations", "elsewhere")),
    ("advice", "done_by", "operations"),
    ("fasteners", "contacts", "contacts"),
    ("fasteners", "crowfoot", "crowfeet"),
    ("trade_words", "kinds", "kinds"),
    ("trade_words", "positions", "positions"),
    ("key_sizes", "id", "kinds"),
    ("slowdowns", "id", "conditions"),
    ("slowdowns", "counted_by", "operations"),
)
# (column of a position, the attribute of a part by which it is known that a position for such parts has to say it).
_SAID_OF = {"duty": "hand", "inner_side": "side_a_mm"}
_ONCE = (
    "vocabularies", "interfaces", "contacts", "kinds", "positions", "functions", "openings", "operations",
    "fasteners", "wrenches", "crowfeet", "advice", "slowdowns", "constraints", "follow_ups", "trade_words",
    "key_sizes", "sorts",
)  # fmt: skip


def read_tables(document: Document, root: int, tables: dict[str, list[Any]]) -> None:
    """Check one file of standards and add its rows to `tables`. Raises InputError.

    `root` is the number of the catalogue folder that the file stands in.
    """
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
                problems.extend(_traits_unsaid(row, document, (name, index)) if record is VocabularyRow else ())
                place = document.place((name, index))
                placed = OtherPlace.rows_of(row) if record is JointRow else (row,)
                tables.setdefault(name, []).extend(
                    {"row": each, "where": place.at_line, "root": root} for each in placed
                )
    if problems:
        raise InputError(problems)


def _traits_unsaid(row: dict[str, Any], document: Document, path: Where) -> Iterator[Problem]:
    """Terms that leave a trait of their vocabulary open, or have one that the vocabulary does not know."""
    traits = row.get("traits", {})
    for index, term in enumerate(row["terms"]):
        place = document.place((*path, "terms", index))
        said = term.get("traits", {})
        for trait in traits.keys() - said.keys():
            yield Problem(place, f"the term {term['id']!r} does not say {trait!r}: {traits[trait]}", "meaning")
        for trait in said.keys() - traits.keys():
            text = f"{trait!r} is no trait of the vocabulary {row['id']!r}{did_you_mean(trait, traits)}"
            yield Problem(place, text, "meaning")


def standards_from(tables: dict[str, list[Any]]) -> Standards:
    """The standards as records, from rows that were checked when they were read."""

    def rows(name: str) -> list[Record]:
        return [TABLES[name].model_validate(item["row"]) for item in tables.get(name, ())]

    return Standards(rows, lambda name: (item["row"] for item in tables.get(name, ())))


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
    """Rows that stand there twice, or name a row that is not there; each as `file:line: meaning: text`."""
    ids = {name: [item["row"].get("id") for item in tables.get(name, ())] for name in TABLES}
    kinds = list(PART_KINDS)
    known = {**ids, "kinds": kinds, "kinds or *": [*kinds, "*"], "conditions": conditions_of(tables)}
    return [
        f"{item['where']}: meaning: {text}"
        for item, text in (
            *_rows_twice(tables, ids), *_unknown_names(tables, known), *_unsaid(tables, ids), *_no_tolerance(tables),
            *seen_problems(tables), *constraint_problems(tables), *function_problems(tables),
        )
    ]


def _unsaid(tables: dict[str, list[Any]], ids: dict[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    """What a position has to say of the parts that it takes, and does not; kinds that no row tells of."""
    for item in tables.get("positions", ()):
        row = item["row"]
        records = {kind: PART_KINDS[kind] for kind in row.get("kinds", ()) if kind in PART_KINDS}
        for kind, record in records.items():
            if kind not in ids["kinds"]:
                yield item, f"kinds: {kind} has no row in the table of kinds, which says what it is to a bike"
            for column, record_says in _SAID_OF.items():
                if record_says in record.model_fields and column not in row:
                    yield item, f"{column!r} is missing: a position that takes the kind {kind} says it"
        for column, record_says in _SAID_OF.items():
            if column in row and not any(record_says in record.model_fields for record in records.values()):
                yield item, f"{column}: no kind that this position takes has the attribute {record_says}"


def _no_tolerance(tables: dict[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    """Rows that compare sizes and do not state the tolerance of a measurement."""
    interfaces = {item["row"]["id"]: item for item in tables.get("interfaces", ())}
    used: dict[str, set[str]] = {}
    for item in tables.get("joints", ()):
        row = item["row"]
        used.setdefault(row["interface"], set()).update((row["a"].rpartition(".")[2], row["b"]))
    for name, item in interfaces.items():
        rule = item["row"]["mates"]
        is_limit = rule["kind"] in ("at-least", "at-most")
        is_size = rule["kind"] == "equal" and any(map(_is_size, used.get(name, ())))
        if (is_limit or is_size) and rule.get("tolerance") is None:
            yield item, f"the interface {name} compares sizes and states no tolerance: 0 is said, too"


def _is_size(attribute: str) -> bool:
    """Is this a number with a unit on some kind of part? What is worked out of a code has its unit in its name."""
    fields = [record.model_fields[attribute] for record in PART_KINDS.values() if attribute in record.model_fields]
    return any(isinstance(mark, Unit) for field in fields for mark in field.metadata) or (
        not fields and attribute.endswith("_mm")
    )


def _rows_twice(tables: dict[str, list[Any]], ids: dict[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    for name in _ONCE:
        for item in tables.get(name, ()):
            if ids[name].count(item["row"]["id"]) > 1:
                yield item, f"the {name} row {item['row']['id']!r} stands there twice"
    shops = tables.get("shop", ())
    for item in shops:
        if sum(other["root"] == item["root"] for other in shops) > 1:
            yield item, "the shop is described twice in one catalogue folder; of two folders the later one counts"


def _unknown_names(tables: dict[str, list[Any]], known: dict[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    singular = {"interfaces": "interface", "positions": "position", "kinds": "kind", "operations": "operation",
                "contacts": "contact", "crowfeet": "crowfoot",
                "conditions": "condition", "kinds or *": "kind"}  # fmt: skip
    for table, column, target in _REFERENCES:
        for item in tables.get(table, ()):
            names = item["row"].get(column) or ()
            if isinstance(names, dict):
                names = [name for group in names.values() for name in group]
            # A word may be written as a number.
            for name in map(str, names if isinstance(names, (list, tuple)) else [names]):
                if name not in known[target]:
                    yield item, f"{column}: no {singular[target]} {name!r}{did_you_mean(name, known[target])}"
