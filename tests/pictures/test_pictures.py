"""What the drawings show: the figures of the graphs, and nothing made up where something is not known."""

from __future__ import annotations

from itertools import combinations
from math import dist, hypot

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.fit.lines import LINE_KINDS
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.pictures import LinePath, Pictures, SharedBore, Span, Stack
from buildcheck.pictures.bike import levels_of, pictures_of
from laws.bench import BIKES, NOTHING, bike, change, context_of, findings_of, with_facts

# How much rounding a placement may have in mm; see buildcheck.trade.packing.
ROUNDING = 1e-6


def pictures(of: Bike, asked: Change = NOTHING) -> Pictures:
    context = context_of(of, asked)
    return pictures_of(context.before, context, findings_of(of, asked))


def demo() -> Pictures:
    of = bike("allroad-wired")
    return pictures(of, change(of, "wexcombe-veil-420-100@handlebar"))


def only(value: float) -> Span:
    return Span(value, value)


def line(paths: tuple[LinePath, ...], name: str) -> LinePath:
    return next(path for path in paths if path.line == name)


def stack(of: Bike) -> Stack:
    found = pictures(of).after.stack
    assert found is not None
    return found


def within(bore: SharedBore) -> None:
    """No two lines overlap, and all lie inside the smallest bore that is possible."""
    width, height = bore.width.low_mm or 0.0, bore.height.low_mm or 0.0
    width, height = max(width, height), min(width, height)
    circles = [
        (each.x_mm, each.y_mm, each.diameter.high_mm / 2)
        for each in bore.lines
        if each.x_mm is not None and each.y_mm is not None and each.diameter.high_mm is not None
    ]
    assert len(circles) == len(bore.lines)
    for (x, y, r), (other_x, other_y, other_r) in combinations(circles, 2):
        assert dist((x, y), (other_x, other_y)) >= r + other_r - ROUNDING
    for x, y, r in circles:
        straight = (width - height) / 2
        assert hypot(max(0.0, abs(x) - straight), y) + r <= height / 2 + ROUNDING


@given(
    front=st.floats(1, 9),
    rear=st.floats(1, 9),
    loose=st.floats(0, 0.5),
    width=st.floats(5, 30),
    height=st.floats(5, 30),
)
@settings(max_examples=40, deadline=None)
def test_lines_are_packed_without_overlap_and_inside_the_bore(
    front: float, rear: float, loose: float, width: float, height: float
) -> None:
    of = with_facts(
        bike("road-disc"),
        front_AT_brake_AT_line__outer_mm=f"{front:.3f}..{front + loose:.3f}",
        rear_AT_brake_AT_line__outer_mm=f"{rear:.3f}",
        stem__passages__steerer__bore__width_mm=f"{width:.3f}..{width + loose:.3f}",
        stem__passages__steerer__bore__height_mm=f"{height:.3f}",
    )
    for bore in pictures(of).bores:
        if bore.fits == "yes":
            within(bore)
        else:
            assert all(each.x_mm is None and each.y_mm is None for each in bore.lines)


@pytest.mark.parametrize("name", BIKES)
def test_every_position_and_every_line_is_there(name: str) -> None:
    of = bike(name)
    found = pictures(of)
    assert found.before is None
    assert {place.position for place in found.side_view.places} >= set(of.fitted)
    assert [path.line for path in found.after.lines] == sorted(
        spot.position for spot in of.main_spots() if spot.part.kind in LINE_KINDS
    )
    for bore in found.bores:
        assert bore.fits == "yes"
        within(bore)


@pytest.mark.parametrize("name", BIKES)
def test_the_passages_add_up_to_what_the_way_takes(name: str) -> None:
    for path in pictures(bike(name)).after.lines:
        total = sum(stretch.length.exact_mm or 0.0 for stretch in path.stretches)
        assert path.needed == only(pytest.approx(total))


@pytest.mark.parametrize("name", BIKES)
def test_the_stack_adds_up_to_the_gap(name: str) -> None:
    found = stack(bike(name))
    if not found.threaded:
        heights = [found.base.exact_mm, *(item.height.exact_mm for item in found.items)]
        steerer, gap = found.steerer.exact_mm, found.gap.exact_mm
        assert steerer is not None
        assert gap == pytest.approx(sum(height for height in heights if height is not None) - steerer)


def test_the_demo_before_and_after() -> None:
    found = demo()
    assert found.before is not None
    old, new = line(found.before.lines, "front-brake-line"), line(found.after.lines, "front-brake-line")
    assert (old.needed, old.length, old.level) == (only(830), only(850), None)
    assert (new.needed, new.length, new.level) == (Span(888.5, None), only(850), Level.BLOCKS)
    courses = [(stretch.position, stretch.course) for stretch in new.stretches]
    assert courses[:3] == [("handlebar", "closed"), ("handlebar", "closed"), ("spacer-3", "none")]
    assert [place.level for place in found.side_view.places if place.position == "handlebar"] == [Level.BLOCKS]
    assert [place.changed for place in found.side_view.places if place.position == "handlebar"] == [True]
    (bore,) = found.bores
    assert (bore.position, bore.width, bore.height, bore.fits) == ("handlebar", only(24), only(12), "yes")
    assert {tree.system: len(tree.wires) for tree in found.after.wiring} == {"dynamo": 1, "shift-bus": 6}
    assert found.after.stack is not None
    assert found.after.stack.gap == only(2.0)
    assert found.after.stack.spacers_below == only(25)


def test_a_thing_without_a_place_leaves_the_end_of_its_wire_open() -> None:
    path = line(demo().after.lines, "wire-frame")
    assert not path.placed
    assert path.needed.high_mm is None
    assert line(demo().after.lines, "wire-lamp").stretches == ()


def test_a_wire_to_nowhere_keeps_its_end() -> None:
    of = bike("allroad-wired")
    found = pictures(of, change(of, take_off=("rear-derailleur",)))
    bus = next(tree for tree in found.after.wiring if tree.system == "shift-bus")
    assert [device.part for device in bus.devices if device.position == "rear-derailleur"] == [""]
    gone = next(place for place in found.side_view.places if place.position == "rear-derailleur")
    assert (gone.part, gone.changed) == ("", True)


def test_what_is_not_known_stays_unknown() -> None:
    of = with_facts(
        bike("road-disc"),
        fork__steerer_length_mm="unknown",
        spacer_AT_1__height_mm="unknown",
        stem__stack_mm="38..42",
        front_AT_brake_AT_line__length_mm="unknown",
        rear_AT_brake_AT_line__outer_mm="unknown",
    )
    found = stack(of)
    heights = {item.position: item.height for item in found.items}
    assert found.steerer.unknown
    assert found.gap.unknown
    assert heights["spacer-1"].unknown
    assert heights["stem"] == Span(38, 42)
    assert found.spacers_below == Span(5, None)
    drawn = pictures(of)
    assert line(drawn.after.lines, "front-brake-line").length.unknown
    assert {bore.fits for bore in drawn.bores} == {"unknown"}
    assert all(each.x_mm is None for bore in drawn.bores for each in bore.lines)


def test_a_quill_stem_is_no_part_of_the_stack() -> None:
    found = stack(bike("vintage-quill"))
    assert found.threaded
    assert [item.position for item in found.items] == ["headset-upper", "front-cable-hanger"]


def test_without_a_fork_there_is_no_stack() -> None:
    of = bike("road-disc")
    assert pictures(of, change(of, take_off=("fork",))).after.stack is None


def test_the_most_serious_finding_gives_the_level() -> None:
    note = Finding("a", Level.NOTE, "", ("stem", "fork"))
    block = Finding("b", Level.BLOCKS, "", ("stem",))
    assert levels_of([note, block]) == levels_of([block, note]) == {"stem": Level.BLOCKS, "fork": Level.NOTE}
