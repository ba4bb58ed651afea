"""Lines as they are drawn: the way of each over the passages, and the bores that several share."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from math import inf, isfinite
from typing import Literal, cast

from buildcheck.fit.context import Build
from buildcheck.fit.facts import Amount
from buildcheck.fit.line_graph import WayStep
from buildcheck.fit.lines import LINE_KINDS, Route, bore_test, lengths_along, shared_bores
from buildcheck.fit.passages import SLACK, Way
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.levels import Level
from buildcheck.model.pictures import Course, LinePath, PackedLine, SharedBore, Span, Stretch
from buildcheck.pictures.spans import UNKNOWN, size_at, span_of
from buildcheck.trade.packing import placement

_Shape = Literal["round", "slot", "irregular"]


def paths_of(build: Build, levels: Mapping[str, Level]) -> tuple[LinePath, ...]:
    """The way of every line of a bike, in the order of their positions, with the level of what was found there."""
    lines = sorted(build.view.of_kind(LINE_KINDS), key=lambda spot: spot.position)
    return tuple(_path(build, line, levels.get(line.position)) for line in lines)


def _path(build: Build, line: Fitted, level: Level | None) -> LinePath:
    routes, homeless = build.routing.routes, build.routing.homeless
    choices = homeless.get(line.position, ())
    placed = line.position not in homeless
    route = routes.get(line.position) or min(choices, key=lambda way: way.needed.low, default=None)
    needed = UNKNOWN if route is None else span_of(route.needed if placed else _at_least(route.needed))
    return LinePath(
        line=line.position,
        row=build.view.row(line.position).id,
        part=line.part.name,
        start=line.start,
        end=line.end,
        stretches=() if route is None else tuple(_stretches(build.view, route)),
        needed=needed,
        length=size_at(build.view, line.position, "length_mm"),
        placed=placed,
        level=level,
    )


def _at_least(amount: Amount) -> Amount:
    """Where the thing at an end has no place, the line goes at least as far as to the nearest that it could have."""
    return Amount(amount.low, inf, amount.facts)


def _stretches(view: View, route: Route) -> Iterator[Stretch]:
    for step in route.steps:
        course = _course(step)
        for name, length in lengths_along(view, [step]).items():
            position, _, passage = name.partition(" ")
            if name == SLACK:
                yield Stretch(None, "", "", span_of(length), "open")
                continue
            # Without a passage it is a part that offers no way, or a spacer that an open passage goes along.
            here = course if passage or course in ("none", "unknown") else "open"
            yield Stretch(position, view.row(position).id, passage, span_of(length), here)


def _course(step: WayStep) -> Course:
    if step.open_to_line.no:
        return "none"
    if not step.open_to_line.yes or step.way is None:
        return "unknown"
    return "closed" if step.way.closed else "open"


def shared_bores_of(build: Build) -> tuple[SharedBore, ...]:
    """Every bore that two or more lines share, with the lines packed where a placement is known. Sizes in mm."""
    return tuple(_bore(build.view, way, lines) for way, lines in shared_bores(build.routing.routes))


def _bore(view: View, way: Way, lines: list[Fitted]) -> SharedBore:
    shape = cast(_Shape, way.passage.bore.shape)
    width, height = _sizes(way, shape)
    outers = [view.amount(line.position, "outer_mm") for line in lines]
    answer = bore_test(view, way, lines).answer
    centres = _centres(width, height, outers) if answer.value == "yes" else None
    spans = [span_of(outer) for outer in outers]
    return SharedBore(
        position=way.spot.home,
        row=view.row(way.spot.home).id,
        passage=way.passage.id,
        shape=shape,
        width=span_of(width),
        height=span_of(height),
        lines=tuple(
            PackedLine(line.position, view.row(line.position).id, outer, *at)
            for line, outer, at in zip(lines, spans, centres or [(None, None)] * len(lines), strict=True)
        ),
        fits=answer.value,
        area_mm2=span_of(way.size("area_mm2")) if shape == "irregular" else Span(None, None),
    )


def _sizes(way: Way, shape: _Shape) -> tuple[Amount, Amount]:
    """Width and height, the greater one first as far as they are known."""
    if shape != "slot":
        size = way.size("diameter_mm" if shape == "round" else "inscribed_mm")
        return size, size
    first, second = way.size("width_mm"), way.size("height_mm")
    return (first, second) if first.low >= second.low else (second, first)


def _centres(width: Amount, height: Amount, outers: list[Amount]) -> tuple[tuple[float, float], ...] | None:
    """Where the thickest that the lines can be lie in the smallest that the bore can be."""
    thick = [outer.high for outer in outers]
    if not all(map(isfinite, (*thick, width.low, height.low))):
        return None
    return placement(thick, max(width.low, height.low), min(width.low, height.low))
