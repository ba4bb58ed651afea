"""Bike files and what is asked of a bike: positions, supports, measured facts, changes."""

from __future__ import annotations

import json
import random
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.bikes import bike_from, load_bike, read_change, set_facts
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_bike, bundled_folder
from buildcheck.library.problems import InputError
from buildcheck.library.rebuild import with_numbers
from buildcheck.library.yaml_text import read_document, read_file
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.quantities import Interval

BIKES = sorted(path.stem for path in bundled_folder().glob("bikes/*.yaml"))
VEIL = "wexcombe-veil-420-100"


@pytest.fixture(scope="module")
def allroad(catalogue: Catalogue) -> Bike:
    return load_bike(Path("allroad-wired"), catalogue)


def bike_of(parts: dict[str, Any], catalogue: Catalogue, **more: Any) -> Bike:
    text = json.dumps({"bike": "b", "name": "B", "use": "city", "parts": parts, **more}, indent=1)
    return bike_from(read_document(text, "bike.yaml"), catalogue)


def of(bike: Bike, position: str, attribute: str) -> Any:
    return getattr(bike[position].part, attribute)


@pytest.mark.parametrize("name", BIKES)
def test_bundled_bikes_load_with_every_part_carried(name: str, catalogue: Catalogue) -> None:
    bike = load_bike(Path(name), catalogue)
    assert bike.id == name
    assert bike == load_bike(bundled_bike(name), catalogue)
    lines = {position for position in bike.fitted if (row := catalogue.standards.position(position)) and row.line}
    carried = {position for position, spot in bike.fitted.items() if spot.on is not None}
    assert set(bike.fitted) == lines | carried | {"frame"}
    for position in lines:
        assert bike[position].start in bike
        assert bike[position].end in bike


@pytest.mark.parametrize("name", BIKES)
def test_the_order_of_the_file_changes_nothing(name: str, catalogue: Catalogue) -> None:
    document = read_file(bundled_bike(name))
    value: Any = document.value
    parts = list(value["parts"].items())
    random.Random(7).shuffle(parts)
    shuffled = bike_of(dict(parts), catalogue)
    assert list(shuffled.fitted) != list(load_bike(Path(name), catalogue).fitted)
    assert dict(shuffled.fitted) == dict(load_bike(Path(name), catalogue).fitted)


def test_measured_facts_are_known_as_such_with_their_line(allroad: Bike) -> None:
    spot = allroad["front-brake-line"]
    assert of(allroad, "front-brake-line", "length_mm") == Interval(850, 850)
    assert spot.measured == {"length_mm"}
    file, _, line = spot.where["length_mm"].rpartition(":")
    assert "length_mm: 850" in Path(file).read_text(encoding="utf-8").splitlines()[int(line) - 1]
    assert spot.where["fluid"].startswith("catalog/parts/hoses-and-housings.yaml:")


def test_facts_may_be_intervals_words_of_the_trade_or_unknown(catalogue: Catalogue) -> None:
    measured = {
        "steerer_length_mm": "225..230",
        "steerer_section": "D-steerer",
        "threaded": "unknown",
        "crown_seat_mm": None,
    }
    bike = bike_of({"fork": {"part": "harrowdene-fell-carbon", "measured": measured}}, catalogue)
    assert of(bike, "fork", "steerer_length_mm") == Interval(225, 230)
    assert of(bike, "fork", "steerer_section") == "d-shaped"
    assert of(bike, "fork", "threaded") is None
    assert of(bike, "fork", "crown_seat_mm") is None
    assert bike["fork"].measured == set(measured)
    assert of(bike, "fork", "steerer_mm") == Interval(28.6, 28.6)


def test_a_measured_passage_takes_the_place_of_the_catalogues(catalogue: Catalogue) -> None:
    way = {"id": "bored", "start": "bar-centre", "end": "@below", "bore": {"shape": "round", "diameter_mm": 8}}
    bike = bike_of({"stem": {"part": "tolverne-alder-100", "measured": {"passages": [way]}}}, catalogue)
    assert [(passage.id, passage.bore.diameter_mm) for passage in of(bike, "stem", "passages")] == [
        ("bored", Interval(8, 8))
    ]


def test_own_parts_are_parts(catalogue: Catalogue) -> None:
    own = {"kind": "stem", "id": "old-stem", "maker": "unknown", "name": "old stem", "steerer_section": "plain"}
    with pytest.raises(InputError, match="'plain' is not a word"):
        bike_of({"stem": "old-stem"}, catalogue, own_parts=[own])
    bike = bike_of({"stem": "old-stem"}, catalogue, own_parts=[{**own, "steerer_section": "D-steerer"}])
    assert of(bike, "stem", "steerer_section") == "d-shaped"
    assert bike["stem"].where["steerer_section"].startswith("bike.yaml:")
    assert read_change(["old-stem"], [], bike, catalogue) == Change((("old-stem", "stem"),))


def test_a_one_piece_part_fills_both_positions(catalogue: Catalogue) -> None:
    bike = bike_of({"headset-cover": "ostmoor-plain-cover-is52", "handlebar": VEIL}, catalogue)
    assert bike["stem"].part is bike["handlebar"].part
    assert (bike["stem"].home, bike["handlebar"].on, bike["stem"].on) == ("handlebar", "stem", "headset-cover")
    assert [spot.position for spot in bike.main_spots()] == ["headset-cover", "handlebar"]


# ---- what is asked ----


def test_a_position_is_found_where_there_is_only_one(allroad: Bike, catalogue: Catalogue) -> None:
    assert read_change([VEIL, "tolverne-alder-110@stem"], [], allroad, catalogue).fit == (
        (VEIL, "handlebar"), ("tolverne-alder-110", "stem"),
    )  # fmt: skip
    assert read_change(["ostmoor-round-5@spacer-9"], ["saddle"], allroad, catalogue) == Change(
        (("ostmoor-round-5", "spacer-9"),), ("saddle",)
    )


def test_where_to_put_it_is_asked_with_the_choices(catalogue: Catalogue) -> None:
    empty = bike_of({}, catalogue)
    with pytest.raises(InputError, match="positions for a tyre: front-tyre, rear-tyre"):
        read_change(["dunlowe-drover-40-622"], [], empty, catalogue)


def test_facts_are_set_on_the_part_that_stays(allroad: Bike, catalogue: Catalogue) -> None:
    bike = set_facts(
        allroad, Change(), ["stem.length_mm=90", "stem.angle_deg=-17..-10", "fork.threaded=unknown"], catalogue
    )
    assert of(bike, "stem", "length_mm") == Interval(90, 90)
    assert of(bike, "stem", "angle_deg") == Interval(-17, -10)
    assert of(bike, "fork", "threaded") is None
    assert bike["stem"].measured == {"length_mm", "angle_deg"}
    assert bike["stem"].where["length_mm"] == "--set:1"
    assert of(allroad, "stem", "length_mm") == Interval(100, 100)


def test_facts_are_set_on_the_part_that_is_to_be_fitted(allroad: Bike, catalogue: Catalogue) -> None:
    change = Change(((VEIL, "handlebar"),))
    bike = set_facts(
        allroad, change, ["handlebar.width_mm=440", "stem.stack_mm=42", "fork.steerer_length_mm=200"], catalogue
    )
    part, where = bike.own_parts[VEIL]
    assert getattr(part, "width_mm") == Interval(440, 440)
    assert getattr(part, "stack_mm") == Interval(42, 42)  # the one-piece part fills the stem's position too
    assert where["stack_mm"] == "--set:1"
    assert of(bike, "stem", "stack_mm") == of(allroad, "stem", "stack_mm")
    assert of(bike, "fork", "steerer_length_mm") == Interval(200, 200)


def test_a_fact_about_the_part_that_is_there_is_not_lost_when_it_is_asked_for_again(
    allroad: Bike, catalogue: Catalogue
) -> None:
    change = Change((("tolverne-alder-100", "stem"),))
    assert of(set_facts(allroad, change, ["stem.length_mm=90"], catalogue), "stem", "length_mm") == Interval(90, 90)


def test_a_fact_of_a_one_piece_part_holds_in_both_positions(catalogue: Catalogue) -> None:
    bike = bike_of({"headset-cover": "ostmoor-plain-cover-is52", "handlebar": VEIL}, catalogue)
    for position in ("stem", "handlebar"):
        changed = set_facts(bike, Change(), [f"{position}.stack_mm=41"], catalogue)
        assert of(changed, "stem", "stack_mm") == of(changed, "handlebar", "stack_mm") == Interval(41, 41)


@given(
    st.integers(0, 10**6) | st.floats(0, 1e6), st.sampled_from(["length_mm", "stack_mm", "bar_clamp_mm", "weight_g"])
)
def test_the_quick_way_to_set_a_number_is_the_thorough_way(catalogue: Catalogue, value: float, name: str) -> None:
    part = catalogue.part("tolverne-alder-100")
    thorough = type(part).model_validate({**part.model_dump(mode="json", exclude_unset=True), name: value})
    quick = with_numbers(part, {name: value})
    assert quick == thorough
    assert quick is not None
    assert quick.model_fields_set == thorough.model_fields_set


@pytest.mark.parametrize("raw", [-1, True, "9", "8..9", None, [9], {"a": 1}])
def test_the_quick_way_leaves_all_else_to_the_thorough_way(catalogue: Catalogue, raw: object) -> None:
    assert with_numbers(catalogue.part("tolverne-alder-100"), {"length_mm": raw}) is None
    assert with_numbers(catalogue.part("tolverne-alder-100"), {"price_eur": 3}) is None
