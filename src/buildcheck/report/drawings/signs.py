"""The sign of each level: a shape of its own beside a colour that colour-blind readers can tell from the others.

The colours are those of the Color Universal Design palette (jfly.uni-koeln.de/color, from memory).
"""

from __future__ import annotations

from math import cos, pi, sin

import svg

from buildcheck.model.levels import Level
from buildcheck.report.drawings.canvas import GREY, INK, TEXT, WHITE, Number, Point, at, words

SIZE = 4.8
ORDER: tuple[Level | None, ...] = (*Level, None)
_FILL: dict[Level | None, str] = {
    Level.BLOCKS: "#e8743b", Level.UNKNOWN: "#dda0c4", Level.EXTRA: "#f0b429", Level.CAUTION: "#8fcbee",
    Level.NOTE: WHITE, None: WHITE,
}  # fmt: skip
_EDGE: dict[Level | None, float] = {Level.BLOCKS: 0.6, Level.UNKNOWN: 0.35, Level.NOTE: 0.35, None: 0.15}


def sign(x: float, y: float, level: Level | None, number: str = "", position: str = "") -> list[svg.Element]:
    """The sign of a level round a point: a square, diamond, hexagon, house or circle with a number in it."""
    fill, thick = _FILL[level], _EDGE.get(level, 0.35)
    dash: list[Number] | None = [0.9, 0.5] if level is Level.UNKNOWN else None
    data = {"level": "none" if level is None else level.value, **({"position": position} if position else {})}
    ink = GREY if level is None else INK
    shape: svg.Element
    if level in (None, Level.NOTE):
        shape = svg.Circle(cx=at(x), cy=at(y), r=2.15, fill=fill, stroke=ink, stroke_width=thick, data=data)
    else:
        corners = [svg.Point(at(x + px), at(y + py)) for px, py in _corners(level)]
        shape = svg.Polygon(points=corners, fill=fill, stroke=INK, stroke_width=thick, stroke_dasharray=dash, data=data)
    text = [words(x, y + 0.95, number, TEXT, "middle")] if number else []
    return [shape, *text]


def _corners(level: Level | None) -> list[Point]:
    half = SIZE / 2
    if level is Level.BLOCKS:
        return [(-2.1, -2.1), (2.1, -2.1), (2.1, 2.1), (-2.1, 2.1)]
    if level is Level.UNKNOWN:
        return [(0, -half - 0.2), (half + 0.2, 0), (0, half + 0.2), (-half - 0.2, 0)]
    if level is Level.EXTRA:
        return [(2.5 * cos(pi / 3 * k), 2.5 * sin(pi / 3 * k)) for k in range(6)]
    return [(-2.1, -2.1), (2.1, -2.1), (2.1, 1.2), (0, half + 0.3), (-2.1, 1.2)]
