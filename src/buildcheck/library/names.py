"""Names to complete on a command line, found in the text of the files without asking what it means.

To read the catalogue takes longer than anyone waits for a key. Nothing here is refused: a file that is no good offers
no names, and says so when it is used.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import NamedTuple

from buildcheck.library.folders import LARGEST_FILE, bundled_folder, cases_folder

# Bike files take over from each other; our choice, more than anyone would read through.
_MOST_LIKE = 8
# The folders of bundled bikes, with what the names of those in them begin with.
_HEADS = {"bikes": "", "outlines": "outline/"}
_ROW = re.compile(r"^( *)- ", re.M)


class Named(NamedTuple):
    """A part by its id, or a position with the `kinds` that it takes; `what` it is in words."""

    id: str
    kinds: tuple[str, ...]
    what: str = ""


def bikes() -> list[str]:
    """The bundled bikes, and then the outlines of bikes."""
    return [name for folder, head in _HEADS.items() for name in _bikes_in(folder, head)]


def _bikes_in(folder: str, head: str) -> list[str]:
    return sorted(f"{head}{path.stem}" for path in (bundled_folder() / folder).glob("*.yaml"))


def findings() -> list[str]:
    """The findings: each has a folder of cases."""
    return sorted(path.name for path in cases_folder().glob("*") if path.is_dir())


def parts(folders: Sequence[Path]) -> Iterator[Named]:
    """The parts of the bundled catalogue and of these folders."""
    for folder in (bundled_folder(), *folders):
        for path in sorted((folder / "parts").glob("*.y*ml")):
            yield from _parts(_text(path))


def positions(folders: Sequence[Path]) -> Iterator[Named]:
    """The positions that bikes have."""
    for folder in (bundled_folder(), *folders):
        for path in sorted((folder / "standards").glob("*.y*ml")):
            text = _text(path)
            if re.search(r"^positions:", text, re.M):
                for row in _rows(_table(text, "positions")):
                    if name := _value(row, "id"):
                        kinds = re.search(r"\bkinds: \[([^\]]*)\]", row)
                        yield Named(name, tuple(re.findall(r"[\w-]+", kinds[1] if kinds else "")), _value(row, "what"))


class BikeNames(NamedTuple):
    """What a bike file names: filled positions, and its own parts."""

    fitted: Mapping[str, str]
    own: Sequence[Named]


def of_bike(path: Path) -> BikeNames:
    """What a bike file, or the bundled bike of that name, has where; with what it takes over from others."""
    fitted: dict[str, str] = {}
    own: list[Named] = []
    for _ in range(_MOST_LIKE):
        text = _text(_file(path))
        for name, part in re.findall(r"^ +([a-z][\w-]*):(.*)$", _first_level(text), re.M):
            fitted.setdefault(name, part.strip())
        own.extend(_parts(text, "own_parts"))
        like = re.search(r"^like: *([\w./-]+)", text, re.M)
        if like is None:
            break
        path = Path(like[1]) if _bundled(like[1]) else path.parent / like[1]
    there = {name: found[1] if (found := re.search(r"part: *([\w.-]+)", part)) else "" for name, part in fitted.items()}
    return BikeNames({name: part for name, part in there.items() if fitted[name] != "none"}, own)


def _file(path: Path) -> Path:
    return path if path.exists() else _bundled(path.as_posix()) or path


def _bundled(name: str) -> Path | None:
    """The file of a bundled bike or outline."""
    for folder, head in _HEADS.items():
        path = bundled_folder() / folder / f"{name.removeprefix(head)}.yaml"
        if name.startswith(head) and path.parent.name == folder and path.exists():
            return path
    return None


def _text(path: Path) -> str:
    try:
        with path.open("rb") as file:
            return file.read(LARGEST_FILE).decode("utf-8", "replace")
    except (OSError, ValueError):  # ValueError: a NUL in the path
        return ""


def _table(text: str, name: str) -> str:
    """What stands below a name at the edge, down to the next one."""
    found = re.search(rf"^{name}:.*\n((?:[ #-].*\n|\n)*)", f"{text}\n", re.M)
    return found[1] if found else ""


def _first_level(text: str) -> str:
    """The lines of the parts of a bike file that name a position."""
    table = _table(text, "parts")
    indents = [len(found[1]) for found in re.finditer(r"^( +)\w", table, re.M)]
    least = min(indents, default=0)
    return "\n".join(line for line in table.splitlines() if re.match(rf" {{{least}}}\w", line))


def _rows(table: str) -> list[str]:
    """The rows of a list, each as its text."""
    first = _ROW.search(table)
    return [] if first is None else re.split(rf"^{first[1]}- ", table, flags=re.M)[1:]


def _parts(text: str, name: str = "parts") -> Iterator[Named]:
    """The parts in a list of a file. Of a row in lines only those lines are looked at that begin with what is told."""
    table = _table(text, name)
    first = _ROW.search(table)
    if first is None:
        return
    told: dict[str, str] = {}
    for found in re.finditer(rf"^{first[1]}(- |  )(?:({{.*)|(id|kind|name): *(.*))$", table, re.M):
        if found[1] == "- ":
            yield from _named(told)
            told = {}
        if found[2]:
            told = {key: _value(found[2], key) for key in ("id", "kind", "name")}
        elif found[3]:
            told[found[3]] = found[4].strip("\"' ")
    yield from _named(told)


def _named(told: Mapping[str, str]) -> Iterator[Named]:
    if part_id := told.get("id"):
        yield Named(part_id, (told.get("kind", ""),), told.get("name", ""))


def _value(row: str, key: str) -> str:
    """The first value of this name in a row."""
    found = re.search(rf"(?:^|[{{,]) *{key}: *(\"[^\"]*\"|[^,}}\n]*)", row, re.M)
    return found[1].strip().strip("\"'") if found else ""
