"""Widths of hubs, end caps, axles and rims against published figures."""

import re

import pytest

from buildcheck.model.parts.frame_and_steering import Fork, Frame
from buildcheck.model.parts.wheels_and_seat import Axle
from buildcheck.trade.wheels import LOCATING_SHELF_MM, brake_track_radius_mm, end_cap_change
from laws.bench import catalogue


# BikeGremlin forum, "Understanding rear chainline": 142 = 135 + 2 x 3.5. Road bike axle standards (copy, weak):
# 157 = 150 + 7. Both are one hub, with and without the shelves that locate it in the dropouts.
@pytest.mark.parametrize(("bare_mm", "with_shelves_mm"), [(135, 142), (150, 157)])
def test_locating_shelves(bare_mm: float, with_shelves_mm: float) -> None:
    assert bare_mm + 2 * LOCATING_SHELF_MM == with_shelves_mm
    assert end_cap_change(bare_mm, with_shelves_mm) == "made"
    assert end_cap_change(with_shelves_mm, bare_mm) == "made"


# The widths published for the types (see SIZES in test_published_interfaces.py) are those of the parts that have them.
def test_parts_are_as_wide_as_their_axle_type() -> None:
    widths = {term.id: term.value for term in catalogue().standards.vocabularies["axle-type"].terms}
    for part in catalogue().of_kinds(["frame", "fork", "front-wheel", "rear-wheel"]):
        rear = "rear_" if part.kind == "frame" else ""
        axle, width = getattr(part, f"{rear}axle_type"), getattr(part, f"{rear}over_locknut_mm")
        if axle is not None and width is not None:
            assert width.low <= widths[axle] <= width.high, part.id


# BikeTips, "Axle types": the wide-flanged pair of 110 and 148 mm is 10 and 6 mm wider than 100 and 142. The hub is as
# wide as its shell, so it never goes back.
@pytest.mark.parametrize(("wide_mm", "narrow_mm"), [(148, 142), (110, 100)])
def test_a_wide_hub_does_not_go_into_a_narrow_frame(wide_mm: float, narrow_mm: float) -> None:
    assert end_cap_change(wide_mm, narrow_mm) == "impossible"


# Wheelbuilder's "Hub width and diameter list" and dealer articles on hub widths and axle types: 120, 126, 130, 135 mm
# for skewers. None is another one less the shelves of a thru-axle hub.
@pytest.mark.parametrize("narrow_mm", [120, 126, 130])
def test_no_narrower_frame_takes_a_135_hub(narrow_mm: float) -> None:
    assert end_cap_change(135, narrow_mm) == "impossible"


# Wikipedia, "European Tyre and Rim Technical Organisation" (622 and 635 mm) and "Gear inches" (27 in is 630 mm); the
# dealers' table of sizes (584 and 559 mm). Half the differences are what a rim brake must reach further: 4 mm from a
# 27 in wheel to 622, 19 mm from 622 to 584, 31.5 mm to 559.
@pytest.mark.parametrize(
    ("from_mm", "to_mm", "further_mm"), [(630, 622, 4), (635, 622, 6.5), (622, 584, 19), (622, 559, 31.5)]
)
def test_reach_between_wheel_sizes(from_mm: float, to_mm: float, further_mm: float) -> None:
    (low, high), (new_low, new_high) = brake_track_radius_mm(from_mm), brake_track_radius_mm(to_mm)
    assert low - new_low == high - new_high == further_mm


# ModernBike, "How to measure a thru-axle" (dealer help): the length is the hub's width and some 20 to 30 mm more. The
# thick legs of suspension forks ask for up to 40 mm more (from memory).
def test_thru_axles_are_as_long_as_published() -> None:
    axles = [part for part in catalogue().of_kinds(["axle"]) if isinstance(part, Axle)]
    widths = {term.id: term.value for term in catalogue().standards.vocabularies["axle-type"].terms}
    thru = [axle for axle in axles if (axle.axle_type or "").startswith("thru")]
    assert len(thru) >= 5
    for axle in thru:
        width, length = widths[axle.axle_type or ""], axle.length_mm
        assert width is not None
        assert length is not None
        assert 20 <= length.low - width <= 40, axle.id


# The same page: pitches of 1.0, 1.5 and 1.75 mm; heads are flat or conical.
def test_pitches_and_heads() -> None:
    standards = catalogue().standards
    pitches = {
        float(match.group(1))
        for term in standards.vocabularies["axle-thread"].terms
        if (match := re.fullmatch(r"m12x([\d.]+)", term.id))
    }
    assert pitches == {1.0, 1.5, 1.75}
    pairs = standards.interfaces["axle-thread"].mates.pairs
    assert {pair for pair in pairs if pair[0] != pair[1]} == {("qr", "nut")}
    assert {term.id for term in standards.vocabularies["axle-head"].terms} == {"flat", "conical", "none"}
    for part in catalogue().of_kinds(["frame", "fork"]):
        head = part.rear_axle_head if isinstance(part, Frame) else part.axle_head if isinstance(part, Fork) else None
        axle = part.rear_axle_type if isinstance(part, Frame) else part.axle_type if isinstance(part, Fork) else None
        assert head is None or (head == "none") == (not str(axle).startswith("thru")), part.id
