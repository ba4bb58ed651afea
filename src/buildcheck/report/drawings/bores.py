"""Cross-sections of the bores that lines share, with the lines to scale."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import svg

from buildcheck.model.pictures import PackedLine, SharedBore
from buildcheck.report.drawings.canvas import (
    GREY,
    HEAD,
    INK,
    PALE,
    TEXT,
    WHITE,
    WIDTH,
    Drawing,
    circle,
    filled_with,
    rect,
    rows_of,
    sheet,
    words,
)
from buildcheck.report.drawings.voice import Voice

_CELL = (WIDTH - 4) / 2
_ANSWERS = {"yes": "bore-yes", "no": "bore-no", "unknown": "bore-not-known"}


def shared_bores(bores: Sequence[SharedBore], voice: Voice) -> Drawing:
    """All shared bores, two beside each other, on one scale."""
    title = voice.tell("bores-title")
    drawn: list[svg.Element] = [words(2, 4.5, title, HEAD, bold=True)]
    scale, top = scale_of(bores), 9.5
    for start in range(0, len(bores), 2):
        cells = [_cell(bore, voice, scale, 2 + _CELL * k, top) for k, bore in enumerate(bores[start : start + 2])]
        for elements, _ in cells:
            drawn += elements
        top = max(bottom for _, bottom in cells) + 5
    drawn.append(words(2, top, voice.tell("scale", scale=f"{scale:g}"), TEXT, colour=GREY))
    told = " ".join(f"{'; '.join(_told(bore, voice))}." for bore in bores)
    return sheet("bores", title, voice.tell("bores-alt", bores=told), top + 3, drawn)


def scale_of(bores: Sequence[SharedBore]) -> float:
    """Paper mm per mm: 3, for many bores 2, or the next smaller at which each bore has room with its lines."""
    widest = max((_drawn_width(bore) for bore in bores), default=1.0)
    tallest = max((_drawn_height(bore) for bore in bores), default=1.0)
    wanted = (3.0, 2.0, 1.0, 0.5) if len(bores) <= 2 else (2.0, 1.0, 0.5)
    fits = (scale for scale in wanted if scale * widest <= _CELL - 4 and scale * tallest <= 45)
    return next(fits, 0.25)


def _drawn_width(bore: SharedBore) -> float:
    beside = 0.0 if bore.fits == "yes" else math.fsum((_thick(line) or 0) + 1 for line in bore.lines) + 1
    return max(*_sizes(bore), 6.0) + beside


def _drawn_height(bore: SharedBore) -> float:
    return max(min(_sizes(bore)), *(_thick(line) or 0.0 for line in bore.lines), 6.0)


def _sizes(bore: SharedBore) -> tuple[float, float]:
    """Width and height to draw: the smallest possible where the lines pass, else the largest; 0 if unknown."""
    both = (bore.width, bore.height)
    width, height = ((span.low_mm if bore.fits == "yes" else span.high_mm) or 0.0 for span in both)
    return max(width, height), min(width, height)


def _thick(line: PackedLine) -> float | None:
    return line.diameter.high_mm


def _cell(bore: SharedBore, voice: Voice, scale: float, x: float, top: float) -> tuple[list[svg.Element], float]:
    drawn: list[svg.Element] = []
    head, *rest = _told(bore, voice)
    for text, bold in ((head, True), *((text, False) for text in rest)):
        for row in rows_of(text, _CELL - 4):
            drawn.append(words(x, top, row, bold=bold))
            top += 3.6
    wide, tall = (size * scale for size in _sizes(bore))
    known = wide > 0 and tall > 0
    deep = _drawn_height(bore) * scale
    middle = (x + 1 + (wide or 6 * scale) / 2, top + deep / 2)
    drawn += _opening(bore, scale, middle) if known else [_unsized(scale, middle, voice)]
    drawn += _packed(bore, scale, middle, x + 3 + (wide or 6 * scale))
    return drawn, top + deep


def _opening(bore: SharedBore, scale: float, middle: tuple[float, float]) -> list[svg.Element]:
    width, height = _sizes(bore)
    left, top = middle[0] - width * scale / 2, middle[1] - height * scale / 2
    opening = rect(
        left, top, width * scale, height * scale, WHITE, INK, 0.5,
        dashed=bore.shape == "irregular",
        data={"bore": f"{bore.position}.{bore.passage}", "width-mm": f"{width:g}", "height-mm": f"{height:g}"},
    )  # fmt: skip
    opening.rx = opening.ry = height * scale / 2
    return [opening]


def _unsized(scale: float, middle: tuple[float, float], voice: Voice) -> svg.Element:
    """A bore of which nobody knows the size: no outline to scale, only a sign for it."""
    return words(middle[0], middle[1] + 1, "?", 6, "middle")


def _packed(bore: SharedBore, scale: float, middle: tuple[float, float], beside: float) -> Iterator[svg.Element]:
    for index, line in enumerate(bore.lines, 1):
        thick = _thick(line)
        if thick is None:
            yield words(beside + 1, middle[1] + 1, f"{index}?", TEXT)
            beside += 6
            continue
        if line.x_mm is None or line.y_mm is None:
            at = (beside + thick * scale / 2, middle[1])
            beside += (thick + 1) * scale
        else:
            at = (middle[0] + line.x_mm * scale, middle[1] - line.y_mm * scale)
        fill = (filled_with("bores", "hatch"), PALE)[index % 2]
        data = {"line": line.line, "mm": f"{thick:g}"}
        yield circle(*at, thick * scale / 2, fill, INK, 0.25, dashed=line.diameter.exact_mm is None, data=data)
        yield circle(*at, 1.7, WHITE, "none", 0)
        yield words(at[0], at[1] + 0.95, str(index), TEXT, "middle")


def _told(bore: SharedBore, voice: Voice) -> list[str]:
    """The bore, its lines and whether they pass, in words; the name of the bore first."""
    lines = ", ".join(
        f"{index} {voice.position(line.line, line.row)} {voice.size(line.diameter)}"
        for index, line in enumerate(bore.lines, 1)
    )
    answer = [voice.tell(_ANSWERS[bore.fits])]
    if bore.fits != "yes":
        answer.append(voice.tell("bore-beside"))
    elif any(span.exact_mm is None for span in (bore.width, bore.height, *(line.diameter for line in bore.lines))):
        answer.append(voice.tell("bore-extremes"))
    name = f"{voice.position(bore.position, bore.row)} {bore.passage}: {_shape(bore, voice)}"
    if bore.also:
        name += "; " + voice.tell("bore-also", names=", ".join(voice.position(*other) for other in bore.also))
    return [name, lines, "; ".join(answer)]


def _shape(bore: SharedBore, voice: Voice) -> str:
    if bore.shape == "slot":
        width, height = voice.size(bore.width, unit=False), voice.size(bore.height)
        return voice.tell("bore-slot", width=width, height=height)
    told = voice.tell(f"bore-{bore.shape}", size=voice.size(bore.width))
    if bore.shape == "irregular" and not bore.area_mm2.unknown:
        told += ", " + voice.tell("bore-area", area=voice.size(bore.area_mm2, unit=False))
    return told
