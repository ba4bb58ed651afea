"""Bike files that are like another: what is taken over, what is not known, and what each fact's file and line is."""

from __future__ import annotations

import re
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library.bikes import load_bike
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import bundled_names
from buildcheck.library.problems import InputError
from buildcheck.model.bikes import Bike
from buildcheck.model.quantities import Interval


@pytest.fixture
def read(tmp_path: Path, catalogue: Catalogue) -> Any:
    def reader(text: str, name: str = "mine.yaml", **others: str) -> Bike:
        for other, body in others.items():
            (tmp_path / f"{other}.yaml").write_text(body, encoding="utf-8")
        (tmp_path / name).write_text(text, encoding="utf-8")
        return load_bike(tmp_path / name, catalogue)

    return reader


def size(bike: Bike, position: str, attribute: str) -> Any:
    held = getattr(bike[position].part, attribute)
    return held.low if isinstance(held, Interval) else held


@pytest.mark.parametrize("name", bundled_names())
def test_a_bike_like_a_bundled_one_is_that_one(name: str, read: Any, catalogue: Catalogue) -> None:
    bike, other = read(f"like: {name}\n"), load_bike(Path(name), catalogue)
    assert dict(bike.fitted) == dict(other.fitted)
    assert list(bike.fitted) == list(other.fitted)
    assert (bike.use, bike.motor, bike.untold) == (other.use, other.motor, other.untold)
    for position, spot in bike.fitted.items():
        assert spot.where == other[position].where


def test_what_a_file_says_of_a_part_stands_for_what_the_other_says(read: Any) -> None:
    bike = read("like: road-rim\nparts:\n  fork: {part: harrowdene-fell-carbon}\n")
    assert bike["fork"].part.id == "harrowdene-fell-carbon"
    assert "steerer_length_mm" not in bike["fork"].measured


def test_what_was_measured_adds_to_the_part_of_the_other_file(read: Any) -> None:
    bike = read("like: road-rim\nparts:\n  frame: {measured: {top_tube_outer_mm: 30}, condition: [corroded]}\n")
    frame = bike["frame"]
    assert frame.part.id == "harrowdene-causeway-56"
    assert (size(bike, "frame", "saddle_height_mm"), size(bike, "frame", "top_tube_outer_mm")) == (750, 30)
    assert frame.written_at("saddle_height_mm").endswith("road-rim.yaml:8")
    assert frame.written_at("top_tube_outer_mm").endswith("mine.yaml:3")
    assert frame.condition == ("corroded",)


def test_how_a_position_lies_is_taken_over(read: Any) -> None:
    bike = read("like: road-rim\nparts:\n  stem: {kind: stem}\n  front-brake-line: {kind: housing}\n")
    assert bike["stem"].on == "spacer-2"
    assert (bike["front-brake-line"].start, bike["front-brake-line"].end) == ("lever-left", "front-caliper")


def test_what_stood_on_what_is_gone_stands_on_the_next_below(read: Any) -> None:
    bike = read("like: road-rim\nparts:\n  spacer-1: none\n  spacer-2: none\n")
    assert bike["stem"].on == "headset-cover"
    assert "spacer-1" not in bike


def test_a_one_piece_bar_takes_the_place_of_the_stem_of_the_other_file(read: Any) -> None:
    bike = read("like: allroad-wired\nparts:\n  handlebar: wexcombe-veil-420-100\n  junction-front: none\n"
                "  accessory-lamp: none\n  accessory-computer: none\n  accessory-bag: none\n")  # fmt: skip
    assert (bike["stem"].home, bike["stem"].on) == ("handlebar", "spacer-3")


def test_files_are_like_one_another_in_a_chain_by_path(read: Any) -> None:
    bike = read("like: base.yaml\nparts: {stem: {measured: {length_mm: 95}}}\n",
                base="like: city-rim\nbike: base\nname: B\nown_parts: [{kind: stem, id: my-stem, maker: a, name: b}]\n"
                "parts: {stem: my-stem}\n")  # fmt: skip
    assert (bike.id, bike.name, bike.use) == ("base", "B", "city")
    assert (bike["stem"].part.id, size(bike, "stem", "length_mm")) == ("my-stem", 95)


def test_own_parts_of_both_files_are_there(read: Any) -> None:
    part = "{{kind: stem, id: {}, maker: a, name: {}}}".format
    bike = read(f"like: base.yaml\nown_parts: [{part('one', 'mine')}]\nparts: {{stem: one}}\n",
                base=f"like: city-rim\nown_parts: [{part('one', 'theirs')}, {part('two', 'theirs')}]\n")  # fmt: skip
    assert {name: own[0].name for name, own in bike.own_parts.items()} == {"one": "mine", "two": "theirs"}


def test_a_part_without_a_record_is_there_and_nothing_is_known_of_it(read: Any) -> None:
    bike = read("like: city-rim\nparts:\n  stem: {kind: stem, measured: {bar_clamp_mm: 31.8}}\n")
    stem = bike["stem"].part
    assert (stem.kind, stem.name, stem.has_record()) == ("stem", "not on record", False)
    assert (size(bike, "stem", "bar_clamp_mm"), stem.length_mm, stem.passages) == (31.8, None, None)
    assert not stem.lists("places")


def test_where_one_kind_goes_nobody_need_say_it(read: Any) -> None:
    bike = read("bike: b\nname: B\nuse: city\nparts:\n  stem: {measured: {length_mm: 90}}\n")
    assert (bike["stem"].part.id, size(bike, "stem", "length_mm")) == ("untold-stem", 90)


def test_nothing_holds_of_a_part_without_a_record_for_want_of_being_told(read: Any) -> None:
    text = "bike: b\nname: B\nuse: city\nparts:\n  frame: {kind: frame, measured: {bb_shell: unknown}}\n"
    assert read(text)["frame"].part.seats is None
    assert read(text.replace("bb_shell: unknown", "seats: one"))["frame"].part.seats == "one"


def test_a_position_that_nobody_told_of_is_not_known(read: Any) -> None:
    bike = read("bike: b\nname: B\nuse: city\nparts:\n  front-derailleur: none\n  accessory: none\n")
    assert "rear-derailleur" in bike.untold
    assert not {"front-derailleur", "accessory", "stem", "saddle"} & bike.untold
    assert bike["saddle"].part.id == "untold-saddle"  # every bike has one
    assert {"handlebar", "chain"} <= bike.untold  # of one kind or of another
    assert "rear-derailleur" not in bike


def test_others_none_says_that_nothing_else_is_there(read: Any) -> None:
    bike = read("bike: b\nname: B\nuse: city\nothers: none\nparts:\n  cleats: unknown\n  stem: unknown\n")
    assert bike.untold == {"cleats"}
    assert set(bike.fitted) == {"stem"}


def test_what_others_ask_for_is_there(read: Any) -> None:
    text = "bike: b\nname: B\nuse: city\nparts:\n  front-caliper: {kind: caliper, measured: {brake_type: disc}}\n"
    assert read(text)["front-rotor"].part.id == "untold-rotor"
    assert "front-rotor" not in read(text.replace("disc", "rim"))


WRONG = [
    ("like: outline/grafel\n", "mine.yaml:1:7: meaning: there is no bike, outline or file 'outline/grafel'"),
    ("like: outline/grafel\n", 'did you mean "outline/gravel"?'),
    ("like: gravel\n", "outline/gravel"),
    ("like: mine.yaml\n", "mine.yaml:1:7: meaning: 'mine.yaml' is like this file in turn"),
    ("like: [a]\n", "1:7: meaning: the name of a bike, an outline or a file is expected, not a list"),
    ("like: city-rim\nparts:\n  stem: {part: none, note: x}\n", "3:9: schema: parts.stem: none stands alone"),
    ("like: city-rim\nparts:\n  stem: {part: a, kind: stem}\n", "say part or kind, not both"),
    ("like: city-rim\nparts:\n  stem: {kind: saddle}\n", "3:16: meaning: 'saddle' is no kind that goes to 'stem'"),
    ("like: city-rim\nparts:\n  chain: none\n  front-derailleur: {measured: {cage: 3}}\n", "cage"),
    ("bike: b\nname: B\nuse: city\nparts:\n  chain: {measured: {links: 9}}\n", "Say a part, or kind: chain or belt"),
    ("bike: b\nname: B\nuse: city\nown_parts: [{kind: stem, id: untold-stem, maker: a, name: b}]\nparts: {}\n",
     "choose another"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "message"), WRONG)
def test_what_is_wrong_is_told_with_its_line(text: str, message: str, read: Any) -> None:
    with pytest.raises(InputError, match=re.escape(message)) as caught:
        read(text)
    assert "\n" not in str(caught.value)


def test_a_ring_of_files_is_refused_where_it_closes(read: Any) -> None:
    with pytest.raises(InputError, match=r"a\.yaml:1:7: meaning: 'b\.yaml' is like this file in turn"):
        read("like: a.yaml\n", "b.yaml", a="like: b.yaml\n")


def test_what_is_wrong_in_the_other_file_is_told_there(read: Any) -> None:
    with pytest.raises(InputError, match=r"base\.yaml:2:15: meaning: no part 'nothing'"):
        read("like: base.yaml\n", base="like: city-rim\nparts: {stem: nothing}\n")
