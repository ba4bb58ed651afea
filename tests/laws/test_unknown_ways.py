"""Law 1 for whole lists: a part of which nobody knows what ways it has never proves that a line is blocked."""

from __future__ import annotations

import pytest

from buildcheck.fit.lines import carriers
from buildcheck.model.levels import Level, Verdict
from laws.bench import BIKES, bike, change, context_of, findings_of, vetting, with_facts

CARRIERS = [(name, spot.position) for name in BIKES for spot in carriers(context_of(bike(name)).view) if spot.is_main]


def _nobody_knows(position: str) -> dict[str, object]:
    return {f"{position.replace('-', '_AT_')}__passages": "null"}


@pytest.mark.parametrize(("name", "position"), CARRIERS)
def test_ways_that_nobody_knows_block_nothing(name: str, position: str) -> None:
    of = with_facts(bike(name), **_nobody_knows(position))
    report = vetting(of).check()
    assert report.verdict in (Verdict.FITS, Verdict.UNDECIDED)
    if report.verdict is Verdict.UNDECIDED:
        assert [(row.position, row.attribute) for row in report.measure_first] == [(position, "passages")]


@pytest.mark.parametrize("position", ["frame", "fork", "handlebar", "headset-cover", "headset-upper", "spacer-1"])
def test_ways_that_nobody_knows_prove_nothing_about_a_change(position: str) -> None:
    of = bike("allroad-wired")
    asked = change(of, "wexcombe-veil-420-100@handlebar")
    opened = with_facts(of, asked, **_nobody_knows(position))
    names = {finding.name for finding in findings_of(opened, asked) if finding.level is Level.BLOCKS}
    assert not names & {"line-has-no-way", "bore-too-small", "line-too-short", "line-end-too-large"}
