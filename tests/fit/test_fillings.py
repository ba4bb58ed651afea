"""What may be in positions that nobody told of: every two of them meet filled, empty and one of each."""

from __future__ import annotations

import json
from itertools import combinations, product
from typing import Any

import pytest

from buildcheck.fit.across import QUESTION
from buildcheck.fit.fillings import _rows, fillings
from buildcheck.library.bikes import bike_from, set_facts
from buildcheck.library.problems import InputError
from buildcheck.library.yaml_text import read_document
from buildcheck.model.bikes import Bike, Change
from laws.bench import bike, catalogue, vetting


def told(parts: dict[str, Any], **more: Any) -> Bike:
    text = json.dumps({"like": "city-rim", "parts": parts, **more})
    return bike_from(read_document(text, "case"), catalogue())


@pytest.mark.parametrize("columns", [*range(1, 13), 36, 57])
def test_every_two_columns_meet_in_every_way(columns: int) -> None:
    rows = [(False,) * columns, *_rows(columns)]
    assert len(rows) <= columns.bit_length() + 6
    for one, other in combinations(range(columns), 2):
        assert {(row[one], row[other]) for row in rows} == set(product((False, True), repeat=2))
    assert any(all(row) for row in rows)


def test_a_bike_that_is_told_has_no_fillings() -> None:
    assert fillings(bike("city-rim"), catalogue().standards) == ()


def test_what_is_filled_is_a_part_without_a_record_and_names_what_nobody_told() -> None:
    (one,) = fillings(told({"spacer": "unknown"}), catalogue().standards)
    (position,) = one.filled
    assert one.filled[position] == "spacer"
    assert not one.bike[position].part.has_record()


def test_every_kind_that_may_be_there_is_tried() -> None:
    kinds = {each.bike["chain"].part.kind for each in fillings(told({"chain": "unknown"}), catalogue().standards)}
    assert kinds == {"belt"}  # as told it has a chain


def test_a_look_answers_whether_there_is_one() -> None:
    asked = told({"front-derailleur": "unknown"})
    assert [row.attribute for row in vetting(asked).check().measure_first[:1]] == ["presence"]
    for word, there in (("none", False), ("front-derailleur", True)):
        looked = set_facts(asked, Change(), [f"front-derailleur.presence={word}"], catalogue())
        assert ("front-derailleur" in looked, looked.untold) == (there, frozenset())


@pytest.mark.parametrize(
    ("setting", "why"),
    [
        ("stem.presence=none", "is told already"),
        ("front-derailleur.presence=saddle", "front-derailleur.presence is none or front-derailleur, not 'saddle'"),
        ("gearbox.presence=none", "is not a position"),
    ],
)
def test_an_answer_that_is_none_is_refused(setting: str, why: str) -> None:
    with pytest.raises(InputError, match=why):
        set_facts(told({"front-derailleur": "unknown"}), Change(), [setting], catalogue())


def test_a_question_that_turns_on_the_change_counts() -> None:
    asked, change = told({"bar-clamp-shim": "unknown"}), Change((("tolverne-alder-100", "stem"),))
    (question,) = (each for each in vetting(asked).findings(change) if each.name == QUESTION)
    assert question.counts
