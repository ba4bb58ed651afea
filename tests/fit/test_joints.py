"""Joints of small bikes: which rows apply, adapters, and what a fitted part tells of its neighbour."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.facts import Amount, Answer
from buildcheck.fit.joints import clash, find_joints, infer_facts, joint_holds, neighbours
from buildcheck.fit.reading import read_fact
from buildcheck.fit.view import View
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval
from fit.make import fitted, part, view
from laws.bench import bike, catalogue, context_of


def fork(**values: Any) -> Any:
    return fitted("fork", part("fork", threaded=False, **values), on="frame")


def bar_and_stem(bar: Any, stem: Any, shim: tuple[float, float] | None = None) -> View:
    spots = [
        fitted("stem", part("stem", bar_clamp_mm=stem)),
        fitted("handlebar", part("handlebar", clamp_mm=bar), on="stem"),
    ]
    if shim is not None:
        spots.append(
            fitted("bar-clamp-shim", part("adapter", interface="bar-clamp", side_a_mm=shim[0], side_b_mm=shim[1]))
        )
    return view(spots)


def answer(of: View, name: str) -> Answer:
    (joint,) = [joint for joint in find_joints(of) if joint.row.name == name]
    return joint_holds(of, joint).answer


@pytest.mark.parametrize(
    ("bar", "stem", "shim", "expected"),
    [
        (31.8, 31.8, None, Answer.YES),
        (31.75, 31.8, None, Answer.YES),
        (25.4, 31.8, None, Answer.NO),
        (25.4, 31.8, (25.4, 31.8), Answer.YES),
        (26.0, 31.8, (25.4, 31.8), Answer.NO),
        (25.4, 26.0, (25.4, 31.8), Answer.NO),
        ("unknown", 31.8, None, Answer.UNKNOWN),
        ("unknown", 26.0, (25.4, 31.8), Answer.NO),
        ("31.0..32.0", 31.8, None, Answer.UNKNOWN),
    ],
)
def test_a_bar_in_its_stem(bar: Any, stem: Any, shim: tuple[float, float] | None, expected: Answer) -> None:
    assert answer(bar_and_stem(bar, stem, shim), "bar-clamp-mismatch") is expected


@pytest.mark.parametrize(
    ("length", "expected"),
    [(120, Answer.YES), (123, Answer.YES), (123.5, Answer.NO), ("122..124", Answer.UNKNOWN), (90, Answer.YES)],
)
def test_a_limit_with_a_tolerance(length: Any, expected: Answer) -> None:
    axle = fitted("front-axle", part("axle", thread="m12x1.5", length_mm=length))
    assert answer(view([fork(axle_length_mm=120), axle]), "front-axle-too-long") is expected


@pytest.mark.parametrize(
    ("brake_type", "track", "expected"),
    [
        ("rim", False, Answer.NO),
        ("rim", True, Answer.YES),
        ("rim", "unknown", Answer.UNKNOWN),
        ("disc", "unknown", Answer.YES),
        ("unknown", True, Answer.YES),
        ("unknown", False, Answer.UNKNOWN),
        ("unknown", "unknown", Answer.UNKNOWN),
    ],
)
def test_a_word_in_no_forbidden_pair_goes_with_anything(brake_type: str, track: Any, expected: Answer) -> None:
    spots = [
        fitted("front-caliper", part("caliper", brake_type=brake_type)),
        fitted("front-wheel", part("front-wheel", brake_track=track)),
    ]
    assert answer(view(spots), "front-rim-without-track") is expected


def test_a_row_does_not_apply_where_a_part_keeps_its_sides_apart() -> None:
    spots = [
        fitted("front-wheel", part("front-wheel", axle_type="thru-12x100")),
        fitted("front-axle", part("axle", axle_type="qr-9x100"), on="front-wheel"),
    ]
    caps = fitted("front-end-caps", part("adapter", interface="axle-type", side_b="qr-9x100"), on="front-wheel")

    def rows(of: View) -> set[str]:
        return {joint.row.name for joint in find_joints(of)}

    bare, capped = view(spots), view([*spots, caps])
    assert rows(bare) - rows(capped) == {"axle-hub-mismatch"}
    assert rows(capped) - rows(bare) == {"axle-end-caps-mismatch", "end-caps-hub-mismatch"}
    asked = {each.row.name for each in neighbours(capped, "front-axle")}
    assert "axle-hub-mismatch" not in asked
    assert "axle-hub-mismatch" in {each.row.name for each in neighbours(bare, "front-axle")}


def test_a_one_piece_part_has_no_joint_with_itself() -> None:
    one = part("bar-stem", steerer_clamp_mm=28.6)
    of = view([fitted("handlebar", one), fitted("stem", one, home="handlebar")])
    assert find_joints(of) == ()


def test_a_row_for_other_kinds_does_not_apply() -> None:
    of = view(
        [fitted("handlebar", part("handlebar", grip_mm=23.8)), fitted("bar-tape", part("bar-tape"), on="handlebar")]
    )
    assert "grip-diameter-mismatch" not in {joint.row.name for joint in find_joints(of)}


def test_parts_clash_by_a_row_only_where_it_is_certain() -> None:
    of = bar_and_stem(31.8, 31.8)
    (met,) = [each for each in neighbours(of, "handlebar") if each.row.name == "bar-clamp-mismatch"]

    def clashes(**size: float) -> bool:
        bar = fitted("handlebar", part("handlebar", **size), on="stem")
        return clash(of, met.row, bar, met.other, read_fact)

    assert met.at_side_a
    assert clashes(clamp_mm=25.4)
    assert not clashes(clamp_mm=31.8)
    assert not clashes(), "what is not known does not clash"


@given(steerer=st.floats(20, 40), doubt=st.floats(0, 2))
def test_a_size_is_read_off_the_part_that_mates_with_it(steerer: float, doubt: float) -> None:
    size = f"{steerer!r}..{steerer + doubt!r}"
    spots = [
        fork(crown_seat_mm=size),
        fitted("headset-lower", part("headset", half="lower", code="IS52/40"), on="frame"),
    ]
    of = view(spots)
    lower = infer_facts(view([fork(), spots[1]]))[("fork", "crown_seat_mm")]
    assert lower.origin is Origin.INFERRED
    assert lower.value.low <= 40 <= lower.value.high
    assert ("fork", "crown_seat_mm") not in infer_facts(of), "a value on record is not read off anything"


def test_a_joint_that_can_hide_a_shim_tells_nothing() -> None:
    assert infer_facts(bar_and_stem("unknown", 31.8)) == {}


def levers(left: Any, right: Any) -> View:
    bar = fitted("handlebar", part("handlebar"))
    return view([bar, *(
        fitted(f"lever-{side}", part("lever", hand=side, clamp_mm=clamp), on="handlebar")
        for side, clamp in (("left", left), ("right", right))
    )])  # fmt: skip


def test_two_parts_that_contradict_each_other_tell_nothing() -> None:
    assert ("handlebar", "grip_mm") in infer_facts(levers(22.2, 22.2))
    assert ("handlebar", "grip_mm") not in infer_facts(levers(22.2, 23.8))


def test_what_is_read_off_makes_the_joint_hold() -> None:
    of = levers(22.2, 22.2)
    told = View(of.bike, of.standards, infer_facts(of))
    for joint in find_joints(told):
        if joint.row.name == "lever-clamp-mismatch":
            assert joint_holds(told, joint).yes
            assert not joint_holds(of, joint).yes


def test_a_word_is_read_off_as_it_is() -> None:
    of = view(
        [fitted("frame", part("frame")), fitted("bottom-bracket", part("bottom-bracket", shell="english-1.37x24"))]
    )
    assert infer_facts(of)[("frame", "bb_shell")].value == "english-1.37x24"


def test_a_number_is_read_off_within_the_tolerance() -> None:
    value = infer_facts(levers(22.2, 22.2))[("handlebar", "grip_mm")].value
    assert value == Interval(22.2 - 0.5, 22.2 + 0.5)
    assert Amount(value.low, value.high).within(22.2, 0.5).yes


def test_the_joints_of_a_bundled_bike_are_listed_in_one_order() -> None:
    names = [(joint.row.name, joint.a.position) for joint in context_of(bike("city-rim")).joints]
    assert names == sorted(names)
    assert ("crank-spindle-mismatch", "crankset") in names


@pytest.mark.parametrize("name", ["headset-seat"])
def test_words_that_mate_as_a_pair_mate_with_the_same_words(name: str) -> None:
    pairs = catalogue().standards.interfaces[name].mates.pairs
    words = [word for pair in pairs for word in pair]
    assert pairs
    assert len(words) == len(set(words)), "so that one may stand for the other where it is read off a neighbour"
