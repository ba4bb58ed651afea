"""Looking for parts in the words of the trade, the sizes that are shown of them, and the tables behind both."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildcheck.library.looking import belonging, parts_found, shape, sizes_told, trade_word
from buildcheck.library.records import fields_of
from buildcheck.model.parts import PART_KINDS
from command import run
from laws.bench import bike, catalogue


def ids(*words: str) -> set[str]:
    return {part.id for part in parts_found(words, catalogue())}


@pytest.mark.parametrize("words", [("V-brake",), ("v", "brake"), ("VBRAKE",), ("v_brake",)])
def test_a_v_brake_is_a_linear_pull_brake(words: tuple[str, ...]) -> None:
    found = [catalogue().part(part_id) for part_id in ids(*words)]
    assert found
    assert {(part.kind, getattr(part, "mount", ""), getattr(part, "cable_pull", "")) for part in found} == {
        ("caliper", "rim-posts", "long")
    }


def test_words_of_the_trade_find_what_they_mean() -> None:
    assert {catalogue().kind_of(part_id) for part_id in ids("trigger")} == {"lever"}
    assert not any("twist" in part_id for part_id in ids("trigger"))
    assert ids("semi-integrated") == {part.id for part in catalogue().of_kinds(["headset"]) if "-zs" in part.id}
    assert {catalogue().kind_of(part_id) for part_id in ids("centre lock")} >= {"rotor"}
    assert ids("center", "lock") == ids("centre lock")
    assert {catalogue().kind_of(part_id) for part_id in ids("grips")} == {"grips", "bar-tape"}
    assert ids("bar-tape") == {part.id for part in catalogue().of_kinds(["bar-tape"])}
    assert ids("no-such-thing") == set()


def test_every_word_of_the_trade_finds_something_and_stands_there_once() -> None:
    names = [shape(name) for row in catalogue().standards.trade_words for name in row.names]
    assert sorted(set(names)) == sorted(names)
    for row in catalogue().standards.trade_words:
        assert trade_word(row.id.upper(), catalogue().standards) is row
        assert ids(row.id), row.id
        for attribute in row.where:
            assert any(attribute in fields_of(PART_KINDS[kind]) for kind in row.kinds), (row.id, attribute)


def test_every_kind_has_its_key_sizes() -> None:
    shows = catalogue().standards.key_sizes
    assert shows.keys() == PART_KINDS.keys()
    for kind, names in shows.items():
        assert set(names) <= fields_of(PART_KINDS[kind]).keys(), kind
    part = catalogue().part("tolverne-lantern-100")
    assert sizes_told(part, catalogue().standards).startswith("bar clamp 26, length 100")


def test_what_belongs_at_a_position_is_told_by_its_name() -> None:
    standards = catalogue().standards
    assert belonging("accessory-lamp", standards) == {"use": ("lamp-front",)}
    assert belonging("accessory-lamp-rear", standards) == {"use": ("lamp-rear",)}
    assert belonging("accessory-lamps", standards) == {}
    assert belonging("stem", standards) == {}
    uses = {term.id for term in standards.vocabularies["accessory-use"].terms}
    assert {word for row in standards.sorts for word in row.takes["use"]} <= uses


def test_what_hangs_on_a_bundled_bike_belongs_there() -> None:
    for path in sorted(Path("catalog/bikes").glob("*.yaml")):
        for position, spot in bike(path.stem).fitted.items():
            for attribute, words in belonging(position, catalogue().standards).items():
                assert getattr(spot.part, attribute) in words, (path.stem, position)


def test_no_bell_is_offered_among_mudguards() -> None:
    out = run("parts", "fits", "tourer-cable", "accessory-mudguards").out
    assert "dunreth-eaves-mudguards-622-60" in out
    assert "bell" not in out
    assert "cage" not in out


def test_a_line_tells_sizes_price_stock_and_name(tmp_path: Path) -> None:
    stock = tmp_path / "stock.csv"
    stock.write_text("part,quantity,price_eur\ntolverne-lantern-100,3,20\n")
    line = next(line for line in run("parts", "find", "lantern", "--stock", stock).out.splitlines() if "-100 " in line)
    for word in ("tolverne-lantern-100", "EUR 20.00", "3 in stock", "bar clamp 26", "Lantern quill stem 100 mm"):
        assert word in line
    out = run("parts", "fits", "city-rim", "stem", "--stock", stock, "--set", "handlebar.clamp_mm=26").out
    assert "EUR 20.00    3  tolverne-lantern-100  bar clamp 26, length 100" in out
    assert max(map(len, out.splitlines())) <= 80
