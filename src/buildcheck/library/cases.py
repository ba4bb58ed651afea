"""Example cases of a finding: what is done to which bike, from a YAML file in the folder of its name.

    bike: a bundled bike's id, or a whole bike file      without: positions left out of it
    parts: {position: entry of a bike file}, put in or exchanged before anything else
    own_parts: special part records                      set: {position.attribute: value}
    use: another kind of bicycle                         motor: where one drives it
    fixed_wheel_brakes, in_use: what its file says of that
    fit: [part@position]    take_off: [position]         expect: {level, position, since, says, counts}
    renew: [position]       move: ["position,on=position"]

A `fires-` case expects at least one finding of its folder's name that is as `expect` says; a `silent-`
case expects none of that name at all.
"""

from __future__ import annotations

import json
from functools import cache, lru_cache
from pathlib import Path
from typing import Any, NamedTuple

from buildcheck.library.bikes import bike_from, set_facts
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_bike
from buildcheck.library.requests import read_request
from buildcheck.library.yaml_text import read_document
from buildcheck.model.bikes import Bike, Change

# What a bike file says of the bike as a whole.
_OF_THE_FILE = ("use", "motor", "fixed_wheel_brakes", "in_use")


class Case(NamedTuple):
    """One case as its file has it; `story` is what its first line tells of the bench."""

    file: str
    text: str
    story: str
    said: dict[str, Any]

    def steps(self) -> dict[str, str]:
        """All that is done to the bike, each thing with its value as text."""
        said = self.said
        found: dict[str, str] = {key: _shown(said[key]) for key in ("bike", *_OF_THE_FILE) if key in said}
        found |= {f"part in {position}": _shown(entry) for position, entry in said.get("parts", {}).items()}
        found |= {f"own part {record['id']}": _shown(record) for record in said.get("own_parts", ())}
        found |= {f"set {fact}": _shown(value) for fact, value in said.get("set", {}).items()}
        found |= {f"without {position}": "yes" for position in said.get("without", ())}
        found |= {f"take off {position}": "yes" for position in said.get("take_off", ())}
        found |= {f"renew {position}": "yes" for position in said.get("renew", ())}
        found |= {f"move {text.partition(',')[0]}": text.partition(",")[2] for text in said.get("move", ())}
        pairs = (text.rpartition("@") for text in said.get("fit", ()))
        return found | {f"fit in {position}": part for part, _, position in pairs}


def read_case(path: Path) -> Case:
    """The case in a file. Raises InputError for what is no YAML."""
    text = path.read_text(encoding="utf-8")
    said = read_document(text, path.name).value
    assert isinstance(said, dict), "a case is a mapping"
    return Case(path.name, text, text.partition("\n")[0].removeprefix("# "), said)


def bike_and_change(case: Case, catalogue: Catalogue) -> tuple[Bike, Change]:
    """The bike of a case, with its facts set, and what is changed on it. Raises InputError."""
    said = case.said
    bike = _bike(_bike_text(said), catalogue)
    change = read_request(said, bike, catalogue)
    settings = [f"{name}={json.dumps(value)}" for name, value in said.get("set", {}).items()]
    return set_facts(bike, change, settings, catalogue), change


@lru_cache(maxsize=64)  # most cases set facts of a bundled bike
def _bike(text: str, catalogue: Catalogue) -> Bike:
    return bike_from(read_document(text, "case"), catalogue)


@cache
def _bundled(name: str) -> dict[str, Any]:
    return read_case(bundled_bike(name)).said


def _bike_text(said: dict[str, Any]) -> str:
    base = said.get("bike", "allroad-wired")
    data = dict(base if isinstance(base, dict) else _bundled(base))
    data |= {key: said[key] for key in _OF_THE_FILE if key in said}
    parts = {**data["parts"], **said.get("parts", {})}
    data["parts"] = {name: entry for name, entry in parts.items() if name not in said.get("without", ())}
    data["own_parts"] = [*data.get("own_parts", ()), *said.get("own_parts", ())]
    return json.dumps(data)


def _shown(value: object) -> str:
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
