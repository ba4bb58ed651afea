"""Places and mounts, and the graphs of electric systems."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.facts import Answer
from buildcheck.fit.places import chosen_place, device_opening, free_places, holds, options, room_left
from buildcheck.fit.view import View
from buildcheck.fit.wiring import build_wiring, ends_of, plug_system, system_of, systems
from buildcheck.model.bikes import Fitted
from fit.make import fitted, part, view
from laws.bench import bike, context_of

ROUND = {"id": "zone", "type": "clamp.round", "diameter_mm": 31.8, "width_mm": 60}
STRAP = {"id": "strap", "type": "strap.bar", "diameter_mm": 31.8}


def lamp(
    position: str = "accessory-lamp", on: str | None = "handlebar", place: str | None = None, **mount: Any
) -> Fitted:
    row = {"type": "clamp.round", "diameter_min_mm": 25, "diameter_max_mm": 32, "width_mm": 20, **mount}
    return fitted(position, part("accessory", use="lamp-front", mounts=[row]), on=on, place=place)


def bar(*places: dict[str, Any]) -> Fitted:
    return fitted("handlebar", part("handlebar", places=list(places)))


def answer(carrier: Fitted, rider: Fitted) -> Answer:
    return holds(carrier, carrier.part.places[0], rider, rider.part.mounts[0]).answer


@pytest.mark.parametrize(
    ("place", "mount", "expected"),
    [
        ({}, {}, Answer.YES),
        ({"diameter_mm": 35}, {}, Answer.NO),
        ({"diameter_mm": 22.2}, {}, Answer.NO),
        ({"diameter_mm": "unknown"}, {}, Answer.UNKNOWN),
        ({"diameter_mm": "31..35"}, {}, Answer.UNKNOWN),
        ({"width_mm": 10}, {}, Answer.NO),
        ({"type": "clamp.post"}, {}, Answer.NO),
        ({}, {"width_mm": "10..80"}, Answer.UNKNOWN),
    ],
)
def test_a_clamp_on_a_round_zone(place: dict[str, Any], mount: dict[str, Any], expected: Answer) -> None:
    assert answer(bar({**ROUND, **place}), lamp(**mount)) is expected


@given(low=st.floats(20, 40), width=st.floats(0, 5), point=st.floats(0, 1))
def test_the_answer_for_a_zone_in_doubt_holds_for_every_size(low: float, width: float, point: float) -> None:
    in_doubt = answer(bar({**ROUND, "diameter_mm": f"{low:.6f}..{low + width:.6f}"}), lamp())
    size = round(low, 6) + (round(low + width, 6) - round(low, 6)) * point
    assert in_doubt in (answer(bar({**ROUND, "diameter_mm": size}), lamp()), Answer.UNKNOWN)


def test_places_that_surely_take_a_thing_come_first() -> None:
    carrier = bar({**ROUND, "id": "a", "diameter_mm": "unknown"}, {**ROUND, "id": "b"}, {**STRAP, "id": "c"})
    assert [(place.id, test.answer) for place, _, test in options(carrier, lamp())] == [
        ("b", Answer.YES), ("a", Answer.UNKNOWN), ("c", Answer.NO),
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("rider", "places", "place", "expected"),
    [
        (lamp(), [ROUND], "zone", Answer.YES),
        (lamp(place="zone"), [ROUND, {**ROUND, "id": "a"}], "zone", Answer.YES),
        (lamp(place="gone"), [ROUND], "zone", Answer.YES),
        (lamp(), [STRAP], None, Answer.NO),
        (lamp(), [], None, Answer.NO),
        (lamp(on="fork"), [ROUND], None, Answer.NO),
    ],
)
def test_the_place_that_a_thing_sits_in(rider: Fitted, places: list[Any], place: str | None, expected: Answer) -> None:
    found, test = chosen_place(view([bar(*places), rider]), rider)
    assert (found.id if found else None, test.answer) == (place, expected)


@pytest.mark.parametrize(
    ("width", "expected"),
    [(60, Answer.YES), (40, Answer.YES), (39, Answer.NO), ("30..50", Answer.UNKNOWN), (None, Answer.NO)],
)
def test_two_clamps_share_the_width_of_a_zone(width: Any, expected: Answer) -> None:
    zone = {name: value for name, value in {**ROUND, "width_mm": width}.items() if value is not None}
    of = view([bar(zone), lamp(), lamp("accessory-lamp-2")])
    test, riders = room_left(of, of.bike["handlebar"], of.bike["handlebar"].part.places[0])
    assert (test.answer, len(riders)) == (expected, 2)


def test_a_free_place_is_one_of_the_family_that_nothing_sits_in() -> None:
    of = view(
        [bar({**ROUND, "id": "a"}, {**ROUND, "id": "b"}, STRAP), lamp(place="a"), lamp("accessory-lamp-2", place="b")]
    )
    free = free_places(of, of.bike["accessory-lamp"])
    assert [(carrier.position, place.id) for carrier, place in free] == [("handlebar", "a")]


def test_where_a_line_reaches_a_thing() -> None:
    of = view([bar({**ROUND, "opening": "bar-centre"}), lamp(), lamp("accessory-lamp-2", on="fork")])
    assert device_opening(of, "accessory-lamp") == "bar-centre"
    assert device_opening(of, "accessory-lamp-2") is None
    assert device_opening(of, "handlebar") == "handlebar"
    assert device_opening(of, "fork") is None


def wired(*plugs: tuple[str | None, str | None]) -> View:
    battery = part("battery", power="battery", ports=[{"plug": "shift-bus.b", "count": 4}])
    lever = part("lever", hand="left", ports=[{"plug": "shift-bus.a"}])
    spots = [fitted("lever-left", lever), fitted("battery", battery)]
    for index, (start, end) in enumerate(plugs):
        wire = part("wire", start_plug=start, end_plug=end)
        spots.append(fitted(f"wire-{index}", wire, start="lever-left", end="battery"))
    return view(spots)


def test_plugs_of_one_family_are_one_system() -> None:
    assert plug_system("shift-bus.a") == plug_system("shift-bus.b") == "shift-bus"
    ((name, graph),) = systems(wired(("shift-bus.a", "shift-bus.b")))
    assert name == "shift-bus"
    assert graph.pieces() == [["battery", "lever-left"]]


def test_a_wire_to_nothing_keeps_its_edge() -> None:
    of = view([fitted("wire-1", part("wire", start_plug="shift-bus.a"), start="lever-left", end="battery")])
    graph = build_wiring(of)
    assert [(*ends_of(wire), wire.position) for wire in graph.wires] == [("lever-left", "battery", "wire-1")]
    assert graph.devices["battery"] is None


def test_a_wire_without_ends_is_no_edge() -> None:
    of = view([fitted("wire-1", part("wire"))])
    assert build_wiring(of).wires == ()
    assert system_of(of.bike["wire-1"]) is None


def test_a_wire_of_unknown_plugs_still_joins_its_ends() -> None:
    ((_, graph),) = systems(wired((None, None)))
    assert graph.pieces() == [["battery", "lever-left"]]


def test_shifting_and_lighting_are_two_systems() -> None:
    names = [name for name, _ in systems(context_of(bike("allroad-wired")).view)]
    assert names == ["dynamo", "shift-bus"]
    assert systems(context_of(bike("city-rim")).view) == []
