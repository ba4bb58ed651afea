"""What a rider would not have: a saddle for a child or for other riding, a shifter without clicks; told if need be."""

from __future__ import annotations

from buildcheck.candidates.worth import Worth
from buildcheck.model.report import Report
from buildcheck.model.terms import Terms
from buildcheck.vetting import Vetting
from laws.bench import bike, catalogue, change, context_of, usual_swap

# Too short a post for this rider: a higher saddle clears that.
SHORT_POST = ("allroad-wired", "wexcombe-rowan-272-250@seatpost")
CHILDREN = "wexcombe-daisy"


def picked(report: Report, position: str) -> str | None:
    return next(part.id for part in report.remedies[0].parts if part.position == position)


def test_a_saddle_for_other_riding_is_no_remedy_where_one_for_the_same_does() -> None:
    for asked, saddle in ((SHORT_POST, "wexcombe-hide"),
                          (("road-disc", "wexcombe-birch-272-350@seatpost"), "wexcombe-thrift")):  # fmt: skip
        report = usual_swap(*asked)
        best = report.remedies[0]
        assert (picked(report, "saddle"), best.gives_up) == (saddle, ())
        cheaper = {part.id for other in best.passed_over for part in other.parts}
        assert CHILDREN in cheaper


def test_where_no_other_saddle_does_it_is_told_for_whom_that_one_is_made() -> None:
    name, part = SHORT_POST
    others = {each.id for each in catalogue().of_kinds(("saddle",))} - {CHILDREN}
    of = bike(name)
    report = Vetting(of, catalogue(), Terms(48.0, exclude=frozenset(others))).swap(change(of, part))
    assert picked(report, "saddle") == CHILDREN
    assert [str(text) for text in report.remedies[0].gives_up] == ["saddle: made for children instead of trekking"]


def test_every_saddle_tells_for_whom_it_is_made() -> None:
    assert {getattr(each, "made_for", None) for each in catalogue().of_kinds(("saddle",))} == {
        "racing", "trekking", "city", "mountain", "children",
    }  # fmt: skip


def test_a_friction_shifter_is_less_than_one_with_clicks_and_no_other_is() -> None:
    worth = Worth(context_of(bike("city-rim")))
    thumb, clicks = (catalogue().part(name) for name in ("merrowby-corrie-thumb-right", "merrowby-rill-shift-12"))
    assert [str(lost.text) for lost in worth.lost_with("shifter-right", thumb)] == [
        "shifter right: shift system friction instead of cable-a-8"
    ]
    assert worth.lost_with("shifter-right", clicks) == ()


def test_a_new_drive_comes_with_a_shifter_that_clicks() -> None:
    report = usual_swap("city-rim", "merrowby-linn-crank-170@crankset")
    assert picked(report, "shifter-right") == "merrowby-rill-shift-12"
