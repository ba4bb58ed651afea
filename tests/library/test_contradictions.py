"""Records that contradict themselves: each row of the table refuses something; what is not known contradicts nothing.

What each row refuses in a catalogue stands in bad/parts/contradictory-*.yaml.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.contradictions import constraint_problems
from buildcheck.library.rebuild import rebuilt
from buildcheck.library.standards import TABLES
from buildcheck.library.yaml_text import read_file
from buildcheck.model.parts import PART_KINDS
from command import run

BAD = Path(__file__).parent / "bad"
BIKE = """bike: mine
name: A bike
use: city
own_parts:
  - {{kind: cassette, id: own, maker: M, name: N, {own}}}
parts:
  cassette: {{part: own, measured: {{{measured}}}}}
"""


def _rows() -> list[str]:
    document = read_file(Path(__file__).parents[2] / "catalog" / "standards" / "constraints.yaml").value
    assert isinstance(document, dict)
    return [row["id"] for row in document["constraints"]]


def _broken(catalogue: Catalogue, kind: str, measured: tuple[str, ...] = (), **facts: object) -> list[str]:
    part = rebuilt(PART_KINDS[kind], {"kind": kind, "id": "x", "maker": "m", "name": "n", **facts})
    return [found.text for found in catalogue.constraints.broken_by(part, measured)]


def test_each_row_has_a_record_that_it_refuses() -> None:
    refused = set()
    for path in BAD.glob("parts/contradictory-*.yaml"):
        document = read_file(path).value
        assert isinstance(document, dict)
        refused |= {part["id"].removeprefix("bad-") for part in document["parts"]}
    assert refused == set(_rows())


def test_what_is_not_known_and_a_part_of_an_interval_contradict_nothing(catalogue: Catalogue) -> None:
    assert not _broken(catalogue, "cassette", smallest_teeth=34)
    assert not _broken(catalogue, "cassette", smallest_teeth="11..34", largest_teeth="28..30")
    assert _broken(catalogue, "cassette", smallest_teeth="31..34", largest_teeth="28..30")
    assert not _broken(catalogue, "crankset", rings="1..2", ring_spacing_mm=7.5)
    assert not _broken(catalogue, "crankset", rings=1, ring_spacing_mm="0..7.5")
    assert _broken(catalogue, "crankset", rings=1, ring_spacing_mm="1..7.5")
    assert not _broken(catalogue, "seatpost", travel_mm="0..150", actuation="cable")
    assert not _broken(catalogue, "cassette", freehub="fine-spline23", body_length_mm=99)


def test_sizes_that_meet_contradict_only_where_one_must_be_less(catalogue: Catalogue) -> None:
    assert not _broken(catalogue, "cassette", smallest_teeth=16, largest_teeth=16)
    assert _broken(catalogue, "fork", steerer_inner_mm=28.6, steerer_mm=28.6)
    assert not _broken(catalogue, "headset", half="upper", code="IS42/28.6", bearing_outer_mm=41.8)
    assert _broken(catalogue, "headset", half="upper", code="IS42/28.6", bearing_outer_mm=41)


def test_wear_that_was_measured_is_no_contradiction(catalogue: Catalogue) -> None:
    worn = {"thickness_mm": 1.4, "thickness_min_mm": 1.5}
    assert _broken(catalogue, "rotor", **worn)
    assert not _broken(catalogue, "rotor", ("thickness_mm",), **worn)


DOORS = [
    ("sprockets: [11, 13, 15], speeds: 4", "", "5:61: meaning: the count of sprockets is 3, but expected is"),
    ("sprockets: [11, 13, 15]", "speeds: 4", "7:44: meaning: the count of sprockets is 3, but expected is"),
    ("smallest_teeth: 11", "largest_teeth: 10, smallest_teeth: 12", "7:71: meaning: smallest_teeth is 12, but expect"),
]


@pytest.mark.parametrize(("own", "measured", "why"), DOORS, ids=["own part", "measured on it", "both measured"])
def test_a_bike_is_refused_at_the_line_of_the_fact(own: str, measured: str, why: str, tmp_path: Path) -> None:
    path = tmp_path / "mine.yaml"
    path.write_text(BIKE.format(own=own, measured=measured), encoding="utf-8")
    ran = run("check", path)
    assert ran.code == 2
    assert ran.err.startswith(f"{path}:{why}")


def test_facts_that_are_set_are_refused_where_all_of_them_are_told() -> None:
    told = ["--set", "cassette.smallest_teeth=40", "--set", "cassette.largest_teeth=30"]
    ran = run("check", "road-rim", *told)
    assert (ran.code, ran.out) == (2, "")
    assert ran.err.startswith("--set: smallest_teeth is 40, but expected is at most largest_teeth (30)")
    # What one fact alone would change is asked all the same, and what is corrected later is not held against it.
    assert run("check", "road-rim", "--set", "cassette.largest_teeth=10").code != ran.code
    assert run("check", "road-rim", *told, "--set", "cassette.smallest_teeth=11").code != ran.code


FORMS = [
    ({"a": "smallest_teeth"}, "either a, compare and b are expected, or then"),
    ({}, "either a, compare and b are expected, or then"),
    ({"a": "sum of sprockets", "compare": "equal", "b": "speeds"}, "'sum of sprockets' is no attribute, no number"),
]


@pytest.mark.parametrize(("form", "why"), FORMS, ids=[why for _, why in FORMS])
def test_a_row_of_no_form_is_refused(form: dict[str, str], why: str) -> None:
    with pytest.raises(ValueError, match=why):
        TABLES["constraints"].model_validate({"id": "x", "kinds": ["cassette"], "why": "y", "source": "s", **form})


def test_a_row_about_an_attribute_that_no_part_has_is_found() -> None:
    row = {"id": "x", "kinds": ["cassette"], "a": "tooth", "compare": "equal", "b": "speeds", "why": "y", "source": "s"}
    told = [text for _, text in constraint_problems({"constraints": [{"row": row, "where": "here:1", "root": 0}]})]
    assert told == ["x: the kind cassette has no attribute 'tooth'"]
