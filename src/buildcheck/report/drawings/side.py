"""The bike in side view: a sign for every position with its level, and the list that the numbers lead to."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import NamedTuple

import svg

from buildcheck.model.pictures import SeatedPart, SideView
from buildcheck.report.drawings.canvas import (
    GREY,
    HEAD,
    INK,
    TEXT,
    WIDTH,
    Drawing,
    Point,
    circle,
    line,
    rows_of,
    sheet,
    words,
)
from buildcheck.report.drawings.edges import ranks, spread
from buildcheck.report.drawings.outline import ground, outline
from buildcheck.report.drawings.plan import BikePlan, Edge, Seat, plan_of, seat_beside, seat_of
from buildcheck.report.drawings.signs import ORDER, sign
from buildcheck.report.drawings.voice import Voice

APART = 5.7
_ROW = 3.7
# The edges: the ends between which signs stand, and where their first row is. Bars with drops have another cockpit.
_ENDS: dict[Edge, tuple[float, float]] = {"top": (6, 164), "bottom": (22, 148), "left": (14, 104), "right": (14, 104)}
_FROM: dict[Edge, tuple[float, float]] = {
    "top": (11.0, -1),
    "bottom": (110.0, 1),
    "left": (11.0, -1),
    "right": (159.0, 1),
}
_PICTURE = 114.0
_SKY = 20.0  # nothing of the bike itself is higher than this
_MOST = 12  # as many numbers as can be read at a glance: our choice


class Numbered(NamedTuple):
    """A place with its number, and where it sits on the bike."""

    number: str
    place: SeatedPart
    seat: Seat


def side_view(view: SideView, voice: Voice) -> Drawing:
    """The side view of a bike with all its positions."""
    placed = seats_of(view)
    marks, shift = _marks(placed, plan_of(view.outline))
    picture = svg.G(elements=[ground(), *outline(plan_of(view.outline)), *marks], transform=[svg.Translate(0, shift)])
    listed, height = _listed(placed, voice, _PICTURE + shift + 4)
    notes = ["side-note", *(["side-bar-unknown"] if view.outline.bar is None else [])]
    small = [words(2, height + 3 + _ROW * row, voice.tell(name), TEXT, colour=GREY) for row, name in enumerate(notes)]
    title = voice.tell("side-title")
    head = words(2, 4.5, title, HEAD, bold=True)
    height += 5 + _ROW * (len(notes) - 1)
    return sheet("side", title, _alt(placed, voice), height, [head, picture, *listed, *small])


def seats_of(view: SideView) -> list[Numbered]:
    """The places that get a number, at most `_MOST`: what changes first, then by what was found, most serious first.

    What several share gets a seat of its own.
    """
    seats = _seats(view)
    ordered = [
        place for changed in (True, False) for level in ORDER for place in view.places
        if place.level is level and place.changed is changed and (changed or level is not None)
    ]  # fmt: skip
    ordered = sorted(ordered[:_MOST], key=lambda place: ORDER.index(place.level))
    return [Numbered(str(index), place, seats[place.position]) for index, place in enumerate(ordered, 1)]


def _seats(view: SideView) -> dict[str, Seat]:
    plan = plan_of(view.outline)
    rows = {place.position: place.row for place in view.places}
    found: dict[str, Seat] = {}
    for row in dict.fromkeys(rows.values()):
        places = [place for place in view.places if place.row == row]
        for index, place in enumerate(places):
            found[place.position] = _seat(place, index, len(places), rows, plan)
    wires = [place for place in view.places if place.row == "wire"]
    for index, wire in enumerate(wires):
        ends = [_plug(end, found, plan) for end in wire.ends if end in found]
        found[wire.position] = _between(ends, index) if ends else found[wire.position]
    return found


def _plug(position: str, seats: dict[str, Seat], plan: BikePlan) -> Seat:
    """Where a wire ends at a position: at the hub of a wheel, not at its rim."""
    hub = {"front-wheel": plan.frame.front, "rear-wheel": plan.frame.rear}.get(position)
    return seats[position] if hub is None else seats[position]._replace(x=hub[0], y=hub[1])


def _seat(place: SeatedPart, index: int, count: int, rows: dict[str, str], plan: BikePlan) -> Seat:
    seat = seat_of(place.row, plan)
    if place.row == "spacer":
        return _spacer(place, index, count, plan)
    hangs = place.row in ("accessory", "junction") and place.on in rows and place.on != "frame"
    if seat is None or hangs:
        seat = seat_beside(rows.get(place.on or "", "frame"), plan)
    return seat._replace(x=seat.x + 1.6 * index, y=seat.y + 0.8 * index) if count > 1 else seat


def _spacer(place: SeatedPart, index: int, count: int, plan: BikePlan) -> Seat:
    (x, y), (bar_x, bar_y) = plan.frame.head_top, plan.frame.bar
    if place.on == "stem":
        return Seat(bar_x - 12.8, bar_y + 1.3, "top", bar_x - 16)
    share = (index + 0.5) / count
    return Seat(x - 0.5 - 2 * share, y - 2.6 - 5 * share, "top", x - 26.5 + 16 * share)


def _between(ends: Sequence[Seat], index: int) -> Seat:
    x, y = (math.fsum(values) / len(ends) for values in ((end.x for end in ends), (end.y for end in ends)))
    return Seat(x + 0.7 * index, y, "bottom" if y > 34 else "right")


def _marks(placed: Sequence[Numbered], plan: BikePlan) -> tuple[list[svg.Element], float]:
    """The signs round the bike with their lines, and how far the picture has to move down to make room for them."""
    seats = {item.place.position: item.seat for item in placed}
    lines: list[svg.Element] = [_wire(item.place, seats, plan) for item in placed if item.place.row == "wire"]
    signs: list[svg.Element] = []
    spots = stand(placed)
    for item in placed:
        (x, y), (place, seat) = spots[item.number], (item.place, item.seat)
        quiet = place.level is None
        lines.append(line((x, y), (seat.x, seat.y), GREY if quiet else INK, 0.12 if quiet else 0.22))
        lines.append(circle(seat.x, seat.y, 0.55, "#ffffff" if quiet else INK, INK, 0.2))
        signs += sign(x, y, place.level, item.number, place.position)
    return [*lines, *signs], max(10.0 - min((y for _, y in spots.values()), default=_SKY), 10.0 - _SKY)


def _wire(place: SeatedPart, seats: dict[str, Seat], plan: BikePlan) -> svg.Element:
    """A wire from one of its devices to the other, as the crow flies."""
    ends = [_plug(end, seats, plan) for end in place.ends if end in seats] or [seats[place.position]]
    return line((ends[0].x, ends[0].y), (ends[-1].x, ends[-1].y), GREY, 0.25, dashed=True)


def stand(placed: Sequence[Numbered]) -> dict[str, Point]:
    """Where the sign of each number stands."""
    found: dict[str, Point] = {}
    for edge, (low, high) in _ENDS.items():
        along = 0 if edge in ("top", "bottom") else 1
        here = sorted(
            (_rank(item.seat), item.seat[1 - along], item.number) for item in placed if item.seat.edge == edge
        )
        rows = ranks(len(here), APART, high - low)
        places = spread([rank for rank, _, _ in here], APART / rows, low, high)
        first, outwards = _FROM[edge]
        for index, (place, (_, _, number)) in enumerate(zip(places, here, strict=True)):
            deep = first + outwards * (index % rows) * (APART - 0.4)
            found[number] = (deep, place) if along else (place, deep)
    return found


def _rank(seat: Seat) -> float:
    if seat.rank is not None:
        return seat.rank
    return seat.x if seat.edge in ("top", "bottom") else seat.y


def _listed(placed: Sequence[Numbered], voice: Voice, top: float) -> tuple[list[svg.Element], float]:
    """The list of numbers, a group for each level; what nothing was found of stands in narrow columns without part."""
    drawn: list[svg.Element] = []
    for level, group in groupby(placed, key=lambda item: item.place.level):
        drawn += [*sign(4.5, top, level), words(9, top + 0.95, voice.level(level), HEAD - 0.3, bold=True)]
        columns = 4 if level is None else 2
        entries = [(item, _entry(item.place, voice, level is None)) for item in group]
        more, top = _columns(entries, columns, top + 5.2)
        drawn += [*more]
        top += 3.2
    return drawn, top - 2


def _columns(entries: Sequence[tuple[Numbered, str]], columns: int, top: float) -> tuple[list[svg.Element], float]:
    width = (WIDTH - 4) / columns
    deep = -(-len(entries) // columns)
    drawn: list[svg.Element] = []
    lowest = top
    for column in range(columns):
        y, x = top, 2 + column * width
        for item, text in entries[column * deep : (column + 1) * deep]:
            drawn.append(words(x + 5.6, y, item.number, TEXT, "end", bold=True))
            for row in rows_of(text, width - 9):
                drawn.append(words(x + 7, y, row))
                y += _ROW
        lowest = max(lowest, y)
    return drawn, lowest


def _entry(place: SeatedPart, voice: Voice, short: bool) -> str:
    name = voice.position(place.position, place.row)
    if not place.part:
        return f"{name} ({voice.tell('empty')})"
    told = [] if short else [place.part]
    changed = [f"({voice.tell('changed')})"] if place.changed else []
    return " ".join([": ".join([name, *told]), *changed])


def _alt(placed: Iterable[Numbered], voice: Voice) -> str:
    groups = [
        f"{voice.level(level)}: " + "; ".join(f"{item.number} {_entry(item.place, voice, False)}" for item in group)
        for level, group in groupby(placed, key=lambda item: item.place.level)
    ]
    return voice.tell("side-alt", levels=". ".join(groups))
