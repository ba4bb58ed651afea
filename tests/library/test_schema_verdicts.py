"""The schemas refuse what the reader refuses: each key of each record left out, added, misspelt and mistyped."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from buildcheck.library.bikes import bike_from
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_folder
from buildcheck.library.problems import InputError, Problem
from buildcheck.library.records import read_part, validated, with_neutral_words
from buildcheck.library.standards import TABLES
from buildcheck.library.yaml_text import Document, read_file
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.texts import TextFile
from command import run
from library.test_schemas import CHECKS

Path = tuple[str | int, ...]
NO_WORD = "no such word"
WRONG: tuple[object, ...] = (NO_WORD, "unknown", "1..2", -1000, 2.5, True, None, [], [NO_WORD], {}, {"no": "such"})


def _paths(value: Any, path: Path = ()) -> Iterator[tuple[Path, Any]]:
    """Each value inside a value, and the way to it."""
    inside: Any = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, item in inside:
        yield (*path, key), item
        yield from _paths(item, (*path, key))


def _changed(value: Any, path: Path, change: Callable[[Any, Any], None]) -> Any:
    """A copy in which the mapping or list that holds the end of the path is changed."""
    copy: Any = value.copy()
    if len(path) == 1:
        change(copy, path[0])
    else:
        copy[path[0]] = _changed(value[path[0]], path[1:], change)
    return copy


def spoilt(value: Any, path: Path) -> Iterator[tuple[str, Any]]:
    """The value with the one at the path left out, misspelt, mistyped, or with a key beside it that nobody knows."""
    yield "left out", _changed(value, path, lambda owner, key: owner.__delitem__(key))
    if isinstance(path[-1], str):
        yield "misspelt", _changed(value, path, lambda owner, key: owner.update({f"{key}_x": owner.pop(key)}))
        yield "with another", _changed(value, path, lambda owner, _: owner.update(no_such_key=1))
    for wrong in WRONG:
        yield f"as {json.dumps(wrong)}", _changed(value, path, lambda owner, key, it=wrong: owner.__setitem__(key, it))


def differences(schema: str, value: Any, paths: list[Path], reader: Callable[[Any], bool]) -> list[str]:
    """Where schema and reader do not agree whether a spoilt value can be used."""
    assert CHECKS[schema].is_valid(value)
    assert reader(value)
    return [
        f"{path} {what}: the schema {'takes' if taken else 'refuses'} it"
        for path in paths
        for what, spoiled in spoilt(value, path)
        if (taken := CHECKS[schema].is_valid(spoiled)) is not reader(spoiled)
    ]


class Unseen:
    """Tells the first value of its sort from those that spoil no new key."""

    def __init__(self) -> None:
        self._seen: set[Path] = set()

    def paths(self, value: Any, kind: str, any_key: tuple[str, ...] = ()) -> list[Path]:
        """The ways in a value of which none like it was seen; below a key in any_key all keys are alike."""
        found = []
        for path, _ in _paths(value):
            steps = ("*" if i and path[i - 1] in any_key else step for i, step in enumerate(path))
            sort = (kind, *(step for step in steps if isinstance(step, str)))
            if sort not in self._seen:
                self._seen.add(sort)
                found.append(path)
        return found


def _at_schema_stage(problem: Problem) -> bool:
    return problem.stage == "schema" or "is not a word of the vocabulary" in problem.text


def _taken(read: Callable[[], object]) -> bool:
    try:
        read()
    except InputError as error:
        return not any(_at_schema_stage(problem) for problem in error.problems)
    return True


@cache
def _raw_parts() -> list[tuple[Any, Document]]:
    documents = [read_file(path) for path in sorted((bundled_folder() / "parts").glob("*.yaml"))]
    return [(part, document) for document in documents for part in _mapping(document)["parts"]]


def _mapping(document: Document) -> dict[str, Any]:
    assert isinstance(document.value, dict)
    return document.value


@pytest.mark.parametrize("kind", sorted(PART_KINDS))
def test_parts(kind: str, catalogue: Catalogue) -> None:
    unseen, found, tried = Unseen(), [], 0
    for raw, document in _raw_parts():
        if raw["kind"] == kind:

            def reader(value: Any, document: Document = document) -> bool:
                return _taken(lambda: read_part(value, document, (), catalogue.words, catalogue.openings))

            paths = unseen.paths(raw, kind)
            tried += len(paths)
            found += differences("part", raw, paths, reader)
    assert found == []
    assert tried >= 4
