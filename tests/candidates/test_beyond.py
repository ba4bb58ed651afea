"""One more junction where nothing else does: what is tried, what is told of it, and that each part is needed."""

from __future__ import annotations

import os
from functools import cache

import pytest

from buildcheck.candidates.beyond import MOST_TRIED
from buildcheck.jobs import with_parts
from buildcheck.model.bikes import Change
from buildcheck.model.report import Outcome, Report
from buildcheck.model.terms import Terms
from buildcheck.report.text import report_lines
from buildcheck.vetting import Vetting
from laws.bench import bike, catalogue, change, vetting
from laws.test_remedies import hold_to_the_law

# A junction at the end of the bar has two sockets for three wires, and two of these do not reach there.
# A search that tries all sets takes long: `make prove` waits for that.
ONLY_WHEN_PROVING = pytest.mark.skipif(os.environ.get("HYPOTHESIS_PROFILE") != "prove", reason="make prove runs it")
BAR_END = "skarnfell-naze-bar-end-a-2@junction-front"
RATE = 48.0


@cache
def swap(*fits: str, off: str = "", keep: str = "", exclude: str = "") -> Report:
    of = bike("allroad-wired")
    asked = change(of, *fits)
    terms = Terms(RATE, frozenset(keep.split()), frozenset(exclude.split()))
    return Vetting(of, catalogue(), terms).swap(Change(asked.fit, (*asked.take_off, *off.split())))


def places(report: Report) -> dict[str, str | None]:
    return {part.position: part.id or part.onto for part in report.remedies[0].parts}


def text_of(report: Report) -> str:
    return " ".join(" ".join(line.text for line in report_lines(report)).split())


def test_a_further_junction_is_offered_where_nothing_else_does() -> None:
    """Under the stem, where both levers' wires and the one into the frame reached before."""
    report = swap(BAR_END)
    assert report.search.outcome is Outcome.BEYOND
    assert places(report) == {
        "junction-1": "skarnfell-naze-strap-a",
        "wire-frame": "wire-junction-1-to-junction-rear",
        "wire-lever-right": "wire-junction-1-to-lever-right",
        "wire-junction-1-to-lever-left": "skarnfell-bus-a-350",
    }
    of = bike("allroad-wired")
    done = vetting(of).vetted(with_parts(change(of, BAR_END), report.remedies[0].parts))
    assert not done.blocking
    junction, wire = done.context.bike["junction-1"], done.context.bike["wire-frame"]
    assert (junction.on, junction.place) == ("stem", "under-stem")
    assert (wire.start, wire.end) == ("junction-1", "junction-rear")


def test_what_is_told_of_a_further_junction_claims_no_more_than_was_tried() -> None:
    report = swap(BAR_END)
    proof, text = report.remedies[0].proof, text_of(report)
    assert f"Of those with one, {MOST_TRIED} were tried" in proof
    assert proof.endswith("That nothing cheaper does is not proven.")
    assert f"in the {MOST_TRIED} sets that were tried" in report.search.unconsidered
    assert "A remedy with one more junction (not proven the cheapest)" in text
    assert "lead Skarnfell Thread wire 900 mm, shift-bus.a from the junction 1 to the junction rear" in text


@pytest.mark.parametrize(
    ("fits", "off", "exclude"),
    [
        ((BAR_END,), "", ""),
        ((BAR_END,), "", "skarnfell-naze-strap-a skarnfell-naze-strap-a-5 skarnfell-naze-strap-b"),
        pytest.param((), "junction-front", "", marks=ONLY_WHEN_PROVING),
    ],
)
def test_nothing_blocks_with_it_and_every_part_of_it_is_needed(fits: tuple[str, ...], off: str, exclude: str) -> None:
    of, report = bike("allroad-wired"), swap(*fits, off=off, exclude=exclude)
    assert report.search.outcome is Outcome.BEYOND
    asked = change(of, *fits)
    hold_to_the_law(of, Change(asked.fit, (*asked.take_off, *off.split())), report.remedies[0])


def test_the_work_of_it_is_counted_with_the_wires_that_lead_elsewhere() -> None:
    ids = {operation.id for operation in swap(BAR_END).work.operations}
    assert {"fit-junction@junction-1", "fit-wire@wire-junction-1-to-lever-left", "relay-line@wire-frame"} <= ids


def test_a_wire_that_comes_off_and_does_not_reach_is_left_off_for_a_longer_one() -> None:
    """Without straps the junction goes to the other end of the bar, too far for the wire into the frame."""
    report = swap(BAR_END, exclude="skarnfell-naze-strap-a skarnfell-naze-strap-a-5 skarnfell-naze-strap-b")
    found = places(report)
    assert (found["junction-1"], found["wire-frame"]) == ("skarnfell-naze-bar-end-a", None)
    assert found["wire-junction-1-to-junction-rear"] == "skarnfell-bus-a-1400"
    cheapest = report.remedies[0]
    assert cheapest.rejected
    assert all(other.total_cost < (cheapest.total_cost or 0.0) for other in cheapest.rejected)


def test_a_kept_position_takes_no_junction() -> None:
    assert "junction-2" in places(swap(BAR_END, keep="junction-1"))


@ONLY_WHEN_PROVING
def test_where_none_helps_what_was_tried_is_told_and_it_stays_impossible() -> None:
    """The wire into the frame is to stay, and does not reach to the end of the bar."""
    report = swap(BAR_END, keep="wire-frame")
    assert (report.search.outcome, report.remedies) == (Outcome.IMPOSSIBLE, ())
    assert len(report.search.beyond) == MOST_TRIED
    assert all("line-too-short" in other.blocked_by for other in report.search.beyond)
    text = text_of(report)
    assert f"With one more junction {MOST_TRIED} sets were tried, and none does as it is" in text
    assert f"Not considered: further junctions but in the {MOST_TRIED} sets that were tried" in text


def test_what_is_not_about_wires_asks_for_no_junction() -> None:
    of = bike("road-disc")
    report = Vetting(of, catalogue()).swap(change(of, "dunreth-packhorse-42-622@rear-tyre"))
    assert (report.search.outcome, report.search.beyond) == (Outcome.IMPOSSIBLE, ())
