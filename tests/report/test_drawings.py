"""The drawings: well-formed, told in words too, to scale, legible, and every word from the labels."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import combinations, pairwise
from math import dist
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from buildcheck.library.texts import languages, load_texts
from buildcheck.model.levels import Level
from buildcheck.model.pictures import (
    Device,
    LinePath,
    Outline,
    PackedLine,
    Pictures,
    SeatedPart,
    SharedBore,
    Side,
    SideView,
    Span,
    Stack,
    StackItem,
    WireEdge,
    WiringTree,
)
from buildcheck.pictures.bike import pictures_of
from buildcheck.report.drawings import LABELS, Drawing, drawings_of, english, one_sheet
from buildcheck.report.drawings.edges import spread
from buildcheck.report.drawings.paths import scale_of as scale_of_paths
from buildcheck.report.drawings.plan import plan_of, seat_of
from buildcheck.report.drawings.side import seats_of, stand
from buildcheck.report.drawings.wiring import layout
from laws.bench import BIKES, NOTHING, bike, catalogue, change, context_of, findings_of, with_facts

SVG = "{http://www.w3.org/2000/svg}"
LEAST_TEXT = 2.6  # mm where a drawing is printed 170 mm wide: a letter of 7.4 points
UNKNOWN = Span(None, None)
FLAT = Outline(bar="flat")
MOST = 12  # numbers on one side view


@cache
def pictures(name: str, *fits: str) -> Pictures:
    of = bike(name)
    asked = change(of, *fits) if fits else NOTHING
    context = context_of(of, asked)
    return pictures_of(context.before, context, findings_of(of, asked))


def demo() -> Pictures:
    return pictures("allroad-wired", "wexcombe-veil-420-100@handlebar")


def unknowing() -> Pictures:
    of = with_facts(
        bike("road-disc"),
        fork__steerer_length_mm="unknown",
        spacer_AT_1__height_mm="unknown",
        spacer_AT_2__passages__channel__bore__width_mm="unknown",
        stem__stack_mm="38..42",
        front_AT_brake_AT_line__outer_mm="4.8..5.1",
        rear_AT_brake_AT_line__outer_mm="unknown",
        front_AT_brake_AT_line__length_mm="unknown",
        rear_AT_brake_AT_line__length_mm="1400..1500",
    )
    return pictures_of(None, context_of(of), findings_of(of))


def read(drawing: Drawing) -> ElementTree.Element:
    return ElementTree.fromstring(drawing.svg)


def find(drawings: tuple[Drawing, ...], name: str) -> ElementTree.Element:
    return next(read(drawing) for drawing in drawings if drawing.id == f"drawing-{name}")


def of_data(root: ElementTree.Element, key: str) -> list[ElementTree.Element]:
    return [element for element in root.iter() if f"data-{key}" in element.attrib]


def texts(root: ElementTree.Element) -> list[str]:
    return ["".join(element.itertext()) for element in root.iter(f"{SVG}text")]


def number(element: ElementTree.Element, name: str) -> float:
    return float(element.attrib[name])


def all_cases() -> Iterator[Pictures]:
    yield demo()
    yield unknowing()
    yield Pictures()
    yield from odd_cases()
    yield from (pictures(name) for name in BIKES)


def test_well_formed_with_title_and_text_alternative() -> None:
    for case in all_cases():
        drawings = drawings_of(case)
        assert drawings[0].id == "drawing-side"
        for drawing in drawings:
            root = read(drawing)
            assert root.tag == f"{SVG}svg"
            assert root.attrib["role"] == "img"
            assert root.attrib["aria-labelledby"] == f"{drawing.id}-title {drawing.id}-desc"
            assert [root.findtext(f"{SVG}title"), root.findtext(f"{SVG}desc")] == [drawing.title, drawing.alt]
            assert root.attrib["viewBox"] == f"0 0 170 {drawing.height_mm:g}"
            assert not list(root.iter(f"{SVG}script"))
            assert "http" not in drawing.svg.replace("http://www.w3.org/2000/svg", "")


def test_ids_stand_once_on_a_page_with_all_drawings() -> None:
    root = ElementTree.fromstring(one_sheet(drawings_of(demo())))
    ids = [element.attrib["id"] for element in root.iter() if "id" in element.attrib]
    assert len(ids) == len(set(ids))
    used = re.findall(r"url\(#([^)]+)\)", one_sheet(drawings_of(demo())))
    assert set(used) <= set(ids)
    inner = root.findall(f"{SVG}g/{SVG}svg")
    assert len(inner) == 6
    assert all("mm" not in each.attrib["width"] + each.attrib["height"] for each in inner)


@pytest.mark.parametrize("language", languages())
def test_no_text_is_too_small_or_runs_off_the_sheet(language: str) -> None:
    name = load_texts(language).position
    for case in all_cases():
        for drawing in drawings_of(case, name=name):
            for text in read(drawing).iter(f"{SVG}text"):
                size, x = number(text, "font-size"), number(text, "x")
                assert size >= LEAST_TEXT
                # 0.5: about the mean width of a letter of a sans-serif face, in parts of its height.
                long = len("".join(text.itertext())) * size * 0.5
                before = {"start": 0.0, "middle": long / 2, "end": long}[text.attrib.get("text-anchor", "start")]
                assert x - before >= -1
                assert x - before + long <= 171, "".join(text.itertext())
                assert 0 < number(text, "y") + 0.3 <= drawing.height_mm


def box(text: ElementTree.Element, shift: float) -> tuple[float, float, float, float]:
    """About where a text stands, a little smaller than it is: left, right, top, bottom."""
    size, x, y = number(text, "font-size"), number(text, "x"), number(text, "y") + shift
    long = len("".join(text.itertext())) * size * 0.45
    left = x - {"start": 0.0, "middle": long / 2, "end": long}[text.attrib.get("text-anchor", "start")]
    return left, left + long, y - 0.7 * size, y


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("name", [*BIKES, "demo", "unknown"])
def test_no_two_texts_cover_each_other(name: str, language: str) -> None:
    case = {"demo": demo, "unknown": unknowing}.get(name, lambda: pictures(name))()
    for drawing in drawings_of(case, name=load_texts(language).position):
        root = read(drawing)
        inner = {id(text) for group in root.iter(f"{SVG}g") for text in group.iter(f"{SVG}text")}
        # Only the picture of the side view stands in a group, which is moved down as a whole.
        shifts = [float(group.attrib["transform"].partition(" ")[2].rstrip(")")) for group in root.iter(f"{SVG}g")]
        boxes = [
            (box(text, shifts[0] if id(text) in inner else 0.0), "".join(text.itertext()))
            for text in root.iter(f"{SVG}text")
        ]
        for (one, first), (other, second) in combinations(boxes, 2):
            across = min(one[1], other[1]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[2], other[2])
            assert across < 0.3 or down < 0.3, (drawing.id, first, second)


def test_every_position_of_the_standards_has_a_spot() -> None:
    for row in catalogue().standards.positions:
        for bar in ("drop", "flat"):
            (placed,) = seats_of(SideView((SeatedPart(row, row, "a part", None, True),), Outline(bar=bar)))
            assert 0 < placed.seat.x < 170
            assert 0 < placed.seat.y < 110


def test_a_position_without_a_seat_of_its_own_is_drawn_beside_what_it_is_mounted_on() -> None:
    names = {"saddle": None, "child-seat": "saddle", "child-seat-rest": "child-seat", "lock": None}
    places = tuple(SeatedPart(name, name, "a part", None, True, on=on) for name, on in names.items())
    seats = {placed.place.position: placed.seat for placed in seats_of(SideView(places, FLAT))}
    saddle, frame = seats["saddle"], seat_of("frame", plan_of(FLAT))
    assert frame is not None
    assert seats["child-seat"] == saddle._replace(x=saddle.x + 2, y=saddle.y - 0.4)
    assert (seats["lock"].x, seats["child-seat-rest"].x) == (frame.x + 2, frame.x + 2)
    assert len(of_data(find(drawings_of(Pictures(SideView(places, FLAT))), "side"), "position")) == len(places)


@pytest.mark.parametrize("name", BIKES)
def test_what_something_was_found_on_has_a_number_with_its_level(name: str) -> None:
    case = pictures(name)
    signs = of_data(find(drawings_of(case), "side"), "position")
    found = {place.position: place.level for place in case.side_view.places if place.level is not None}
    assert len(found) <= MOST
    assert {sign.attrib["data-position"]: sign.attrib["data-level"] for sign in signs} == found


def test_what_changes_has_a_number_first() -> None:
    levels = [Level.NOTE, *[Level.BLOCKS] * 20, None]
    places = tuple(
        SeatedPart(f"spacer-{n}", "spacer", "x", level, level is not Level.BLOCKS) for n, level in enumerate(levels)
    )
    numbered = seats_of(SideView(places))
    assert len(numbered) == MOST
    assert {"spacer-0", "spacer-21"} < {item.place.position for item in numbered}
    assert [item.number for item in numbered] == [str(number + 1) for number in range(MOST)]


def test_wheels_are_in_scale_and_stand_on_the_ground() -> None:
    big, small = (plan_of(pictures(name).side_view.outline) for name in ("city-rim", "folding-small-wheel"))
    assert big.of.rear_wheel_mm is not None
    assert small.of.rear_wheel_mm is not None
    assert small.rear_radius / big.rear_radius == pytest.approx(small.of.rear_wheel_mm / big.of.rear_wheel_mm)
    for plan in (big, small):
        assert plan.frame.rear[1] + plan.rear_radius == plan.frame.front[1] + plan.front_radius


def test_a_bike_is_drawn_as_it_is_built() -> None:
    forms = {name: pictures(name).side_view.outline for name in BIKES}
    assert {name for name, of in forms.items() if of.front_brake == "rim"} == {
        "city-rim", "folding-small-wheel", "kids-20", "road-rim", "track", "vintage-quill",
    }  # fmt: skip
    assert forms["city-hub-gear"].rear_brake == "hub"
    assert {name: of.form for name, of in forms.items() if of.form != "diamond"} == {
        "cargo": "carrier", "folding-small-wheel": "folding", "kids-20": "child", "long-tandem-lines": "tandem",
        "trail-full-suspension": "full-suspension",
    }  # fmt: skip
    assert {name for name, of in forms.items() if of.chain == "straight"} == {"city-hub-gear", "track"}
    assert {name for name, of in forms.items() if of.suspended_fork} == {"trail-full-suspension", "trail-hardtail"}


@pytest.mark.parametrize("name", BIKES)
def test_rim_brakes_sit_at_the_rim(name: str) -> None:
    plan = plan_of(pictures(name).side_view.outline)
    for end, hub, radius in (
        ("front", plan.frame.front, plan.front_radius),
        ("rear", plan.frame.rear, plan.rear_radius),
    ):
        seat = seat_of(f"{end}-caliper", plan)
        assert seat is not None
        rim = (plan.of.front_brake if end == "front" else plan.of.rear_brake) == "rim"
        assert (dist(hub, seat[:2]) > radius - 3) is rim


def crowded(bar: str, copies: int) -> SideView:
    """A bike on which every position is filled, those that there can be several of as often as asked for."""
    levels = [*Level, None]
    names = [
        (f"{row.id}-{index}" if row.many else row.id, row.id)
        for row in catalogue().standards.positions.values()
        for index in range(copies if row.many else 1)
    ]
    return SideView(
        tuple(SeatedPart(n, row, "x", levels[i % 6], on="stem") for i, (n, row) in enumerate(names)), Outline(bar=bar)
    )


@pytest.mark.parametrize("bar", ["drop", "flat"])
def test_signs_do_not_cover_each_other(bar: str) -> None:
    views = [crowded(bar, 3), demo().side_view, *(pictures(name).side_view for name in BIKES)]
    for view in views:
        spots = stand(seats_of(view))
        assert len(spots) == min(MOST, len([place for place in view.places if place.changed or place.level]))
        for one, other in combinations(spots.values(), 2):
            assert dist(one, other) >= 4.9


def test_each_level_has_a_shape_of_its_own() -> None:
    view = SideView(
        tuple(
            SeatedPart(row, row, "x", level) for row, level in zip(catalogue().standards.positions, Level, strict=False)
        ),
    )
    root = find(drawings_of(Pictures(view)), "side")
    forms = {
        (sign.tag, len(sign.attrib.get("points", "").split()), sign.attrib.get("stroke-dasharray"))
        for sign in of_data(root, "position")
    }
    assert len(forms) == len(Level)
    assert english("drawing-side-bar-unknown") in " ".join(texts(root))


@given(st.lists(st.floats(0, 100), max_size=40), st.floats(1, 9))
def test_things_along_an_edge_keep_their_order_and_their_distance(wanted: list[float], apart: float) -> None:
    wanted = sorted(wanted)
    places = spread(wanted, apart, 0, 100)
    least = min(apart, 100 / max(1, len(wanted) - 1))
    assert len(places) == len(wanted)
    assert all(after - before >= least - 1e-6 for before, after in pairwise(places))
    assert all(-1e-6 <= place <= 100 + 1e-6 for place in places)


def test_things_with_room_stand_where_they_are_wanted() -> None:
    assert spread([10, 20, 30], 5, 0, 100) == [10, 20, 30]
    assert spread([50, 50], 4, 0, 100) == [48, 52]


def test_strips_are_to_scale() -> None:
    case = demo()
    assert case.before is not None
    scale = scale_of_paths([*case.before.lines, *case.after.lines])
    assert scale == 1 / 15
    roots = [find(drawings_of(case), name) for name in ("paths", "paths-2")]
    for piece in (piece for root in roots for piece in of_data(root, "stretch")):
        assert number(piece, "width") == pytest.approx(number(piece, "data-mm") * scale, abs=0.002)
    rules = [rule for root in roots for rule in of_data(root, "line")]
    assert {rule.attrib["data-line"] for rule in rules} == {path.line for path in case.after.lines}
    for rule in rules:
        assert number(rule, "x2") - number(rule, "x1") == pytest.approx(number(rule, "data-mm") * scale, abs=0.002)


@pytest.mark.parametrize("name", ["road-disc", "trail-full-suspension"])
def test_bores_and_lines_are_to_scale(name: str) -> None:
    case = pictures(name)
    root = find(drawings_of(case), "bores")
    scale = next(float(text.split()[3].partition(":")[0]) for text in texts(root) if text.startswith("drawn to scale"))
    bores = {f"{bore.position}.{bore.passage}": bore for bore in case.bores}
    drawn = of_data(root, "bore")
    assert {each.attrib["data-bore"] for each in drawn} == set(bores)
    for each in drawn:
        bore = bores[each.attrib["data-bore"]]
        assert number(each, "width") == pytest.approx((bore.width.exact_mm or 0) * scale)
        assert number(each, "height") == pytest.approx((bore.height.exact_mm or 0) * scale)
    for circle in of_data(root, "line"):
        assert 2 * number(circle, "r") == pytest.approx(number(circle, "data-mm") * scale, abs=0.002)
    middle = (
        number(drawn[0], "x") + number(drawn[0], "width") / 2,
        number(drawn[0], "y") + number(drawn[0], "height") / 2,
    )
    first, line = case.bores[0].lines[0], of_data(root, "line")[0]
    assert number(line, "cx") - middle[0] == pytest.approx((first.x_mm or 0) * scale, abs=0.002)
    assert middle[1] - number(line, "cy") == pytest.approx((first.y_mm or 0) * scale, abs=0.002)


def test_the_stack_is_to_scale() -> None:
    case = demo()
    root = find(drawings_of(case), "stack")
    items = of_data(root, "position")
    assert case.before is not None
    assert case.before.stack is not None
    assert case.after.stack is not None
    assert len(items) == len(case.before.stack.items) + len(case.after.stack.items)
    assert all(number(item, "height") == number(item, "data-mm") for item in items)
    for side in (items[: len(items) // 2], items[len(items) // 2 :]):
        for below, above in pairwise(side):
            assert number(above, "y") + number(above, "height") == pytest.approx(number(below, "y"), abs=0.002)
    cut = of_data(root, "steerer-gap-mm")[0]
    assert number(cut, "y1") - number(items[6], "y") == pytest.approx(number(cut, "data-steerer-gap-mm"))


def test_unknowns_are_shown_as_unknown() -> None:
    drawings = drawings_of(unknowing())
    told = {drawing.id: drawing.alt for drawing in drawings}
    assert "spacer 1: unknown" in told["drawing-stack"]
    assert "stem: 38 to 42 mm" in told["drawing-stack"]
    assert "where the steerer ends in the stack is unknown" in told["drawing-stack"]
    assert "line unknown" in told["drawing-paths"]
    assert "line 1400 to 1500 mm" in told["drawing-paths"]
    assert "not known whether all lines fit through" in told["drawing-bores"]
    assert "slot, 11 x unknown" in told["drawing-bores"]
    stack = find(drawings, "stack")
    assert "spacer-1" not in {item.attrib["data-position"] for item in of_data(stack, "position")}
    assert not of_data(stack, "steerer-gap-mm")
    bores = find(drawings, "bores")
    assert {line.attrib["data-line"] for line in of_data(bores, "line")} == {"front-brake-line"}
    assert "spacer-2.channel" not in {bore.attrib["data-bore"] for bore in of_data(bores, "bore")}
    assert "?" in " ".join(texts(bores))


def odd_cases() -> tuple[Pictures, ...]:
    """What no bundled bike has: sizes known on one side only, rings of wires, lines that do not pass."""
    proud = Stack(UNKNOWN, (), Span(200, 200), Span(-3, -3), False, Span(0, 0), Span(None, 5))
    tall = StackItem("stem", "stem", "x", Span(400, 400))
    threaded = Stack(UNKNOWN, (tall,), UNKNOWN, Span(1, 4), True, UNKNOWN, UNKNOWN)
    thin, thick = PackedLine("wire-a", "wire", Span(3, 3)), PackedLine("wire-b", "wire", Span(8, 8))
    rod = SharedBore(
        "frame", "frame", "port", "irregular", Span(9, 9), Span(9, 9), (thin, thick), "no", Span(70, 80)
    )  # fmt: skip
    packed = (PackedLine("wire-a", "wire", Span(2, 3), -1.5, 0), PackedLine("wire-b", "wire", Span(3, 3), 1.5, 0))
    tight = SharedBore("fork", "fork", "leg", "round", Span(6, 7), Span(6, 7), packed, "yes")
    ring = WiringTree(
        "bus",
        (*(Device(f"junction-{n}", "junction", "x", "junction") for n in "abc"), Device("battery", "battery", "", "")),
        (
            WireEdge("wire-1", "junction-a", "junction-b", Span(1, 1)),
            WireEdge("wire-2", "junction-b", "junction-c", UNKNOWN),
            WireEdge("wire-3", "junction-c", "junction-a", Span(3, None)),
        ),
    )
    lost = LinePath("wire-a", "wire", "x", None, None, (), UNKNOWN, Span(None, 90))
    places = (
        SeatedPart("stem", "stem", "x", Level.CAUTION), SeatedPart("chain", "chain", "", Level.BLOCKS),
        SeatedPart("saddle", "saddle", "x", None, True), SeatedPart("bar-tape", "bar-tape", "x", Level.EXTRA, True),
    )  # fmt: skip
    ends = Stack(UNKNOWN, (), UNKNOWN, Span(1, 4), None, UNKNOWN, UNKNOWN)
    changed = Pictures(
        SideView(places), Side((lost,), (ring,), proud), Side((), (), threaded), (rod, tight)
    )  # fmt: skip
    gone = Pictures(before=Side((), (), proud), after=Side((), (), None))
    same = Pictures(before=Side((lost,), (), None), after=Side((lost,), (), None))
    return changed, Pictures(after=Side((), (), ends)), gone, same


def test_bounds_and_odd_cases_are_told() -> None:
    changed, ends, gone, _ = odd_cases()
    told = {drawing.id: drawing.alt for drawing in drawings_of(changed)}
    assert "chain (empty)" in told["drawing-side"]
    assert "stands 3 mm above the top of the stack" in told["drawing-stack"]
    assert "above it at most 5 mm" in told["drawing-stack"]
    assert "threaded steerer" in told["drawing-stack"]
    assert "the thickest round rod that passes: 9 mm, section 70 to 80 mm²" in told["drawing-bores"]
    assert "the lines do not all fit through" in told["drawing-bores"]
    assert "the thickest lines that are possible" in told["drawing-bores"]
    assert "wire 3 from junction c to junction a, at least 3 mm" in told["drawing-wiring"]
    assert "without a wire: battery" in told["drawing-wiring"]
    assert "after: no wiring" in told["drawing-wiring"]
    assert "no route for it is known; has at most 90 mm" in told["drawing-paths"]
    assert "not on the bike" in told["drawing-paths"]
    assert "after: no fork, so no stack" in drawings_of(gone)[-1].alt
    last = drawings_of(ends)[-1].alt
    assert "less the end of the steerer: 1 to 4 mm" in last
    assert "whether the steerer is threaded is unknown" in last


def test_what_a_bike_does_not_have_is_not_drawn() -> None:
    assert [drawing.id for drawing in drawings_of(Pictures())] == ["drawing-side"]
    assert [drawing.id for drawing in drawings_of(pictures("track"))] == [
        "drawing-side", "drawing-paths", "drawing-stack",
    ]  # fmt: skip


def test_a_drawing_of_many_lines_goes_on_in_another_one() -> None:
    drawings = [drawing for drawing in drawings_of(demo()) if drawing.id.startswith("drawing-paths")]
    assert [drawing.id for drawing in drawings] == ["drawing-paths", "drawing-paths-2"]
    assert all(drawing.height_mm <= 250 for drawing in drawings)
    for path in demo().after.lines:
        name = path.line.replace("-", " ")
        assert sum(f"{name}, " in drawing.alt for drawing in drawings) == 1


def test_a_tree_has_a_row_for_each_leaf_and_starts_where_the_power_is() -> None:
    tree = next(tree for tree in demo().after.wiring if tree.system == "shift-bus")
    places, rows = layout(tree)
    assert places["battery"][0] == 0
    assert rows == 4
    assert len(set(places.values())) == len(places)


def test_words_in_a_drawing_are_no_markup() -> None:
    place = SeatedPart("stem", "stem", "<b>&\"'", Level.NOTE)
    drawings = drawings_of(Pictures(SideView((place,), FLAT)))
    assert "stem: <b>&\"'" in " ".join(texts(read(drawings[0])))


def foreign(label: str) -> str:
    """A language in which every word of a label is written in Greek letters, its placeholders left as they are."""
    return re.sub(r"\{\w+\}|[A-Za-z]+", lambda found: found[0] if found[0][0] == "{" else "λ", LABELS[label])


def test_every_word_comes_from_the_labels() -> None:
    case = demo()
    names = " ".join(
        [place.part for place in case.side_view.places] + [place.position for place in case.side_view.places]
    )
    stretches = [
        stretch.passage
        for side in (case.before, case.after)
        if side
        for path in side.lines
        for stretch in path.stretches
    ]
    own = " ".join([names, *stretches, *(bore.passage for bore in case.bores), "mm dynamo shift-bus"])
    known = set(re.findall(r"[A-Za-z]+", own))
    for drawing in drawings_of(case, foreign, lambda _: "λ"):
        for text in [drawing.title, drawing.alt, *texts(read(drawing))]:
            assert set(re.findall(r"[A-Za-z]+", text)) <= known, text


def test_the_record_of_the_drawings_goes_into_json_and_back() -> None:
    adapter = TypeAdapter(Pictures)
    assert adapter.validate_json(adapter.dump_json(demo())) == demo()


def test_no_label_is_without_use() -> None:
    asked: set[str] = set()

    def say(label: str) -> str:
        asked.add(label)
        return english(label)

    for case in all_cases():
        drawings_of(case, say)
    assert set(LABELS) <= asked
