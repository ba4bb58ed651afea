"""Every case of tests/cases, each one file and one test, and the rules about rules.

What a case says is told in `buildcheck.library.cases`.
"""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library.cases import bike_and_change, read_case
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
    return read_case(path).said


def findings_of_case(path: Path) -> tuple[Finding, ...]:
    """What the vetting finds on the bike of a case, after its change if it has one."""
    bike, change = bike_and_change(read_case(path), catalogue())
    return Vetting(bike, catalogue()).findings(change)


def _as_expected(finding: Finding, expect: dict[str, Any]) -> bool:
    return (
        finding.level == expect["level"]
        and expect.get("position", finding.positions[0]) == finding.positions[0]
        and expect.get("since", finding.since) == finding.since
        and expect.get("says", "") in str(finding.message)
    )


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_case(path: Path) -> None:
    case = _read(path)
    assert path.read_text(encoding="utf-8").startswith("# "), "the first line tells the situation at the bench"
    assert case.keys() <= KEYS
    found = [finding for finding in findings_of_case(path) if finding.name == path.parent.name]
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
