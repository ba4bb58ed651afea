"""Answers that are added to a file: what was there stays as it was written."""

from __future__ import annotations

import json
import re
from difflib import SequenceMatcher
from typing import Any

import pytest

from buildcheck.library.bike_edit import measured_at, part_at, with_part_in, with_value_in
from buildcheck.library.folders import bundled_bike
from buildcheck.library.problems import InputError
from buildcheck.library.yaml_text import read_document
from laws.bench import BIKES, bike

DAY = "2026-12-01"
FILE = """\
# as it came in
bike: a   # its number
parts:
  fork: x-y  # the old one

  stem: {part: s}
  handlebar: {part: s, measured: {clamp_mm: 1}} # hi
  frame:
    part: f   # steel
    # not sure of these
    measured:
      length_mm: unknown  # guess
      width_mm: 1..2

  # wheels
  front-wheel:
    part: w
    on: fork # so

own_parts:
  - kind: stem
    note: |
      several
      lines
"""


def put(path: str, value: object, text: str = FILE, note: str = DAY) -> str:
    steps = tuple(int(step) if step.isdecimal() else step for step in path.split("."))
    return with_value_in(text, "my.yaml", steps, value, note)


def added(path: str, value: object) -> list[str]:
    """The lines that are new, once it is sure that all the others are there as they were."""
    changed, old = put(path, value).splitlines(), FILE.splitlines()
    steps = SequenceMatcher(None, old, changed, autojunk=False).get_opcodes()
    (only,) = [step for step in steps if step[0] != "equal"]
    assert only[2] - only[1] <= 1
    return changed[only[3] : only[4]]


@pytest.mark.parametrize(
    ("path", "value", "lines"),
    [
        ("parts.fork.measured.steerer_mm", 28.6,
         ["  fork:  # the old one", "    part: x-y", "    measured:", "      steerer_mm: 28.6  # 2026-12-01"]),
        ("parts.stem.measured.bar_clamp_mm", 31.8,
         ["  stem: {part: s, measured: {bar_clamp_mm: 31.8}}  # bar_clamp_mm 2026-12-01"]),
        ("parts.handlebar.measured.width_mm", "420..430",
         ["  handlebar: {part: s, measured: {clamp_mm: 1, width_mm: 420..430}} # hi; width_mm 2026-12-01"]),
        ("parts.handlebar.measured.clamp_mm", 26.0,
         ["  handlebar: {part: s, measured: {clamp_mm: 26}} # hi; clamp_mm 2026-12-01"]),
        ("parts.frame.measured.length_mm", 150, ["      length_mm: 150  # guess; 2026-12-01"]),
        ("parts.frame.measured.material", "steel", ["      material: steel  # 2026-12-01"]),
        ("parts.front-wheel.measured.tubeless", True, ["    measured:", "      tubeless: true  # 2026-12-01"]),
        ("parts.saddle.measured.shells", ["a", "b: c"],
         ["  saddle:", "    measured:", '      shells: [a, "b: c"]  # 2026-12-01']),
        ("own_parts.0.length_mm", 90, ["    length_mm: 90  # 2026-12-01"]),
    ],
)  # fmt: skip
def test_only_what_is_new_changes(path: str, value: object, lines: list[str]) -> None:
    assert added(path, value) == lines


def test_a_later_answer_has_the_later_date() -> None:
    once = put("parts.stem.measured.bar_clamp_mm", 31.8)
    twice = put("parts.stem.measured.bar_clamp_mm", 26, once, "2026-12-24")
    assert "  stem: {part: s, measured: {bar_clamp_mm: 26}}  # bar_clamp_mm 2026-12-24\n" in twice
    once = put("parts.frame.measured.material", "steel")
    twice = put("parts.frame.measured.material", "carbon", once, "2026-12-24")
    assert "      material: carbon  # 2026-12-24\n" in twice


def test_a_file_of_json_stays_one() -> None:
    text = '{"bike": "a", "parts": {"fork": "x", "stem": {}}}'
    assert json.loads(put("parts.fork.measured.threaded", False, text)) == {
        "bike": "a", "parts": {"fork": {"part": "x", "measured": {"threaded": False}}, "stem": {}},
    }  # fmt: skip
    changed = json.loads(put("parts.stem.measured.material", "no", text))
    assert changed["parts"]["stem"] == {"measured": {"material": "no"}}


@pytest.mark.parametrize(
    "text",
    ["bike: a\r\nparts:\r\n    fork: x\r\n", "\ufeffbike: a\nparts:\n  fork: x\n",
     "bike: a\nparts:\n  fork:\n    part: x",
     "bike: a\nparts: {fork: {part: x,\n  measured: {a: 1},  # one\n  }}\n", 'bike: a\nparts: {"fork": "x"}\n'],
)  # fmt: skip
def test_line_breaks_marks_and_steps_stay(text: str) -> None:
    changed = put("parts.fork.measured.steerer_mm", 28.6, text)
    assert changed.startswith(text[:10])
    breaks = set(re.findall("\r?\n", changed))
    assert len(breaks) == 1
    value: Any = read_document(changed, "").value
    assert value["parts"]["fork"]["part"] == "x"
    assert value["parts"]["fork"]["measured"]["steerer_mm"] == 28.6


def test_a_comment_is_left_out_where_none_can_stand() -> None:
    text = 'parts: {stem: {part: s}, note: "a # b"}\n'
    assert put("parts.stem.measured.length_mm", 90, text) == (
        'parts: {stem: {part: s, measured: {length_mm: 90}}, note: "a # b"}\n'
    )


@pytest.mark.parametrize("text", ["- a\n- b\n", "parts: 3\n", "parts:\n  stem: [a]\n"])
def test_what_cannot_be_changed_is_left_to_the_writer(text: str) -> None:
    with pytest.raises(InputError, match="add this by hand"):
        put("parts.stem.measured.length_mm", 90, text)


@pytest.mark.parametrize("name", BIKES)
def test_every_part_of_the_bundled_bikes_can_be_measured(name: str) -> None:
    text = bundled_bike(name).read_text(encoding="utf-8")
    lines = text.splitlines()
    for spot in bike(name).main_spots():
        way, value, old = measured_at(text, name, spot, "weight_g", 123)
        changed = with_value_in(text, name, way, value, DAY)
        told: Any = read_document(changed, name).value
        assert told["parts"][spot.home]["measured"]["weight_g"] == 123
        assert old is None
        assert len([line for line in lines if line not in changed.splitlines()]) <= 1


def test_a_size_inside_a_list_is_told_with_the_list_once() -> None:
    text = bundled_bike("road-disc").read_text(encoding="utf-8")
    spot = next(
        each for each in bike("road-disc").main_spots() if each.part.passages and each.part.passages[0].length_mm
    )
    assert spot.part.passages
    name = f"passages.{spot.part.passages[0].id}.length_mm"
    way, value, _ = measured_at(text, "", spot, name, 77)
    assert way == ("parts", spot.home, "measured", "passages")
    once = with_value_in(text, "", way, value, DAY)
    way, value, old = measured_at(once, "", spot, name, 78)
    assert (way[4:], value, old) == ((0, "length_mm"), 78, 77)
    twice: Any = read_document(with_value_in(once, "", way, value, DAY), "").value
    assert twice["parts"][spot.home]["measured"]["passages"][0]["length_mm"] == 78


OUTLINE = """\
like: outline/road-rim   # as such bikes are
parts:
  stem: {kind: stem, measured: {bar_clamp_mm: 31.8}}  # seen
  fork:
    kind: fork   # carbon, it seems
    on: frame
  saddle: unknown
  chain: dunreth-chain-11
  rear-tyre: {measured: {pressure_bar: 6}}
"""


@pytest.mark.parametrize(
    ("position", "said", "line"),
    [
        ("stem", "tolverne-alder-110",
         "  stem: {part: tolverne-alder-110, measured: {bar_clamp_mm: 31.8}}  # seen; part 2026-12-01"),
        ("fork", "harrowdene-causeway-carbon", "    part: harrowdene-causeway-carbon   # carbon, it seems; 2026-12-01"),
        ("fork", "none", "    none  # 2026-12-01"),
        ("saddle", "none", "  saddle: none  # 2026-12-01"),
        ("saddle", "wexcombe-hide", "  saddle: wexcombe-hide  # 2026-12-01"),
        ("chain", "dunreth-chain-1", "  chain: dunreth-chain-1  # 2026-12-01"),
        ("rear-tyre", "tyre", "  rear-tyre: {measured: {pressure_bar: 6}, kind: tyre}  # kind 2026-12-01"),
        ("front-derailleur", "front-derailleur", "  front-derailleur: {kind: front-derailleur}  # 2026-12-01"),
        ("cassette", "none", "  cassette: none  # 2026-12-01"),
    ],
)  # fmt: skip
def test_a_part_that_was_recognised_takes_the_place_of_its_kind(position: str, said: str, line: str) -> None:
    changed = with_part_in(OUTLINE, "my.yaml", position, said, DAY)
    assert line in changed.splitlines()
    assert part_at(changed, "my.yaml", position) == (None if "kind" in line else said)
    value: Any = read_document(changed, "").value
    assert value["like"] == "outline/road-rim"
