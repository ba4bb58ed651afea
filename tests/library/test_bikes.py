"""Bike files and what is asked of a bike: positions, supports, measured facts, changes."""

from __future__ import annotations

import json
import random
import re
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.change import apply_change
from buildcheck.fit.view import View
from buildcheck.library.bikes import bike_from, load_bike, read_change, set_facts
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_bike, bundled_folder
from buildcheck.library.problems import InputError
from buildcheck.library.rebuild import with_numbers
from buildcheck.library.yaml_text import read_document, read_file
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.quantities import Interval
from buildcheck.vetting import Vetting

BIKES = sorted(path.stem for path in bundled_folder().glob("bikes/*.yaml"))
VEIL = "wexcombe-veil-420-100"


@pytest.fixture(scope="module")
def allroad(catalogue: Catalogue) -> Bike:
    return load_bike(Path("allroad-wired"), catalogue)


def bike_of(parts: dict[str, Any], catalogue: Catalogue, **more: Any) -> Bike:
    text = json.dumps({"bike": "b", "name": "B", "use": "city", "parts": parts, "others": "none", **more}, indent=1)
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
    assert read_change([VEIL, "wexcombe-heather@saddle"], [], allroad, catalogue).fit == (
        (VEIL, "handlebar"), ("wexcombe-heather", "saddle"),
    )  # fmt: skip
    assert read_change(["ostmoor-round-5@spacer-9"], ["saddle"], allroad, catalogue) == Change(
        (("ostmoor-round-5", "spacer-9"),), ("saddle",)
    )


def test_of_two_positions_the_one_that_every_bike_has_is_meant(allroad: Bike, catalogue: Catalogue) -> None:
    assert read_change(["merrowby-lode-chain-1"], [], allroad, catalogue).fit == (("merrowby-lode-chain-1", "chain"),)
    tandem = load_bike(Path("long-tandem-lines"), catalogue)
    with pytest.raises(InputError, match="positions for a chain: timing-chain, chain"):
        read_change(["merrowby-lode-chain-1"], [], tandem, catalogue)


def test_a_one_piece_bar_and_a_stem_do_not_both_go_on(allroad: Bike, catalogue: Catalogue) -> None:
    with pytest.raises(InputError, match="two parts are to be fitted at 'stem'"):
        read_change([VEIL, "tolverne-alder-110@stem"], [], allroad, catalogue)


def test_where_to_put_it_is_asked_with_the_choices(catalogue: Catalogue) -> None:
    empty = bike_of({}, catalogue)
    with pytest.raises(InputError, match="positions for a tyre: front-tyre, rear-tyre"):
        read_change(["dunreth-drover-40-622"], [], empty, catalogue)


@pytest.mark.parametrize(
    ("part", "position", "says"),
    [
        ("merrowby-twill-ring-42", "cassette", "of the kind chainring; the position 'cassette' takes cassette"),
        ("dunreth-drey-rack", "frame", "Parts of the kind accessory go to accessory"),  # the frame would carry it
        ("tolverne-alder-100", "handlebar", "takes handlebar or bar-stem. Parts of the kind stem go to stem"),
        ("merrowby-slab-city", "saddle", "go to front-pedals or pedals"),
    ],
)
def test_a_part_is_refused_where_its_kind_does_not_go(
    part: str, position: str, says: str, allroad: Bike, catalogue: Catalogue
) -> None:
    with pytest.raises(InputError) as error:
        read_change([f"{part}@{position}"], [], allroad, catalogue)
    assert says in str(error.value)
    with pytest.raises(InputError) as error:
        bike_of({position: {"part": part}}, catalogue)
    assert says in str(error.value)
    assert re.match(r"bike\.yaml:\d+:\d+: meaning: ", str(error.value))


def test_every_part_may_go_where_its_kind_goes(catalogue: Catalogue) -> None:
    for row in catalogue.standards.positions.values():
        for part in catalogue.of_kinds(row.kinds):
            assert bike_of({row.id: part.id}, catalogue)[row.id].part is part


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
    to_come = bike.to_come[VEIL, "handlebar"]
    assert getattr(to_come.part, "width_mm") == Interval(440, 440)
    assert getattr(to_come.part, "stack_mm") == Interval(42, 42)  # the one-piece part fills the stem's position too
    assert (to_come.where["stack_mm"], to_come.measured) == ("--set:1", {"width_mm", "stack_mm"})
    assert VEIL not in bike.own_parts
    assert of(bike, "stem", "stack_mm") == of(allroad, "stem", "stack_mm")
    assert of(bike, "fork", "steerer_length_mm") == Interval(200, 200)


def test_what_the_record_says_against_a_fact_that_is_set_is_not_known(allroad: Bike, catalogue: Catalogue) -> None:
    bike = set_facts(allroad, Change(), ["front-caliper.brake=cable"], catalogue)
    caliper = bike["front-caliper"]
    assert caliper.measured == {"brake", "cable_pull", "fluid", "hose_system"}
    assert [of(bike, "front-caliper", name) for name in ("cable_pull", "fluid", "hose_system")] == [None] * 3
    assert caliper.where["fluid"] == "--set:1"
    assert of(bike, "front-caliper", "brake_type") == of(allroad, "front-caliper", "brake_type")
    view = View(bike, catalogue.standards)
    assert view.word("front-caliper", "fluid").value == "none"  # the table tells it


def test_what_is_set_counts_against_a_headset_code(allroad: Bike, catalogue: Catalogue) -> None:
    bike = set_facts(allroad, Change(), ["headset-upper.bearing_inner_mm=27"], catalogue)
    assert of(bike, "headset-upper", "fits_mm") is None
    assert of(set_facts(allroad, Change(), ["headset-upper.bearing_inner_mm=30"], catalogue), "headset-upper", "code")


def test_two_facts_that_are_set_and_contradict_each_other_are_refused(allroad: Bike, catalogue: Catalogue) -> None:
    with pytest.raises(InputError, match=r"--set: fluid is dot-4, but expected is fluid none"):
        set_facts(allroad, Change(), _CABLE_BRAKE_WITH_FLUID, catalogue)


_CABLE_BRAKE_WITH_FLUID = [
    "front-caliper.brake=cable", "front-caliper.fluid=dot-4", "front-caliper.cable_pull=short",
    "front-caliper.hose_system=none",
]  # fmt: skip


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


# ---- what may be mounted where, and which line ends where ----

STACK = {"frame": "harrowdene-fell-54", "headset-upper": "ostmoor-plain-is52-upper", "fork": "harrowdene-fell-carbon",
         "headset-cover": "ostmoor-plain-cover-is52", "spacer-1": "ostmoor-round-10"}  # fmt: skip
ALDER, HOSE = "tolverne-alder-100", "merrowby-tarn-hose-front"
LINE = {"lever-left": "merrowby-tarn-left", "front-caliper": "merrowby-tarn-flat-front",
        "front-brake-line": {"part": HOSE, "from": "lever-left", "to": "front-caliper"}}  # fmt: skip
SAYS = [
    ({"saddle": {"part": "wexcombe-heather", "on": "frame"}, "seatpost": "wexcombe-birch-272-350"},
     "'saddle' cannot be mounted on 'frame'; it goes on seatpost"),
    ({"stem": {"part": ALDER, "on": "fork"}}, "'stem' on 'fork' would stand beside headset-cover and spacer-1"),
    ({"stem": {"part": ALDER, "on": "saddle"}, "saddle": "wexcombe-heather"}, "goes on .*spacer-1"),
    ({"headset-cover": {"part": STACK["headset-cover"], "on": "spacer-1"}}, "it goes on headset-upper"),
    ({**LINE, "handlebar": {"part": "tolverne-hollin-420", "on": "front-brake-line"}}, "cannot be mounted on"),
    ({**LINE, "accessory-bell": {"part": "dunreth-chime-bell", "on": "front-brake-line"}}, "cannot be mounted on"),
    ({**LINE, "rear-brake-line": {"part": HOSE, "from": "lever-left", "to": "front-caliper"}},
     "'rear-brake-line' runs to rear-caliper or rear-wheel, not to 'front-caliper' — did you mean \"rear-caliper\""),
    ({**LINE, "rear-brake-line": {"part": HOSE, "from": "front-caliper"}}, "runs from lever-left or lever-right, not"),
    ({**LINE, "wire-1": {"part": "skarnfell-bus-a-350", "from": "front-brake-line"}}, "which is a line itself"),
    ({**LINE, "front-brake-line": {"part": HOSE, "on": "frame"}}, "'front-brake-line' cannot be mounted"),
]  # fmt: skip


@pytest.mark.parametrize(("parts", "says"), SAYS)
def test_what_is_in_the_wrong_place_is_refused_with_the_right_one(
    parts: dict[str, Any], says: str, catalogue: Catalogue
) -> None:
    with pytest.raises(InputError, match=says):
        bike_of({**STACK, **parts}, catalogue)


@pytest.mark.parametrize("stem", [{"part": ALDER, "on": "spacer-1"}, {"part": ALDER, "on": "spacer-2"}])
def test_a_stack_may_be_in_any_order_that_can_be_built(stem: dict[str, str], catalogue: Catalogue) -> None:
    above = "stem" if stem["on"] == "spacer-1" else "spacer-1"
    bike = bike_of({**STACK, "stem": stem, "spacer-2": {"part": "ostmoor-round-5", "on": above}}, catalogue)
    assert bike["stem"].on == stem["on"]


def test_a_one_piece_part_says_where_its_stem_stands(catalogue: Catalogue) -> None:
    bike = bike_of({**STACK, "handlebar": {"part": VEIL, "on": "spacer-1"}}, catalogue)
    assert (bike["stem"].on, bike["handlebar"].on) == ("spacer-1", "stem")


def test_a_fact_belongs_to_one_part_in_one_position(allroad: Bike, catalogue: Catalogue) -> None:
    big = "merrowby-tarn-rotor-180-spline"
    change = Change(((big, "front-rotor"), (big, "rear-rotor")))
    vetting = Vetting(set_facts(allroad, change, ["front-rotor.diameter_mm=160"], catalogue), catalogue)
    vetted = vetting._vet(change)[0]
    assert [f.positions[0] for f in vetted.findings if f.name.endswith("rotor-too-large")] == ["rear-rotor"]
    there = vetted.context.bike
    assert of(there, "front-rotor", "diameter_mm") == Interval(160, 160)
    assert of(there, "rear-rotor", "diameter_mm") == Interval(180, 180)
    assert (there["front-rotor"].measured, there["rear-rotor"].measured) == ({"diameter_mm"}, frozenset())


def test_what_was_seen_on_a_part_goes_with_the_part(catalogue: Catalogue) -> None:
    bike = bike_of({"frame": {"part": "harrowdene-fell-54", "condition": ["oily", "cracked", "cracked"]}}, catalogue)
    assert bike["frame"].condition == ("contaminated", "cracked")
    assert bike["frame"].where["condition"] == "bike.yaml:8"
    same = Vetting(bike, catalogue)._look_up
    kept = apply_change(bike, Change((("harrowdene-fell-54", "frame"),)), same, catalogue.standards)
    assert kept["frame"].condition == ("contaminated", "cracked")
    other = apply_change(bike, Change((("harrowdene-fell-57", "frame"),)), same, catalogue.standards)
    assert other["frame"].condition == ()


@pytest.mark.parametrize(
    ("raw", "text"),
    [
        ("crackd", "bike.yaml:8:17: meaning: 'crackd' is not a word of the vocabulary 'condition' — did you mean"),
        ("unknown", "leave it out where nothing was noted"),
        (7, "is not a word of the vocabulary 'condition'"),
        ([], "at least one word is expected"),
        (True, "one word is expected"),
    ],
)
def test_a_condition_that_nobody_knows_is_refused_with_its_line(raw: object, text: str, catalogue: Catalogue) -> None:
    with pytest.raises(InputError, match=re.escape(text)):
        bike_of({"frame": {"part": "harrowdene-fell-54", "condition": raw}}, catalogue)


def test_a_condition_is_set_on_the_part_that_is_there_or_to_come(allroad: Bike, catalogue: Catalogue) -> None:
    told = set_facts(allroad, Change(), ["front-pads.condition=[glazed, oily]"], catalogue)
    assert told["front-pads"].condition == ("contaminated", "glazed")
    assert told["front-pads"].where["condition"] == "--set:1"
    swap = Change((("wexcombe-hide", "saddle"),))
    told = set_facts(allroad, swap, ["saddle.condition=cracked"], catalogue)
    assert told["saddle"].condition == ()
    assert told.to_come["wexcombe-hide", "saddle"].condition == ("cracked",)
    with pytest.raises(InputError, match=r"--set: 'crackd' is not a word"):
        set_facts(allroad, Change(), ["saddle.condition=crackd"], catalogue)
    with pytest.raises(InputError, match="has no attribute 'condition' that could be measured"):
        bike_of({"frame": {"part": "harrowdene-fell-54", "measured": {"condition": "bent"}}}, catalogue)
