"""The catalogue: standards and parts from one or more folders, read once and kept in a cache.

The cache is keyed by the content of every catalogue file and of the code that reads them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from heapq import merge
from os import PathLike
from pathlib import Path
from typing import Any

import yaml
from pydantic import VERSION

from buildcheck.library.alike import Group, groups_of
from buildcheck.library.cache import keep, kept, key_of
from buildcheck.library.contradictions import Constraints, refuse_contradictions, within
from buildcheck.library.folders import TABLE_FOLDERS, Content, catalogue_contents, code_files
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean
from buildcheck.library.rebuild import rebuilt
from buildcheck.library.records import Words, read_part
from buildcheck.library.standards import (
    cross_problems,
    openings_from,
    read_tables,
    standards_from,
    words_from,
)
from buildcheck.library.yaml_text import read_document
from buildcheck.model.parts import PART_KINDS, Part
from buildcheck.model.standards import Standards

_KEPT_CACHES = 4


class Catalogue:
    """Parts and standards. Parts become records when they are asked for."""

    def __init__(self, content: dict[str, Any]) -> None:
        self._content = content
        self._parts: dict[str, Part] = {}
        self._groups: dict[frozenset[str], tuple[Group, ...]] = {}
        self.openings = frozenset(content["openings"])
        self.words = Words(content["words"])
        self.constraints = Constraints(content["tables"])

    @classmethod
    def load(cls, folders: Iterable[str | PathLike[str]] = ()) -> Catalogue:
        """The bundled catalogue and then these folders; kept, once read, in the user's cache folder.

        Raises InputError, which carries every problem of every file with its line.
        """
        return load([Path(folder) for folder in folders])

    @cached_property
    def standards(self) -> Standards:
        """All rows of the standards and the workshop."""
        return standards_from(self._content["tables"])

    @property
    def ids(self) -> Collection[str]:
        """All part ids."""
        parts: dict[str, Any] = self._content["parts"]
        return parts.keys()

    def __contains__(self, part_id: str) -> bool:
        return part_id in self._content["parts"]

    def part(self, part_id: str) -> Part:
        """A part by its id. Raises KeyError."""
        part = self._parts.get(part_id)
        if part is None:
            data = self._content["parts"][part_id]["data"]
            part = self._parts[part_id] = rebuilt(PART_KINDS[data["kind"]], data)
        return part

    def kind_of(self, part_id: str) -> str:
        """The kind of a part, without making its record."""
        return str(self._content["parts"][part_id]["data"]["kind"])

    def of_kinds(self, kinds: Iterable[str]) -> Iterator[Part]:
        """All parts of these kinds, in the order of their ids."""
        wanted = (self._by_kind.get(kind, ()) for kind in frozenset(kinds))
        return (self.part(part_id) for part_id in merge(*wanted))

    def groups(self, kinds: Iterable[str]) -> tuple[Group, ...]:
        """The parts of these kinds, those that no rule can tell apart in one group; the cheapest group first.

        Made when first asked for, for each kind by itself, without making any record.
        """
        wanted = frozenset(kinds)
        found = self._groups.get(wanted)
        if found is None:
            found = self._groups[wanted] = self._groups_anew(wanted)
        return found

    def _groups_anew(self, kinds: frozenset[str]) -> tuple[Group, ...]:
        if len(kinds) != 1:
            return tuple(merge(*(self.groups([kind]) for kind in kinds), key=lambda group: group.rank))
        parts: dict[str, Any] = self._content["parts"]
        (kind,) = kinds
        return groups_of(kind, ((part_id, parts[part_id]["data"]) for part_id in self._by_kind.get(kind, ())))

    @cached_property
    def _by_kind(self) -> Mapping[str, Sequence[str]]:
        """The ids of each kind, in order."""
        found: dict[str, list[str]] = {}
        for part_id in sorted(self.ids):
            found.setdefault(self.kind_of(part_id), []).append(part_id)
        return found

    def where(self, part_id: str) -> dict[str, str]:
        """file:line of each attribute of a part; the record itself under the empty name."""
        entry = self._content["parts"][part_id]
        return {name: f"{entry['file']}:{line}" for name, line in entry["lines"].items()}

    def suggest(self, part_id: str) -> str:
        """` — did you mean …?` for an id that is not there."""
        return did_you_mean(part_id, self.ids)


def load(folders: Sequence[Path] = ()) -> Catalogue:
    """The bundled catalogue and then these folders. Raises InputError for files that cannot be used."""
    return catalogue_from(catalogue_contents(folders))


def catalogue_from(contents: Sequence[Content]) -> Catalogue:
    """A catalogue from the bytes of its files, or from what was made of the same bytes before."""
    # The formulas belong to the key too: a headset code is read by one of them.
    key = key_of((VERSION, yaml.__version__), code_files("library", "model", "trade"), contents)
    content = kept("catalogue", key, _is_content)
    if content is None:
        content = _read(contents)
        keep("catalogue", key, content, _KEPT_CACHES)
    return Catalogue(content)


def _is_content(found: Any) -> bool:
    """Is this, by its outline, what `_read` makes?"""
    outline = {"tables": dict, "words": dict, "openings": list, "parts": dict}
    return isinstance(found, dict) and {name: type(value) for name, value in found.items()} == outline


def _read(contents: Sequence[Content]) -> dict[str, Any]:
    """All files through all stages; every problem is gathered before any is raised."""
    problems: list[Problem] = []
    tables: dict[str, list[Any]] = {}
    for shown, content, folder, root, _ in contents:
        if folder in TABLE_FOLDERS:
            _gather(problems, lambda: read_tables(read_document(content, shown), root, tables))  # noqa: B023
    problems.extend(_as_problem(text) for text in cross_problems(tables))
    if problems:
        raise InputError(problems)
    words, openings, constraints = words_from(tables), openings_from(tables), Constraints(tables)
    parts: dict[str, Any] = {}
    for shown, content, folder, *_ in contents:
        if folder == "parts":
            _gather(problems, lambda: _read_parts(content, shown, Words(words), openings, constraints, parts))  # noqa: B023
    if problems:
        raise InputError(problems)
    return {"tables": tables, "words": words, "openings": sorted(openings), "parts": parts}


def _gather(problems: list[Problem], read: Any) -> None:
    try:
        read()
    except InputError as error:
        problems.extend(error.problems)


def _as_problem(text: str) -> Problem:
    place, _, rest = text.partition(": meaning: ")
    file, _, line = place.rpartition(":")
    return Problem(FileLine(file, int(line), 1), rest, "meaning")


def _read_parts(
    content: bytes,
    shown: str,
    words: Words,
    openings: frozenset[str],
    constraints: Constraints,
    parts: dict[str, Any],
) -> None:
    document = read_document(content, shown)
    rows = document.value.get("parts") if isinstance(document.value, dict) else None
    if not isinstance(rows, list) or (isinstance(document.value, dict) and set(document.value) != {"parts"}):
        raise InputError([Problem(document.place(()), "a parts file holds one list named parts", "schema")])
    problems: list[Problem] = []
    for index, row in enumerate(rows):
        path = ("parts", index)
        try:
            part = read_part(row, document, path, words, openings)
            refuse_contradictions(part, constraints, within(document, path, row))
        except InputError as error:
            problems.extend(error.problems)
            continue
        if part.id in parts:
            first = parts[part.id]
            text = f"the part id {part.id!r} stands already in {first['file']}:{first['lines']['']}"
            problems.append(Problem(document.place((*path, "id")), text, "meaning"))
            continue
        lines = {str(name): document.place((*path, name)).line for name in row}
        lines[""] = document.place(path).line
        data = part.model_dump(mode="json", by_alias=True, exclude_unset=True)
        parts[part.id] = {"data": data, "file": shown, "lines": lines}
    if problems:
        raise InputError(problems)
