"""`buildcheck parts fits`: the same answers as fitting each part by itself."""

from __future__ import annotations

import json

import pytest
from jsonschema import Draft202012Validator

from buildcheck.choosing import choices
from buildcheck.library.folders import schemas_folder
from buildcheck.model.bikes import Change
from buildcheck.model.levels import Level, Since
from command import run
from laws.bench import bike, catalogue, findings_of, vetting


@pytest.mark.parametrize(
    ("name", "position"),
    [("city-rim", "stem"), ("trail-hardtail", "saddle"), ("tourer-cable", "front-tyre"), ("allroad-wired", "battery")],
)
def test_each_part_is_judged_as_a_swap_would(name: str, position: str) -> None:
    found = choices(vetting(bike(name)), position)
    judged = [*found.fits, *found.undecided, *found.blocked]
    row = catalogue().standards.position(position)
    assert row is not None
    assert sorted(choice.id for choice in judged) == sorted(part.id for part in catalogue().of_kinds(row.kinds))
    for choice in judged:
        brought = [f for f in findings_of(bike(name), Change(((choice.id, position),))) if f.since is Since.CHANGE]
        levels = {finding.level for finding in brought}
        assert (choice in found.blocked) == (Level.BLOCKS in levels)
        assert (choice in found.undecided) == (Level.UNKNOWN in levels and Level.BLOCKS not in levels)
        assert {finding.name for finding in brought if finding.level is not Level.NOTE} == set(choice.names)
    assert found.fitted_now in {choice.id for choice in found.fits}
    for cause in found.causes:
        assert cause.count <= len(found.blocked) + len(found.undecided)
        assert cause.example


def test_the_cheapest_comes_first() -> None:
    fits = choices(vetting(bike("tourer-cable")), "saddle").fits
    prices = [choice.price for choice in fits if choice.price is not None]
    assert prices == sorted(prices)
    assert len(prices) > 2


def test_an_empty_position_can_be_asked_about() -> None:
    ran = run("parts", "fits", "city-rim", "front-rotor")
    assert ran.code == 1
    assert "Fitted now: nothing" in ran.out
    assert ran.out.startswith("0 of ")


def test_a_fact_that_is_set_counts() -> None:
    with_it = run("parts", "fits", "city-rim", "seatpost", "--set", "frame.seat_tube_bore_mm=27.2")
    assert with_it.out != run("parts", "fits", "city-rim", "seatpost").out


def test_json_states_the_same_and_keeps_to_its_schema() -> None:
    ran = run("parts", "fits", "city-rim", "stem", "--format", "json")
    answer = json.loads(ran.out)
    schema = json.loads((schemas_folder() / "choices.schema.json").read_text("utf-8"))
    Draft202012Validator(schema).validate(answer)
    assert ran.code == 0
    assert answer["fits"][0]["id"] in run("parts", "fits", "city-rim", "stem").out


def test_lines_are_80_columns_wide() -> None:
    assert max(map(len, run("parts", "fits", "allroad-wired", "handlebar").out.splitlines())) <= 80


def test_a_position_that_is_none_is_told() -> None:
    ran = run("parts", "fits", "city-rim", "stm")
    assert ran.code == 2
    assert 'did you mean "stem"?' in ran.err
