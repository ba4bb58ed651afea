"""Bike files that are like another: what a file does not say is taken over, and each fact keeps its own file and line.

A position that the file names is as the file says. Where it says what is there, that replaces what the other says of
the part; how the position lies (`on`, `place`, `from`, `to`) is taken over where the file says nothing else. Where it
only says what was measured or seen, that adds to the part of the other file.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any, NoReturn

from buildcheck.library.folders import OUTLINE, bundled_bike, bundled_names, is_bundled, read_bytes
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean, printable
from buildcheck.library.yaml_text import Document, Where, read_document
from buildcheck.model.bikes import NONE, NOT_KNOWN
from buildcheck.model.quantities import brief

LIKE = "like"
# What is said of the other bike alone.
_ITS_OWN = (LIKE, "note")
_WAYS = ("on", "place", "from", "to")
_PART = ("part", "kind")
_MOST_FILES = 20  # one like the next: more are an error, and nobody could follow them


def whole(document: Document, beside: str) -> Document:
    """The document with all that it takes over; `beside` is the folder of its file. Raises InputError."""
    return _whole(document, beside, (os.path.realpath(document.file),))


def _whole(document: Document, beside: str, seen: tuple[str, ...]) -> Document:
    value = document.value
    if not isinstance(value, dict) or value.get(LIKE) is None:
        return document
    name, place = value[LIKE], document.place((LIKE,))
    if not isinstance(name, str):
        _refuse(place, f"the name of a bike, an outline or a file is expected, not {brief(name)}")
    path, shown = _found(name, beside)
    if path is None:
        _refuse(place, f"there is no bike, outline or file {brief(name)}{_known(name)}")
    key = os.path.realpath(path)
    if key in seen:
        _refuse(place, f"{brief(name)} is like this file in turn: one of the two must stand by itself")
    if len(seen) >= _MOST_FILES:
        _refuse(place, f"more than {_MOST_FILES} files are each like the next: take over from one of them")
    other = _whole(read_document(read_bytes(path, shown), shown), str(path.parent), (*seen, key))
    if not isinstance(other.value, dict):
        _refuse(other.place(()), "a mapping of keys and values is expected")
    return _Merge(document, other).whole()


def _found(name: str, beside: str) -> tuple[Path | None, str]:
    """The file of that name, from the folder of the one that names it, and how messages call it."""
    path = Path(beside, name)
    if os.path.isfile(path):
        return path, printable(path.as_posix())
    if is_bundled(name):
        path = bundled_bike(name)
        return path, printable(path.as_posix())
    return None, name


def _known(name: str) -> str:
    known = bundled_names()
    near = did_you_mean(name, [*known, *(one.removeprefix(OUTLINE) for one in known)])
    return f"{near}; the bundled ones are {', '.join(known)}"


def _refuse(place: FileLine, text: str) -> NoReturn:
    raise InputError([Problem(place, text, "meaning")])


class _Merge:
    """What a file says, with what it takes over from another; both are mappings."""

    def __init__(self, own: Document, other: Document) -> None:
        assert isinstance(own.value, dict)
        assert isinstance(other.value, dict)
        self.said, self.lent, self.other = own.value, other.value, other
        self.result = Document(own.value, own.file, dict(own.places), dict(own.key_places))
        self._places, self._key_places = _by_two(other.places), _by_two(other.key_places)

    def whole(self) -> Document:
        """The one document of both."""
        said, lent = self.said, self.lent
        value = {**{key: item for key, item in lent.items() if key not in _ITS_OWN}, **said}
        for key in [key for key in value if key not in said]:
            self._lend((key,))
        if isinstance(said.get("parts"), dict) and isinstance(lent.get("parts"), dict):
            value["parts"] = self._parts(said["parts"], lent["parts"])
        if isinstance(said.get("own_parts"), list) and isinstance(lent.get("own_parts"), list):
            value["own_parts"] = self._own_parts(said["own_parts"], lent["own_parts"])
        return Document(value, self.result.file, self.result.places, self.result.key_places)

    def _parts(self, said: Mapping[str, Any], lent: Mapping[str, Any]) -> dict[str, Any]:
        names = (*lent, *(name for name in said if name not in lent))
        found = {name: self._spot(name, said, lent) for name in names}
        for name, spot in found.items():
            if isinstance(spot, dict) and "on" in spot and not _is_said(said, name, "on"):
                on = _still_there(spot["on"], found, lent)
                if on != spot["on"]:
                    found[name] = {key: item for key, item in spot.items() if key not in ("on", "place")}
                    found[name] |= {"on": on} if on is not None else {}
        return found

    def _spot(self, name: str, said: Mapping[str, Any], lent: Mapping[str, Any]) -> Any:
        """What is said of one position, with what it takes over."""
        path: Where = ("parts", name)
        if name not in said:
            self._lend(path)
            return lent[name]
        ours, theirs = _as_mapping(said[name]), _as_mapping(lent.get(name))
        if ours is None or theirs is None or _is_word(ours):
            return said[name]
        if any(key in ours for key in _PART):
            kept = [key for key in _WAYS if key in theirs and not (key == "place" and "on" in ours)]
        else:
            kept = [] if _is_word(theirs) else list(theirs)
        for key in [key for key in kept if key not in ours]:
            self._lend((*path, key))
            self.result.places.setdefault((*path, key), self.other.place((*path, key)))
        spot = {**{key: theirs[key] for key in kept}, **ours}
        facts, known = ours.get("measured"), theirs.get("measured")
        if "measured" in kept and isinstance(facts, dict) and isinstance(known, dict):
            spot["measured"] = {**known, **facts}
            for fact in [fact for fact in known if fact not in facts]:
                self._lend((*path, "measured", fact))
        return spot

    def _own_parts(self, said: list[Any], lent: list[Any]) -> list[Any]:
        """The special parts of both files; one of the file itself stands for one of the same id in the other."""
        ids = {item.get("id") for item in said if isinstance(item, dict)}
        found = list(said)
        for index, item in enumerate(lent):
            if not isinstance(item, dict) or item.get("id") not in ids:
                self._lend(("own_parts", index), ("own_parts", len(found)))
                found.append(item)
        return found

    def _lend(self, path: Where, to: Where | None = None) -> None:
        """Where the other document was written at a path and below it becomes where the result was."""
        to = path if to is None else to
        pairs = ((self.result.places, self._places), (self.result.key_places, self._key_places))
        for ours, theirs in pairs:
            for start in (path[:2],) if len(path) > 1 else [start for start in theirs if start[:1] == path]:
                below = ((where, place) for where, place in theirs.get(start, ()) if where[: len(path)] == path)
                ours.update((to + where[len(path) :], place) for where, place in below)


def _by_two(places: Mapping[Where, FileLine]) -> Mapping[Where, list[tuple[Where, FileLine]]]:
    """Places by the first two steps of their path."""
    found: dict[Where, list[tuple[Where, FileLine]]] = {}
    for where, place in places.items():
        found.setdefault(where[:2], []).append((where, place))
    return found


def _is_word(spot: Mapping[str, Any]) -> bool:
    """Does it say that nothing is there, or that nobody knows?"""
    return spot.get("part") in (NONE, NOT_KNOWN)


def _is_said(said: Mapping[str, Any], name: str, key: str) -> bool:
    spot = said.get(name)
    return isinstance(spot, dict) and key in spot


def _still_there(on: object, found: Mapping[str, Any], lent: Mapping[str, Any]) -> str | None:
    """What stands under a position if it is there, or the next one below that is."""
    seen: set[str] = set()
    while isinstance(on, str) and found.get(on, NONE) in (NONE, NOT_KNOWN) and on in lent and on not in seen:
        seen.add(on)
        below = lent[on]
        on = below.get("on") if isinstance(below, dict) else None
    return on if isinstance(on, str) else None


def _as_mapping(spot: Any) -> dict[str, Any] | None:
    if isinstance(spot, str):
        return {"part": spot}
    return spot if isinstance(spot, dict) else None
