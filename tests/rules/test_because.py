"""Each fault that blocks tells why, with where each fact comes from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import pytest

from buildcheck.fit.facts import Amount
from buildcheck.fit.lines import lengths_along
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Origin
from buildcheck.report.causes import cause_lines, told_groups
from laws.bench import BIKES, bike, change, context_of, findings_of, with_facts

# What they say is the whole cause: there is no part, or no word of one, that could be named as evidence.
_PLAIN = {"line-end-missing", "position-empty", "position-untold", "support-missing"}


def _facts(causes: Iterable[Cause]) -> Iterator[Cause]:
    """The facts in the trees, without those that others were read off."""
    for cause in causes:
        if cause.origin is not None:
            yield cause
        if cause.origin is not Origin.INFERRED:
            yield from _facts(cause.because)


def _told(findings: Iterable[Finding]) -> str:
    groups = told_groups(findings).values()
    return " ".join(line.text.strip() for group in groups for told in group for line in cause_lines(told))


def hold_causes_to_evidence(finding: Finding) -> None:
    """The finding tells causes, and each fact in them is evidence; `test_cases.py` asks it of every firing case."""
    assert finding.because or finding.name in _PLAIN
    places = {item.where for item in finding.evidence}
    if finding.name != "junction-without-place":  # it also tells where else the wires would reach
        assert {cause.where for cause in _facts(finding.because) if cause.where} <= places


@pytest.mark.parametrize("name", BIKES)
def test_the_passages_on_a_way_add_up_to_its_length(name: str) -> None:
    context = context_of(bike(name))
    for route in context.routing.routes.values():
        total = sum(lengths_along(context.view, route.steps).values(), Amount(0.0, 0.0))
        assert (total.low, total.high) == pytest.approx((route.length.low, route.length.high))


def _after(part: str) -> list[Finding]:
    of = bike("allroad-wired")
    return list(findings_of(of, change(of, part)))


def test_the_parts_that_stop_a_line_are_told_once_for_all_of_them() -> None:
    found = [finding for finding in _after("wexcombe-veil-420-100@handlebar") if finding.name == "line-has-no-way"]
    assert len(found) > 1
    assert _told(found).count("because front-brake-line: lever-left > handlebar > [none that leads on: spacer-3") == 1


def test_a_line_that_is_too_short_tells_what_each_part_takes() -> None:
    found = [finding for finding in _after("wexcombe-veil-420-100@handlebar") if finding.name == "line-too-short"]
    told = _told(finding for finding in found if finding.positions[0] == "front-brake-line")
    assert "handlebar left-lever 285 + handlebar steerer 105 + spacer-3 5" in told
    assert "headset-upper] > fork > front-caliper" in told
    assert "because length of the front brake line: 850 mm, measured" in told


def test_a_device_without_a_place_tells_what_reaches_where_and_the_line_refers_to_it() -> None:
    found = [
        finding for finding in _after("wexcombe-veil-420-100@handlebar")
        if finding.name == "junction-without-place" or finding.positions[0] == "wire-frame"
    ]  # fmt: skip
    told = _told(found)
    assert "because wire-lever-right reaches handlebar end-right: 350 mm for 200 mm" in told
    assert told.endswith("(as told at junction-without-place)")


def test_an_inferred_fact_tells_what_it_was_read_off() -> None:
    of = with_facts(bike("trail-hardtail"), frame__head_tube_lower="null")
    found = findings_of(of, change(of, "ostmoor-low-zs44-lower@headset-lower"))
    mismatch = next(finding for finding in found if finding.name == "headset-lower-seat-mismatch")
    read = next(cause for cause in mismatch.because if cause.origin is Origin.INFERRED)
    assert str(read.text).startswith("head tube lower of the frame: ZS56, read off the headset-lower")
    assert [str(cause.text) for cause in read.because] == ["seat of the headset lower: ZS56"]
    assert read.because[0].where.startswith("catalog/parts/")
