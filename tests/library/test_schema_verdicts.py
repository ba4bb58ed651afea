"""The schemas refuse what the reader refuses: each key of each record left out, added, misspelt and mistyped."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache, partial
from typing import Any

import pytest

from buildcheck.library.bikes import bike_from
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_folder
from buildcheck.library.problems import InputError, Problem
from buildcheck.library.records import read_part, validated
from buildcheck.library.standards import TABLES
from buildcheck.library.yaml_text import Document, read_file
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.texts import TextFile
from command import run
from library.test_schemas import CHECKS

Path = tuple[str | int, ...]
NO_WORD = "no such word"
WRONG: tuple[object, ...] = (NO_WORD, "unknown", "1..2", -1000, 2.5, True, None, [], [NO_WORD], {}, {"no": "such"})
# What a schema cannot see: fields that contradict each other, and names with a grammar of their own.
BEYOND_SCHEMAS = (
    "does not fit into a section", "headset code", "stand together or not at all", "under operations or elsewhere",
    "must be above", "must not be above", "must run low <= likely <= high", "not the name of a metric thread",
    "works something, or goes through parts",
    "one of words, other_than and traits", "either a, compare and b are expected", "is no attribute, no number",
    "endangers is stated of", "use proves nothing of a caution",
)  # fmt: skip
# Columns of tables whose words the schema knows, but not the reader's schema stage.
ONLY_THE_SCHEMA_KNOWS_THE_WORDS = {("contacts", "a_is"), ("contacts", "b_is"), ("slowdowns", "id")}


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
    """Tells the keys that a value has and none before it had."""

    def __init__(self) -> None:
        self._seen: set[Path] = set()

    def paths(self, value: Any, any_key: tuple[str, ...] = ()) -> list[Path]:
        """The ways in a value of which none like it was seen; below a key in any_key all keys are alike."""
        found = []
        for path, _ in _paths(value):
            steps = tuple("*" if i and path[i - 1] in any_key else step for i, step in enumerate(path))
            sort = tuple(step for step in steps if isinstance(step, str))
            if sort not in self._seen:
                self._seen.add(sort)
                found.append(path)
        return found


def _at_schema_stage(problem: Problem) -> bool:
    if any(text in problem.text for text in BEYOND_SCHEMAS):
        return False
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
            read = partial(_part_is_taken, document, catalogue)
            paths = unseen.paths(raw)
            tried += len(paths)
            found += differences("part", raw, paths, read)
    assert found == []
    assert tried >= len(("kind", "id", "maker", "name"))


def _part_is_taken(document: Document, catalogue: Catalogue, value: Any) -> bool:
    return _taken(lambda: read_part(value, document, (), catalogue.words, catalogue.openings))


def test_bikes(catalogue: Catalogue) -> None:
    unseen, found, tried = Unseen(), [], 0
    own = {**_raw_parts()[0][0], "id": "one-of-a-kind"}
    for path in sorted((bundled_folder() / "bikes").glob("*.yaml")):
        document = read_file(path)
        bike = {**_mapping(document), "own_parts": [own]}
        # What is measured may be any fact of any kind: there the schema takes everything.
        paths = [path for path in unseen.paths(bike, ("parts",)) if "measured" not in path[:-1]]
        tried += len(paths)
        found += differences("bike", bike, paths, partial(_bike_is_taken, document, catalogue))
    assert found == []
    assert tried >= len(("bike", "name", "use", "note", "parts", "*", "part", "measured", "on", "from", "to"))


def _bike_is_taken(document: Document, catalogue: Catalogue, value: Any) -> bool:
    return _taken(lambda: bike_from(replace(document, value=value), catalogue))


@pytest.mark.parametrize("folder", ["standards", "workshop"])
def test_tables(folder: str) -> None:
    unseen, found, tables = Unseen(), [], set()
    for path in sorted((bundled_folder() / folder).glob("*.yaml")):
        document = read_file(path)
        for name, rows in _mapping(document).items():
            tables.add(name)
            for row in rows:
                table = {name: [row]}
                paths = [path for path in unseen.paths(table) if len(path) > len((name, 0))]
                paths = [path for path in paths if (name, path[-1]) not in ONLY_THE_SCHEMA_KNOWS_THE_WORDS]
                found += differences(name, table, paths, partial(_table_is_taken, document, name))
    assert found == []
    assert tables < set(TABLES)


def _table_is_taken(document: Document, name: str, table: Any) -> bool:
    return _taken(lambda: [validated(TABLES[name], row, document, ()) for row in table[name]])


def test_texts() -> None:
    document = read_file(bundled_folder() / "texts" / "en.yaml")
    texts = _mapping(document)
    paths = Unseen().paths(texts, tuple(texts))
    assert len(paths) > len(texts)
    read = partial(validated, TextFile, document=document, path=())
    assert differences("texts", texts, paths, lambda value: _taken(lambda: read(value))) == []


# ---- answers ----


@pytest.mark.parametrize(
    ("schema", "request_"),
    [
        ("report", ("check", "tourer-cable")),
        ("report", ("swap", "city-rim", "--take-off", "saddle")),
        ("job", ("job", "city-rim", "--fit", "tolverne-lantern-100")),
        ("choices", ("parts", "fits", "city-rim", "stem")),
    ],
)
def test_an_answer_states_all_its_keys_and_no_others(schema: str, request_: tuple[str, ...]) -> None:
    answer = json.loads(run(*request_, "--format", "json").out)
    assert CHECKS[schema].is_valid(answer)
    paths = [path for path in Unseen().paths(answer) if isinstance(path[-1], str)]
    assert len(paths) >= len(answer)
    taken = [
        f"{path} {what}"
        for path in paths
        for what, spoiled in spoilt(answer, path)
        if (what in ("left out", "misspelt", "with another") or what.startswith("as {"))
        if CHECKS[schema].is_valid(spoiled)
    ]
    assert taken == []
