"""Wires that are run the other way round than they are entered."""

from __future__ import annotations

import pytest

from buildcheck.fit.facts import Answer
from buildcheck.fit.threading import _Ends
from buildcheck.fit.turning import plugs_at, turning
from buildcheck.fit.view import View
from fit.make import fitted, part, view

A, B = "shift-bus.a", "shift-bus.b"


def wired(start: str | None, end: str | None, end_fitting_mm: float = 4.8) -> View:
    """A wire from a lever that takes plug A to a battery that takes plug B."""
    wire = part("wire", start_plug=start, end_plug=end, start_fitting_mm=5.5, end_fitting_mm=end_fitting_mm)
    return view([
        fitted("lever-left", part("lever", hand="left", ports=[{"plug": A}])),
        fitted("battery", part("battery", power="battery", ports=[{"plug": B}])),
        fitted("wire-1", wire, start="lever-left", end="battery"),
    ])  # fmt: skip


@pytest.mark.parametrize(
    ("start", "end", "turned", "at_lever"),
    [
        (A, B, Answer.NO, ("start",)),
        (B, A, Answer.YES, ("end",)),
        (A, A, Answer.NO, ("start",)),  # no way round helps
        (B, None, Answer.UNKNOWN, ("start", "end")),
        (A, None, Answer.NO, ("start",)),  # turned, plug A would meet the battery
        (None, None, Answer.UNKNOWN, ("start", "end")),
    ],
)
def test_a_wire_is_turned_where_its_plugs_agree_in_no_other_way(
    start: str | None, end: str | None, turned: Answer, at_lever: tuple[str, ...]
) -> None:
    of = wired(start, end)
    assert turning(of, of.bike["wire-1"]).is_turned.answer is turned
    assert plugs_at(of, of.bike["wire-1"], "lever-left") == at_lever
    assert _Ends(of, "wire-1")._may_be("start") == at_lever


def test_a_wire_with_ends_alike_is_threaded_the_same_way_round() -> None:
    assert _Ends(wired(B, A, end_fitting_mm=5.5), "wire-1")._may_be("start") == ("start",)


def test_an_end_that_leads_nowhere_agrees_with_every_plug() -> None:
    of = view([fitted("wire-1", part("wire", start_plug=A, end_plug=B), start="lever-left")])
    assert turning(of, of.bike["wire-1"]).as_entered.yes
