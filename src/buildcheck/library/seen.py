"""The table of what somebody saw: each kind tells each word of the vocabulary `condition` once, and can tell it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from buildcheck.library.problems import did_you_mean
from buildcheck.model.conditions import SeenLevels
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.parts.base import vocabulary_of
from buildcheck.model.quantities import is_flag

_FLAG = ("yes", "no")
_LEVELS = tuple(name for name in SeenLevels.model_fields if name != "blocks_if")


def conditions_of(tables: dict[str, list[Any]]) -> list[str]:
    """The words for what somebody saw, in the order of their table."""
    rows = (item["row"] for item in tables.get("vocabularies", ()) if item["row"]["id"] == "condition")
    return [term["id"] for row in rows for term in row["terms"]]


def seen_problems(tables: dict[str, list[Any]]) -> Iterator[tuple[Any, str]]:
    """Words that a kind leaves out or tells twice, and what makes them block where its parts cannot tell it."""
    known = conditions_of(tables)
    vocabularies = {item["row"]["id"]: item["row"] for item in tables.get("vocabularies", ())}
    for item in tables.get("kinds", ()):
        kind, seen = item["row"]["id"], item["row"]["seen"]
        for text in (*_not_once(seen, known), *_cannot_tell(kind, seen, vocabularies)):
            yield item, f"seen: {text}"


def _not_once(seen: dict[str, Any], known: Sequence[str]) -> Iterator[str]:
    listed = [word for level in _LEVELS for word in seen[level]]
    for word in known:
        if word not in listed:
            yield f"{word!r} stands under no level: expected under one of {', '.join(_LEVELS)}"
    for word in dict.fromkeys(listed):
        if word not in known:
            yield f"no condition {word!r}{did_you_mean(word, known)}"
        elif listed.count(word) > 1:
            yield f"{word!r} stands under more than one level: which of them is it?"


def _cannot_tell(kind: str, seen: dict[str, Any], vocabularies: dict[str, Any]) -> Iterator[str]:
    lesser = (*seen["caution"], *seen["note"])
    for row in seen.get("blocks_if", ()):
        for word in row["seen"]:
            if word not in lesser:
                yield f"blocks_if: {word!r} is neither a caution nor a note here, so it cannot come to block"
        told = _told_by(kind, row["attribute"], vocabularies)
        if told is None:
            if kind in PART_KINDS:
                yield f"blocks_if: the kind {kind} has no attribute {row['attribute']!r} whose words tell it"
            continue
        words, traits = told
        for name, there in (("words", words), ("other_than", words), ("traits", traits)):
            for word in row.get(name, ()):
                if word not in there:
                    yield f"blocks_if: {name} of {row['attribute']}: no {word!r}{did_you_mean(word, there)}"


def _told_by(kind: str, attribute: str, vocabularies: dict[str, Any]) -> tuple[Sequence[str], Sequence[str]] | None:
    """The words of an attribute and their traits; None if it is no attribute of the kind that has words."""
    record = PART_KINDS.get(kind)
    field = record.model_fields.get(attribute) if record is not None else None
    if record is None or field is None:
        return None
    if is_flag(field.metadata):
        return _FLAG, ()
    row = vocabularies.get(vocabulary_of(record, attribute))
    return None if row is None else ([term["id"] for term in row["terms"]], list(row.get("traits", ())))
