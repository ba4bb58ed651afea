"""What customers ask most: each ends in a remedy that is right and complete, or in the reason that a mechanic gives.

A file of tests/requests/ holds cases: `bike`, `parts`, `without`, `fit`, `renew`, `move`, `take_off`, `set` as in
tests/cases/, and `expect`:

    verdict: that of the change as asked        finds: findings that it brings
    remedy: [part@position, or position] of the cheapest one; gives_up: how many things it takes away, 0 if left out;
    leaves: the verdict with it, if it is none that fits
    asks: the fact that is to be measured first
    impossible: the finding that is told first  says: words of it      would_help: the position of a part to look for
    once: operations that the whole job has once, however much of what is asked calls for them
"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library.cases import Case, bike_and_change
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.yaml_text import read_document
from buildcheck.model.bikes import Change
from buildcheck.model.levels import Since
from buildcheck.model.report import Outcome, Report
from buildcheck.vetting import Vetting, verdict_of

FILES = sorted((Path(__file__).parent / "requests").glob("*.yaml"))
CASES = [
    (f"{path.stem}-{number}", case) for path in FILES
    for number, case in enumerate(read_document(path.read_bytes(), path.name).value, 1)
]  # fmt: skip
# Our choice, as a customer waits at the counter while it is measured.
MOST_QUESTIONS = 5


def test_the_requests_are_found() -> None:
    assert len(FILES) >= 20
    assert len(CASES) >= 50


@pytest.mark.parametrize(("name", "said"), CASES, ids=[name for name, _ in CASES])
def test_a_request_ends_as_a_mechanic_would_have_it(name: str, said: dict[str, Any], catalogue: Catalogue) -> None:
    bike, change = bike_and_change(Case(name, "", "", said), catalogue)
    vetting, expected = Vetting(bike, catalogue), said["expect"]
    report = vetting.swap(change)
    assert report.verdict == expected["verdict"]
    assert len(report.measure_first) <= MOST_QUESTIONS
    asked = [f"{each.position}.{each.attribute}" for each in report.measure_first]
    assert asked[:1] == [expected["asks"]] if "asks" in expected else not asked
    brought = {finding.name for finding in report.findings if finding.since is Since.CHANGE}
    assert set(expected.get("finds", ())) <= brought
    if "remedy" in expected:
        _check_remedy(vetting, change, report, expected)
    elif "impossible" in expected:
        _check_reason(report, expected)
    else:
        assert report.search.outcome is Outcome.NOT_NEEDED
    done = Counter(each.id.partition("@")[0] for each in report.work.operations)
    assert {name: done[name] for name in expected.get("once", ())} == dict.fromkeys(expected.get("once", ()), 1)


def _check_remedy(vetting: Vetting, change: Change, report: Report, expected: dict[str, Any]) -> None:
    assert report.search.outcome is Outcome.CHEAPEST
    remedy = report.remedies[0]
    assert sorted(map(_told, remedy.parts)) == sorted(expected["remedy"])
    assert len(remedy.gives_up) == expected.get("gives_up", 0)
    # It is complete: with it nothing blocks, and nothing that decides that is unknown.
    fit = [(part.id, part.position) for part in remedy.parts if part.id]
    off = [part.position for part in remedy.parts if not part.id]
    whole = replace(change, fit=(*change.fit, *fit), take_off=(*change.take_off, *off))
    verdict = verdict_of(vetting.vetted(whole).findings, changed=True)
    assert verdict == expected["leaves"] if "leaves" in expected else verdict.startswith("fits")


def _told(part: Any) -> str:
    return f"{part.id}@{part.position}" if part.id else part.position


def _check_reason(report: Report, expected: dict[str, Any]) -> None:
    assert report.search.outcome is Outcome.IMPOSSIBLE
    first = str(report.search.causes[0].text)
    assert first.startswith(f"{expected['impossible']}: ")
    assert expected["says"] in first
    new = report.search.new_part
    assert (new.position if new else None) == expected.get("would_help")
