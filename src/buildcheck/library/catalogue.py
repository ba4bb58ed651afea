"""The catalogue: standards and parts from one or more folders, read once and kept in a cache.

The cache is keyed by the content of every catalogue file and of the code that reads them, so it is never
stale; it is plain JSON, and it is written anew whenever the key is not there.
"""

from __future__ import annotations

import hashlib
import json
import os
import sys
from collections.abc import Collection, Iterable, Iterator, Sequence
from functools import cached_property
from pathlib import Path
from typing import Any

import yaml
from pydantic import VERSION

from buildcheck.library.problems import InputError, Place, Problem, did_you_mean
from buildcheck.library.rebuild import rebuilt
from buildcheck.library.records import Words, read_part
from buildcheck.library.standards import (
    cross_problems,
    openings_from,
    read_tables,
    standards_from,
    words_from,
)
from buildcheck.library.writing import write_whole
from buildcheck.library.yaml_text import read_bytes, read_document
from buildcheck.model.parts import PART_KINDS, Part
from buildcheck.model.standards import Standards

_TABLE_FOLDERS = ("standards", "workshop")
_KEPT_CACHES = 4


def bundled_folder() -> Path:
    """The catalogue that comes with buildcheck: inside the installed package, or beside src/ in a checkout."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "_data" / "catalog"
    return inside if inside.is_dir() else package.parent.parent / "catalog"


def schemas_folder() -> Path:
    """Where the schemas are kept, beside the bundled catalogue."""
    return bundled_folder().parent / "schemas"


def cases_folder() -> Path:
    """Where the example cases of the findings are."""
    package = Path(__file__).resolve().parent.parent
    inside = package / "_data" / "cases"
    return inside if inside.is_dir() else package.parent.parent / "tests" / "cases"


class Catalogue:
    """Parts and standards. Parts become records when they are asked for."""

    def __init__(self, content: dict[str, Any]) -> None:
        self._content = content
        self._parts: dict[str, Part] = {}
        self.openings = frozenset(content["openings"])
        self.words = Words(content["words"])

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
        wanted = frozenset(kinds)
        return (self.part(part_id) for part_id in self._by_kind(wanted))

    def _by_kind(self, kinds: frozenset[str]) -> list[str]:
        return sorted(part_id for part_id in self.ids if self.kind_of(part_id) in kinds)

    def where(self, part_id: str) -> dict[str, str]:
        """file:line of each attribute of a part; the record itself under the empty name."""
        entry = self._content["parts"][part_id]
        return {name: f"{entry['file']}:{line}" for name, line in entry["lines"].items()}

    def suggest(self, part_id: str) -> str:
        """` — did you mean …?` for an id that is not there."""
        return did_you_mean(part_id, self.ids)


def load(folders: Sequence[Path] = ()) -> Catalogue:
    """The bundled catalogue and then these folders. Raises InputError for files that cannot be used."""
    files = [pair for folder in (bundled_folder(), *folders) for pair in _files(folder)]
    contents = [(shown, read_bytes(path, shown), path.parent.name) for shown, path in files]
    key = _key(contents)
    cached = _cache_folder() / f"catalogue-{key}.json"
    content = _kept(cached)
    if content is None:
        content = _read(contents)
        _keep(cached, content)
    return Catalogue(content)


def _files(folder: Path) -> list[tuple[str, Path]]:
    if not folder.is_dir():
        raise InputError([Problem(Place(str(folder), 1, 1), "there is no such catalogue folder", "meaning")])
    found = sorted(
        path for name in (*_TABLE_FOLDERS, "parts") for path in (folder / name).glob("*.y*ml") if path.is_file()
    )
    if not found:
        text = "the folder holds no standards/*.yaml, workshop/*.yaml or parts/*.yaml"
        raise InputError([Problem(Place(str(folder), 1, 1), text, "meaning")])
    # The bundled files go by one name wherever they are installed; others by the name that the user gave.
    shown = folder.name if folder == bundled_folder() else folder.as_posix()
    return [(f"{shown}/{path.relative_to(folder).as_posix()}", path) for path in found]


def _key(contents: list[tuple[str, bytes, str]]) -> str:
    digest = hashlib.sha256(f"{VERSION} {yaml.__version__}\0".encode())
    package = Path(__file__).resolve().parent.parent
    # The formulas too: a headset code is read by one of them.
    code = sorted(path for name in ("library", "model", "trade") for path in (package / name).rglob("*.py"))
    for path in code:
        digest.update(path.read_bytes())
    for shown, content, _ in contents:
        digest.update(f"{shown}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()[:32]


def _cache_folder() -> Path:
    base = os.environ.get("XDG_CACHE_HOME")
    if not base and sys.platform == "win32":
        base = os.environ.get("LOCALAPPDATA")
    return (Path(base) if base else Path(os.path.expanduser("~")) / ".cache") / "buildcheck"


def _kept(cached: Path) -> dict[str, Any] | None:
    """What was kept, or None if it is not there or is not, to the byte, what was written."""
    try:
        checksum, _, body = cached.read_bytes().partition(b"\n")
    except OSError:
        return None
    if hashlib.sha256(body).hexdigest().encode() != checksum:
        return None
    content: dict[str, Any] = json.loads(body)
    return content


def _keep(cached: Path, content: dict[str, Any]) -> None:
    """Keep what was read; a cache that cannot be written is no error, only slower."""
    try:
        cached.parent.mkdir(parents=True, exist_ok=True)
        body = json.dumps(content, separators=(",", ":"))
        write_whole(cached, f"{hashlib.sha256(body.encode()).hexdigest()}\n{body}")
        old = sorted(cached.parent.glob("catalogue-*.json"), key=lambda path: path.stat().st_mtime)
        for path in old[:-_KEPT_CACHES]:
            path.unlink(missing_ok=True)
    except OSError:
        return


def _read(contents: list[tuple[str, bytes, str]]) -> dict[str, Any]:
    """All files through all stages; every problem is gathered before any is raised."""
    problems: list[Problem] = []
    tables: dict[str, list[Any]] = {}
    for shown, content, folder in contents:
        if folder in _TABLE_FOLDERS:
            _gather(problems, lambda: read_tables(read_document(content, shown), tables))  # noqa: B023
    problems.extend(_as_problem(text) for text in cross_problems(tables))
    if problems:
        raise InputError(problems)
    words, openings = words_from(tables), openings_from(tables)
    parts: dict[str, Any] = {}
    for shown, content, folder in contents:
        if folder == "parts":
            _gather(problems, lambda: _read_parts(content, shown, Words(words), openings, parts))  # noqa: B023
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
    return Problem(Place(file, int(line), 1), rest, "meaning")


def _read_parts(content: bytes, shown: str, words: Words, openings: frozenset[str], parts: dict[str, Any]) -> None:
    document = read_document(content, shown)
    rows = document.value.get("parts") if isinstance(document.value, dict) else None
    if not isinstance(rows, list) or (isinstance(document.value, dict) and set(document.value) != {"parts"}):
        raise InputError([Problem(document.place(()), "a parts file holds one list named parts", "schema")])
    problems: list[Problem] = []
    for index, row in enumerate(rows):
        path = ("parts", index)
        try:
            part = read_part(row, document, path, words, openings)
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
