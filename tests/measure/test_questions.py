"""What to measure first as questions: words, units, usual answers."""

from __future__ import annotations

from typing import Any

import pytest

from buildcheck.library.bikes import set_facts
from buildcheck.measure.questions import Question, Shape, Usual, question_of, questions_of, title_of
from buildcheck.model.bikes import Change
from buildcheck.model.parts import Part
from buildcheck.model.report import MeasureFirst
from buildcheck.vetting import Vetting
from laws.bench import bike, catalogue, context_of


def parts_for(position: str) -> list[Part]:
    return Vetting(bike("road-rim"), catalogue()).parts_for(position)


def row(position: str, attribute: str) -> MeasureFirst:
    return MeasureFirst(position, attribute, "Look.", 2.0, ("some-fault",), 1, 2)


def asked(position: str, attribute: str, name: str = "road-rim") -> Question:
    settings = [] if attribute == "passages" else [f"{position}.{attribute}=unknown"]
    unsure = set_facts(bike(name), Change(), settings, catalogue())
    found = question_of(context_of(unsure).view, row(position, attribute), parts_for(position))
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("position", "attribute", "title"),
    [
        ("stem", "bar_clamp_mm", "stem: bar clamp"),
        ("front-wheel", "rim_pressure_max_bar", "front wheel: rim pressure max"),
        ("frame", "passages.top-tube.bore.diameter_mm", "frame: passage top tube, bore diameter"),
        ("handlebar", "places.bar-left.width_mm", "handlebar: place bar left, width"),
    ],
)
def test_titles_are_words_of_the_trade(position: str, attribute: str, title: str) -> None:
    assert title_of(position, attribute) == title


def test_few_sizes_are_told_and_of_many_the_ends() -> None:
    clamp = asked("handlebar", "clamp_mm")
    assert (clamp.shape, clamp.unit, clamp.between) == (Shape.SIZE, "mm", None)
    assert [usual.answer for usual in clamp.usual] == ["25.4", "26", "31.8", "35"]
    width = asked("frame", "head_tube_length_mm")
    assert width.usual == ()
    assert width.between is not None
    assert width.between[0] < width.between[1]


def test_words_come_with_what_the_trade_calls_them_and_those_of_parts_come_first() -> None:
    thread = asked("frame", "bb_shell")
    had: list[Any] = [getattr(part, "bb_shell") for part in parts_for("frame")]
    assert thread.shape is Shape.WORD
    assert {usual.answer for usual in thread.usual} <= set(had)
    assert thread.usual[0].answer == max(set(had), key=had.count)
    assert any(usual.called for usual in thread.usual)


def test_flags_and_lists() -> None:
    assert asked("fork", "threaded").shape is Shape.FLAG
    assert asked("frame", "passages").shape is Shape.ROWS


def test_nobody_is_asked_for_what_a_part_has_not() -> None:
    view = context_of(bike("road-rim")).view
    assert question_of(view, row("fork", "no_such_thing"), ()) is None
    assert question_of(view, row("no-such-position", "clamp_mm"), ()) is None
    assert list(questions_of(view, [row("fork", "no_such_thing")], parts_for)) == []


def test_a_part_with_a_record_is_not_asked_for_its_name() -> None:
    rows = [row("handlebar", "clamp_mm"), row("handlebar", "material")]
    found = list(questions_of(context_of(bike("road-rim")).view, rows, parts_for))
    assert [each.attribute for each in found] == ["clamp_mm", "material"]


def test_whether_something_is_there_is_asked_with_what_it_is() -> None:
    found = list(questions_of(context_of(bike("road-rim")).view, [row("front-tube", "presence")], parts_for))
    (question,) = found
    assert (question.attribute, question.shape, question.title) == ("part", Shape.PART, "front tube: which part")
    assert question.usual[0] == Usual("none", "nothing is there")
    assert {"inner-tube", "tubeless-kit"} <= {usual.answer for usual in question.usual}
    assert {part.id for part in parts_for("front-tube")} == {usual.answer for usual in question.more}
