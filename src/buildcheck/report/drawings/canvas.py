"""Shapes and words on a sheet. One unit is 1 mm where a drawing is printed 170 mm wide."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import NamedTuple
from xml.sax.saxutils import escape

import svg

WIDTH, GAP = 170.0, 6.0
TEXT, HEAD = 2.7, 3.3
INK, GREY, PALE, WHITE = "#111111", "#666666", "#dddddd", "#ffffff"
LINE = 0.3
# A letter of a plain sans-serif face is about this wide, in parts of its height; measured over English part names.
_LETTER = 0.55
Point = tuple[float, float]
Number = Decimal | float | int


class Drawing(NamedTuple):
    """One drawing: `svg` is a whole SVG element, `alt` tells the same in words."""

    id: str
    title: str
    alt: str
    svg: str
    height_mm: float


def sheet(name: str, title: str, alt: str, height: float, elements: Sequence[svg.Element]) -> Drawing:
    """A drawing, 170 mm wide, with its title and text alternative for screen readers."""
    height = round(height, 1)
    identity = f"drawing-{name}"
    whole = svg.SVG(
        width=f"{WIDTH:g}mm",  # type: ignore[arg-type]  # the library knows numbers with units only as its own classes
        height=f"{height:g}mm",  # type: ignore[arg-type]
        viewBox=svg.ViewBoxSpec(0, 0, at(WIDTH), at(height)),
        id=identity,
        extra={"font-family": "sans-serif", "role": "img", "aria-labelledby": f"{identity}-title {identity}-desc"},
        elements=[
            svg.Title(text=escape(title), id=f"{identity}-title"),
            svg.Desc(text=escape(alt), id=f"{identity}-desc"),
            *_patterns(name),
            svg.Rect(x=0, y=0, width=at(WIDTH), height=at(height), fill=WHITE),
            *elements,
        ],
    )  # fmt: skip
    return Drawing(identity, title, alt, whole.as_str(), height)


def _patterns(name: str) -> list[svg.Element]:
    """Hatchings; their ids hold the name of the drawing, so that several drawings can stand on one page."""
    strokes = {"hatch": "M-1,1 l2,-2 M0,2 l2,-2 M1,3 l2,-2", "cross": "M0,0 l2,2 M0,2 l2,-2"}
    patterns: list[svg.Element] = [
        svg.Pattern(
            id=f"drawing-{name}-{kind}", width=2, height=2, patternUnits="userSpaceOnUse",
            elements=[
                svg.Rect(x=0, y=0, width=2, height=2, fill=WHITE),
                svg.Path(d=path, stroke=GREY, stroke_width=0.25, fill="none"),  # type: ignore[arg-type]
            ],
        )
        for kind, path in strokes.items()
    ]  # fmt: skip
    return [svg.Defs(elements=patterns)]


def filled_with(name: str, kind: str) -> str:
    """The fill for a hatching, `hatch` or `cross`, of the drawing of this name."""
    return f"url(#drawing-{name}-{kind})"


def at(value: float) -> float:
    """A place on the sheet, without needless decimals."""
    rounded = round(value, 3)
    return int(rounded) if rounded == int(rounded) else rounded


def _data(data: Mapping[str, object] | None) -> dict[str, str] | None:
    return None if data is None else {key: escape(str(value), {'"': "&quot;"}) for key, value in data.items()}


def words(
    x: float, y: float, text: str, size: float = TEXT, anchor: str = "start", bold: bool = False, colour: str = INK
) -> svg.Text:
    """One line of text; y is its base line."""
    return svg.Text(
        x=at(x), y=at(y), text=escape(text), font_size=size, fill=colour,
        text_anchor=anchor,  # type: ignore[arg-type]
        font_weight="bold" if bold else None,
    )  # fmt: skip


def titled(x: float, y: float, name: str, more: str) -> svg.Text:
    """A name in bold letters and more about it behind it."""
    return svg.Text(
        x=at(x),
        y=at(y),
        font_size=TEXT,
        fill=INK,
        elements=[svg.TSpan(text=escape(name), font_weight="bold"), svg.TSpan(text=escape(f" {more}"), dx=1)],
    )


def wide(text: str, size: float = TEXT) -> float:
    """About how wide a text is in mm."""
    return len(text) * size * _LETTER


def rows_of(text: str, width: float, size: float = TEXT) -> list[str]:
    """A text in lines that are no wider than this, in mm."""
    return textwrap.wrap(
        text, max(8, int(width / (size * _LETTER))), break_long_words=False, break_on_hyphens=False
    ) or [""]


def rect(
    x: float, y: float, width: float, height: float, fill: str = WHITE, stroke: str = INK, thick: float = LINE,
    dashed: bool = False, data: Mapping[str, object] | None = None,
) -> svg.Rect:  # fmt: skip
    """A rectangle; `data` is what it stands for, in data- attributes."""
    return svg.Rect(
        x=at(x), y=at(y), width=at(width), height=at(height), fill=fill, stroke=stroke, stroke_width=thick,
        stroke_dasharray=[1, 0.7] if dashed else None, data=_data(data),
    )  # fmt: skip


def circle(
    x: float, y: float, radius: float, fill: str = WHITE, stroke: str = INK, thick: float = LINE,
    dashed: bool = False, data: Mapping[str, object] | None = None,
) -> svg.Circle:  # fmt: skip
    """A circle, as `rect`."""
    return svg.Circle(
        cx=at(x), cy=at(y), r=at(radius), fill=fill, stroke=stroke, stroke_width=thick,
        stroke_dasharray=[1, 0.7] if dashed else None, data=_data(data),
    )  # fmt: skip


def line(start: Point, end: Point, stroke: str = INK, thick: float = LINE, dashed: bool = False) -> svg.Line:
    """A straight line."""
    return svg.Line(
        x1=at(start[0]), y1=at(start[1]), x2=at(end[0]), y2=at(end[1]), stroke=stroke, stroke_width=thick,
        stroke_dasharray=[1, 0.7] if dashed else None,
    )  # fmt: skip


def run(points: Iterable[Point], stroke: str = INK, thick: float = LINE, closed: bool = False) -> svg.Element:
    """A line over several points; a closed one is filled white."""
    corners = [svg.Point(at(x), at(y)) for x, y in points]
    if closed:
        return svg.Polygon(points=corners, fill=WHITE, stroke=stroke, stroke_width=thick, stroke_linejoin="round")
    return svg.Polyline(
        points=corners, fill="none", stroke=stroke, stroke_width=thick, stroke_linejoin="round", stroke_linecap="round"
    )


def curve(path: str, stroke: str = INK, thick: float = LINE) -> svg.Path:
    """A curve in the path language of SVG."""
    return svg.Path(
        d=path,  # type: ignore[arg-type]
        fill="none", stroke=stroke, stroke_width=thick, stroke_linecap="round",
    )  # fmt: skip


def one_sheet(drawings: Sequence[Drawing]) -> str:
    """All drawings under each other in one SVG, each with its own title and text alternative."""
    inner, top = [], 0.0
    for drawing in drawings:
        # Inside another drawing a length with a unit would be taken for so many mm of the sheet on a screen.
        plain = drawing.svg.replace(f'"{WIDTH:g}mm"', f'"{WIDTH:g}"', 1)
        plain = plain.replace(f'"{drawing.height_mm:g}mm"', f'"{drawing.height_mm:g}"', 1)
        inner.append(f'<g transform="translate(0,{at(top):g})">{plain}</g>')
        top += drawing.height_mm + GAP
    size = f'width="{WIDTH:g}mm" height="{at(top):g}mm" viewBox="0 0 {WIDTH:g} {at(top):g}"'
    return f'<svg xmlns="http://www.w3.org/2000/svg" {size}>{"".join(inner)}</svg>\n'
