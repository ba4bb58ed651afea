"""What rows of the table of functions say of other tables, checked once all of them are read."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from buildcheck.library.problems import did_you_mean
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.parts.base import vocabulary_of

Rows = Mapping[str, Mapping[str, Any]]


def function_problems(tables: Mapping[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    """Chains that lead where their line does not, through what no bike needs, or by a link that no word tells."""
    positions = {item["row"]["id"]: item["row"] for item in tables.get("positions", ())}
    vocabularies = {item["row"]["id"]: item["row"] for item in tables.get("vocabularies", ())}
    for item in tables.get("functions", ()):
        row = item["row"]
        for text in (
            *_astray(row, positions), *_unneeded(row, positions), *_without_attribute(row, positions),
            *_unlinked(row, positions, vocabularies),
        ):  # fmt: skip
            yield item, text


def _astray(row: Mapping[str, Any], positions: Rows) -> Iterator[str]:
    """Ends of the chain that are no ends of its line."""
    ends = positions.get(row.get("line", ""), {}).get("ends", {})
    for column, end in (("controls", "from"), ("works", "to")):
        known = ends.get(end, ())
        for each in row.get(column, ()):
            if each["at"] not in known:
                yield f"{column}: {row['line']} does not lead {end} {each['at']!r}{did_you_mean(each['at'], known)}"


def _unneeded(row: Mapping[str, Any], positions: Rows) -> Iterator[str]:
    for name in row.get("through", ()):
        other = positions.get(name, {})
        if other and not (other.get("needed") or other.get("needed_if")):
            yield f"through: the position {name} may stay empty: it is neither needed nor needed_if"


def _without_attribute(row: Mapping[str, Any], positions: Rows) -> Iterator[str]:
    """What is asked of a position where no part has it."""
    for column in ("controls", "works"):
        for each in row.get(column, ()):
            kinds = positions.get(each["at"], {}).get("kinds", ())
            for name in (each.get("by"), each.get("also")):
                if name is not None and not any(name in PART_KINDS[kind].model_fields for kind in kinds):
                    yield f"{column}: no kind of part at {each['at']} has the attribute {name!r}"


def _unlinked(row: Mapping[str, Any], positions: Rows, vocabularies: Rows) -> Iterator[str]:
    for each in row.get("works", ()):
        kinds = positions.get(each["at"], {}).get("kinds", ())
        for name in {vocabulary_of(PART_KINDS[kind], each["by"]) for kind in kinds} - {""}:
            for link in row["links"]:
                if link not in vocabularies.get(name, {}).get("traits", {}):
                    yield f"links: {link} is no trait of the words of {each['by']} at {each['at']}"
