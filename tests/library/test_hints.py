"""Errors that teach: the words there are, the words of the trade, and one message for one fault."""

from __future__ import annotations

from pathlib import Path

import pytest

from buildcheck.library.problems import words_there_are
from command import run
from laws.bench import catalogue

BIKE = "bike: a\nname: A bike\nuse: city\nparts:\n  frame: {part: harrowdene-fell-54}\n"


def told(tmp_path: Path, text: str) -> list[str]:
    path = tmp_path / "a.yaml"
    path.write_text(text, encoding="utf-8")
    ran = run("check", path)
    assert ran.code == 2
    return [line.removeprefix(f"{path}:") for line in ran.err.splitlines()]


def test_what_is_typed_is_told_without_a_line() -> None:
    ran = run("swap", "city-rim", "--fit", "tolverne-lanern-100")
    assert ran.err == "--fit: no part 'tolverne-lanern-100' in the catalogue — did you mean \"tolverne-lantern-100\"?\n"
    assert run("parts", "fits", "city-rim", "stm").err.startswith("POSITION: 'stm' is not a position of a bike")


@pytest.mark.parametrize(
    ("word", "place"),
    [("grips", "'bar-tape'"), ("Handlebars", "'handlebar'"), ("fenders", "'accessory-mudguards'"),
     ("v-brake", "'front-caliper' or 'rear-caliper'"), ("cassettes", "'cassette'"), ("mech", "'rear-derailleur'")],
)  # fmt: skip
def test_a_word_of_the_trade_leads_to_its_position(word: str, place: str, tmp_path: Path) -> None:
    err = run("parts", "fits", "city-rim", word).err
    assert err == f"POSITION: {word!r} is not a position of a bike; that is {place}\n"
    (line,) = told(tmp_path, f"{BIKE}  {word}: {{part: harrowdene-fell-54}}\n")
    assert line.endswith(f"that is {place}")


def test_a_position_that_is_near_nothing_gets_those_there_are() -> None:
    err = run("parts", "fits", "city-rim", "qqq").err
    assert "; there are " in err
    assert " more" in err


def test_kinds_lead_to_the_parts() -> None:
    for word in ("v-brake", "stem", "trigger"):
        assert f"`buildcheck parts find {word}` tells" in run("swap", "city-rim", "--fit", word).err


def test_unknown_words_list_the_words_there_are_with_their_trade_names() -> None:
    err = run("check", "city-rim", "--set", "frame.rear_axle_type=quick release").err
    assert err.startswith("--set: 'quick release' is not a word of the vocabulary 'axle-type'; there are ")
    assert "qr-10x135 (also qr 135)" in err
    assert err.endswith(" more\n")
    assert len(err) < 400


def test_a_v_brake_is_no_u_brake() -> None:
    words = catalogue().words
    assert words.resolve("brake-mount", "v-brake") == "rim-posts"
    assert words.resolve("brake-mount", "u-brake") == "rim-posts-high"


def test_the_nearest_words_come_first() -> None:
    known = {"round": ["circular"], "oval-a": [], "oval-b": [], "square": []}
    assert words_there_are("circularr", known).startswith("; there are round (also circular), ")
    assert words_there_are("x", {}) == ""
    assert words_there_are("w1", {f"w{n}": () for n in range(20)}).endswith(" and 12 more")


def test_one_fault_of_an_own_part_is_one_message(tmp_path: Path) -> None:
    own = "  stem: {part: my-stem, on: fork}\n  handlebar: {part: my-bar, on: stem}\nown_parts:\n"
    own += "  - {kind: stem, id: my-stem, maker: b, name: c, bar_clamp_mm: 45mm}\n"
    own += "  - {kind: handlebar, id: my-bar, maker: b, name: c, bar_type: dropp}\n"
    lines = told(tmp_path, BIKE + "  fork: {part: harrowdene-fell-fork}\n" + own)
    assert [line for line in lines if "my-" in line] == []
    assert len([line for line in lines if "45mm" in line]) == 1
    assert len([line for line in lines if "dropp" in line]) == 1


def test_what_stands_on_a_position_that_was_refused_is_not_told_as_well(tmp_path: Path) -> None:
    (line,) = told(tmp_path, BIKE + "  fork: {part: no-such-fork}\n  front-fork: {part: no-such-fork}\n".splitlines()[0]
                   + "\n  stem: {part: tolverne-alder-90, on: fork}\n")  # fmt: skip
    assert "no-such-fork" in line
