"""Every case of tests/cases, each one file that is vetted once for all tests of it, and the rules about rules.

What a case says is told in `buildcheck.library.cases`.
"""

from __future__ import annotations

import re
from collections import Counter
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import pytest

from buildcheck.library.cases import bike_and_change, read_case
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.rules import RULES
from buildcheck.rules.pages import pages
from laws.bench import catalogue, found_by, usual_vetting, vetting
from laws.test_evidence import hold_to_the_law, with_own_parts
from rules.test_because import hold_causes_to_evidence
from test_sentences_complete import GERMAN, every, foreign, own_positions

CASES = Path(__file__).parent.parent / "cases"
KEYS = {
    "bike", "use", "motor", "fixed_wheel_brakes", "in_use", "without", "parts", "own_parts", "set", "fit",
    "take_off", "renew", "move", "expect",
}  # fmt: skip
EXPECT_KEYS = {"level", "position", "since", "says", "counts"}
RULE_NAMES = [rule.name for rule in RULES]
ROW_NAMES = sorted({row.name for row in catalogue().standards.joints})
PAGES = pages(catalogue().standards)
FILES = sorted(CASES.glob("*/*.yaml"))
FIRING, SILENT = (sorted(CASES.glob(f"*/{sort}-*.yaml")) for sort in ("fires", "silent"))


def _id(path: Path) -> str:
    return f"{path.parent.name}/{path.stem}"


_case = cache(read_case)


def _read(path: Path) -> dict[str, Any]:
    return _case(path).said


class Vetted(NamedTuple):
    """A case with what is found on its bike, after its change if it has one."""

    path: Path
    bike: Bike
    change: Change
    found: tuple[Finding, ...]

    @property
    def named(self) -> list[Finding]:
        """The findings that the case is about."""
        return [finding for finding in self.found if finding.name == self.path.parent.name]


def _vetted(path: Path) -> Vetted:
    bike, change = bike_and_change(_case(path), catalogue())
    is_bundled = _read(path).keys() <= {"bike", "fit", "take_off", "expect"}
    bench = usual_vetting(_read(path)["bike"]) if is_bundled else vetting(bike)
    return Vetted(path, bike, change, found_by(bench, change))


def _as_expected(finding: Finding, expect: dict[str, Any]) -> bool:
    return (
        finding.level == expect["level"]
        and expect.get("position", finding.positions[0]) == finding.positions[0]
        and expect.get("since", finding.since) == finding.since
        and expect.get("counts", finding.counts) is finding.counts
        and expect.get("says", "") in str(finding.message)
    )


# One test for each case, since the sum of small ones takes as long as the vetting.
@pytest.mark.parametrize("path", FIRING, ids=_id)
def test_case_fires(path: Path) -> None:
    firing, expect = _vetted(path), _read(path)["expect"]
    assert {"level"} <= expect.keys() <= EXPECT_KEYS
    assert any(_as_expected(finding, expect) for finding in firing.named), firing.named
    hold_what_blocks_or_could_tells_its_causes_and_they_are_evidence(firing)
    hold_the_evidence_of_what_blocks_is_enough(firing)
    hold_what_a_case_finds_is_said_in_german_and_why(firing)


def hold_what_blocks_or_could_tells_its_causes_and_they_are_evidence(firing: Vetted) -> None:
    for finding in firing.named:
        if finding.level in (Level.BLOCKS, Level.UNKNOWN):
            hold_causes_to_evidence(finding)


def hold_the_evidence_of_what_blocks_is_enough(firing: Vetted) -> None:
    hold_to_the_law(with_own_parts(firing.bike, firing.change), firing.found)


def hold_what_a_case_finds_is_said_in_german_and_why(firing: Vetted) -> None:
    own = [*(part.name for part, _ in firing.bike.own_parts.values()), *own_positions(firing.bike)]
    for finding in firing.named:
        told = GERMAN.told(finding.message)
        assert foreign(told, own) == [], told
        for cause in every(finding.because):
            assert GERMAN.told(cause.text)


@pytest.mark.parametrize("path", SILENT, ids=_id)
def test_case_is_silent(path: Path) -> None:
    assert "expect" not in _read(path)
    assert not _vetted(path).named


def test_a_case_is_written_as_all_are() -> None:
    for path in FILES:
        assert _case(path).text.startswith("# "), f"{_id(path)}: the first line tells the situation at the bench"
        assert _read(path).keys() <= KEYS, _id(path)


def test_each_case_fires_or_is_silent() -> None:
    assert sorted([*FIRING, *SILENT]) == FILES


def test_each_case_folder_belongs_to_a_rule() -> None:
    assert {path.parent.name for path in FILES} == {*RULE_NAMES, *ROW_NAMES}
    assert {path.name for path in CASES.iterdir()} == {path.parent.name for path in FILES}


def test_each_rule_has_cases_that_fire_and_cases_that_stay_silent() -> None:
    for cases in (FIRING, SILENT):
        count = Counter(path.parent.name for path in cases)
        assert [name for name in (*RULE_NAMES, *ROW_NAMES) if count[name] < 2] == []


def test_each_level_of_a_rule_has_a_firing_case() -> None:
    for rule in RULES:
        shown = {
            _read(path)["expect"]["level"] for path in (CASES / rule.name).glob("fires-*.yaml")
        }  # fmt: skip
        assert set(rule.levels) <= shown | {"unknown"}, rule.name


def test_each_rule_is_documented() -> None:
    for name in (*RULE_NAMES, *ROW_NAMES):
        page = PAGES[name]
        assert page.fault.endswith("."), f"{name}: the first line is the fault, in one sentence"
        assert page.cure, f"{name}: the cure is missing"
        assert page.source, f"{name}: the source is missing"
        assert page.levels, name


def test_each_page_says_why() -> None:
    assert [name for name in (*RULE_NAMES, *ROW_NAMES) if not PAGES[name].why] == []


def test_names_are_kebab_case_and_used_once() -> None:
    names = [*RULE_NAMES, *ROW_NAMES]
    assert all(re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)+", name) for name in names)
    assert len(set(names)) == len(names)
    rows = [(row.name, position, row.a, row.of) for row in catalogue().standards.joints for position in row.at]
    assert len(set(rows)) == len(rows), "one row name stands for one comparison at each position"
