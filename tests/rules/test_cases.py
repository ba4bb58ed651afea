"""Every case of tests/cases, each one file and one test, and the rules about rules.

A case says what is done to a bike on the bench and what comes of it:

    bike: a bundled bike's id, or a whole bike file      without: positions left out of it
    parts: {position: entry of a bike file}, put in or exchanged before anything else
    own_parts: special part records                      set: {position.attribute: value}
    use: another kind of bicycle
    fit: [part@position]    take_off: [position]         expect: {level, position, since, says}

A `fires-` case expects at least one finding of its folder's name that is as `expect` says; a `silent-`
case expects none of that name at all.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library.bikes import bike_from, read_change, set_facts
from buildcheck.library.folders import bundled_bike
from buildcheck.library.yaml_text import read_document
from buildcheck.model.findings import Finding
from buildcheck.rules import RULES
from buildcheck.rules.pages import pages
from buildcheck.vetting import Vetting
from laws.bench import catalogue

CASES = Path(__file__).parent.parent / "cases"
KEYS = {"bike", "use", "without", "parts", "own_parts", "set", "fit", "take_off", "expect"}
EXPECT_KEYS = {"level", "position", "since", "says"}
RULE_NAMES = [rule.name for rule in RULES]
ROW_NAMES = sorted({row.name for row in catalogue().standards.joints})
FILES = sorted(CASES.glob("*/*.yaml"))


def _read(path: Path) -> dict[str, Any]:
    value = read_document(path.read_bytes(), path.name).value
    assert isinstance(value, dict)
    return value


def _bike_text(case: dict[str, Any]) -> str:
    base = case.get("bike", "allroad-wired")
    data = dict(base if isinstance(base, dict) else _read(bundled_bike(base)))
    data["use"] = case.get("use", data["use"])
    parts = {**data["parts"], **case.get("parts", {})}
    data["parts"] = {name: entry for name, entry in parts.items() if name not in case.get("without", ())}
    data["own_parts"] = [*data.get("own_parts", ()), *case.get("own_parts", ())]
    return json.dumps(data)


def findings_of_case(case: dict[str, Any]) -> tuple[Finding, ...]:
    """What the vetting finds on the bike of a case, after its change if it has one."""
    bike = bike_from(read_document(_bike_text(case), "case"), catalogue())
    change = read_change(case.get("fit", ()), case.get("take_off", ()), bike, catalogue())
    settings = [
        f"{name}={json.dumps(value)}" for name, value in case.get("set", {}).items()
    ]  # fmt: skip
    bench = Vetting(set_facts(bike, change, settings, catalogue()), catalogue())
    return bench._vet(change)[0].findings if change.fit or change.take_off else bench.check().findings


def _as_expected(finding: Finding, expect: dict[str, Any]) -> bool:
    return (
        finding.level == expect["level"]
        and expect.get("position", finding.positions[0]) == finding.positions[0]
        and expect.get("since", finding.since) == finding.since
        and expect.get("says", "") in finding.message
    )


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_case(path: Path) -> None:
    case = _read(path)
    assert path.read_text(encoding="utf-8").startswith("# "), "the first line tells the situation at the bench"
    assert case.keys() <= KEYS
    found = [finding for finding in findings_of_case(case) if finding.name == path.parent.name]
    if path.name.startswith("silent-"):
        assert "expect" not in case
        assert not found
    else:
        assert path.name.startswith("fires-")
        assert {"level"} <= case["expect"].keys() <= EXPECT_KEYS
        assert any(_as_expected(finding, case["expect"]) for finding in found), found


def test_each_case_folder_belongs_to_a_rule() -> None:
    assert {path.parent.name for path in FILES} == {*RULE_NAMES, *ROW_NAMES}
    assert {path.name for path in CASES.iterdir()} == {path.parent.name for path in FILES}


@pytest.mark.parametrize("name", [*RULE_NAMES, *ROW_NAMES])
def test_each_rule_has_cases_that_fire_and_cases_that_stay_silent(name: str) -> None:
    for sort in ("fires", "silent"):
        assert len(list((CASES / name).glob(f"{sort}-*.yaml"))) >= 2, f"{name} has too few cases: {sort}"


def test_each_level_of_a_rule_has_a_firing_case() -> None:
    for rule in RULES:
        shown = {
            _read(path)["expect"]["level"] for path in (CASES / rule.name).glob("fires-*.yaml")
        }  # fmt: skip
        assert set(rule.levels) <= shown | {"unknown"}, rule.name


@pytest.mark.parametrize("name", [*RULE_NAMES, *ROW_NAMES])
def test_each_rule_is_documented(name: str) -> None:
    page = pages(catalogue().standards)[name]
    assert page.fault.endswith("."), "the first line is the fault, in one sentence"
    assert page.cure, "the cure is missing"
    assert page.source, "the source is missing"
    assert page.levels


@pytest.mark.parametrize("name", [*RULE_NAMES, *ROW_NAMES])
def test_each_page_says_why(name: str) -> None:
    assert pages(catalogue().standards)[name].why


def test_names_are_kebab_case_and_used_once() -> None:
    names = [*RULE_NAMES, *ROW_NAMES]
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", name) for name in names)
    assert len(set(names)) == len(names)
    rows = [(row.name, position, row.a) for row in catalogue().standards.joints for position in row.at]
    assert len(set(rows)) == len(rows), "one row name stands for one comparison at each position"
