"""What was noted on a part goes with that part: the remedy is another one, and no proof says that there is none."""

from __future__ import annotations

from dataclasses import replace

import pytest

from buildcheck.model.bikes import Bike
from buildcheck.model.report import Outcome
from laws.bench import bike, change, vetting


def noted(of: Bike, position: str, word: str) -> Bike:
    fitted = {at: replace(spot, condition=(word,)) if at == position else spot for at, spot in of.fitted.items()}
    return of.with_fitted(fitted)


@pytest.mark.parametrize(
    ("name", "part", "position", "word"),
    [
        ("city-rim", "tolverne-lantern-100@stem", "saddle", "cracked"),
        ("city-rim", "tolverne-lantern-100@stem", "handlebar", "bent"),
        ("road-rim", "merrowby-beck-11-34-11@cassette", "chain", "cracked"),
    ],
)
def test_a_part_that_must_not_be_ridden_is_exchanged(name: str, part: str, position: str, word: str) -> None:
    sound = bike(name)
    asked = change(sound, part)
    assert vetting(sound).swap(asked).search.outcome is Outcome.CHEAPEST
    report = vetting(noted(sound, position, word)).swap(asked)
    assert f"part-{word}" in {finding.name for finding in report.findings if finding.level == "blocks"}
    assert report.search.outcome is Outcome.CHEAPEST
    assert all(position in {each.position for each in remedy.parts} for remedy in report.remedies)
