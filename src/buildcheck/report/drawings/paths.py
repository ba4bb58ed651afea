"""The way of each line as a strip to scale: one piece for each passage, and the length of the line over it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import ceil, fsum
from typing import NamedTuple

import svg

from buildcheck.model.pictures import LinePath, Side, Span, Stretch
from buildcheck.report.drawings.canvas import (
    GREY,
    HEAD,
    INK,
    TEXT,
    WHITE,
    WIDTH,
    Drawing,
    filled_with,
    line,
    rect,
    rows_of,
    sheet,
    titled,
    wide,
    words,
)
from buildcheck.report.drawings.signs import sign
from buildcheck.report.drawings.voice import Voice

LEFT, ROOM, TALL = 4.0, 162.0, 3.8
_PAGE = 235.0  # how far down a drawing goes that still has room on a page of A4 with its caption
_UNSURE = 7.0  # how wide a piece is drawn of which nobody knows how long it is
_FILLS = {"closed": "hatch", "none": "cross"}


class Pen(NamedTuple):
    """What each strip is drawn with: words, paper mm per mm, and the name of the drawing that has the hatchings."""

    voice: Voice
    scale: float
    name: str


def line_paths(before: Side | None, after: Side, voice: Voice) -> tuple[Drawing, ...]:
    """The ways of all lines before and after the change, on one scale; more than one drawing if a page is too short."""
    sides = [side.lines for side in (before, after) if side is not None]
    pen = Pen(voice, scale_of([path for lines in sides for path in lines]), "paths")
    names = sorted({path.line for lines in sides for path in lines})
    found: list[Drawing] = []
    while names:
        pen = pen._replace(name=f"paths-{len(found) + 1}" if found else "paths")
        drawing, names = _page(names, sides, pen)
        found.append(drawing)
    return tuple(found)


def _page(names: Sequence[str], sides: Sequence[Sequence[LinePath]], pen: Pen) -> tuple[Drawing, list[str]]:
    """A drawing of as many lines as a page has room for, but at least one, and the lines that are left."""
    title = pen.voice.tell("paths-title")
    drawn, top = _key(pen, 10.0)
    told: list[str] = []
    left = list(names)
    while left:
        pair = [next((path for path in lines if path.line == left[0]), None) for lines in sides]
        more, bottom = _line(pair, pen, top + 6.2)
        if told and bottom > _PAGE:
            break
        drawn, top = [*drawn, *more], bottom
        told += _told(pair, pen.voice)
        left.pop(0)
    drawn.append(words(2, top + 5.5, pen.voice.tell("scale-down", scale=f"{1 / pen.scale:g}"), TEXT, colour=GREY))
    alt = pen.voice.tell("paths-alt", lines=" ".join(told))
    whole = [words(2, 4.5, title, HEAD, bold=True), *drawn]
    return sheet(pen.name, title, alt, top + 7.5, whole), left


def scale_of(paths: Sequence[LinePath]) -> float:
    """Paper mm per mm: the largest of 1 to 5, 10, 15 … times smaller at which the longest line has room."""
    longest = max((_long(path) for path in paths), default=1.0)
    unsure = max((sum(_open_ended(stretch) for stretch in path.stretches) for path in paths), default=0)
    shrink = longest / (ROOM - unsure * _UNSURE)
    return 1 / max(1, ceil(shrink) if shrink <= 5 else 5 * ceil(shrink / 5))


def _long(path: LinePath) -> float:
    way = fsum((stretch.length.high_mm or stretch.length.low_mm or 0.0) for stretch in path.stretches)
    return max(way, path.length.high_mm or path.length.low_mm or 0.0, 1.0)


def _open_ended(stretch: Stretch) -> bool:
    return stretch.length.high_mm is None


def _line(pair: Sequence[LinePath | None], pen: Pen, top: float) -> tuple[list[svg.Element], float]:
    last = pair[-1]
    known = last or next(path for path in pair if path is not None)
    name = pen.voice.position(known.line, known.row)
    drawn: list[svg.Element] = [*sign(4.5, top - 1, last.level)] if last is not None else []
    drawn.append(titled(9, top, name, known.part))
    for when, path in _times(pair):
        more, top = _strip(path, pen.voice.tell(when), pen, top + 3.4)
        drawn += more
    return drawn, top


def _times(pair: Sequence[LinePath | None]) -> Iterator[tuple[str, LinePath | None]]:
    """The ways to draw, each with when it is; one that stays as it is only once."""
    if len(pair) == 1:
        yield "now", pair[0]
    elif pair[0] is not None and pair[1] is not None and _same(pair[0], pair[1]):
        yield "both", pair[1]
    else:
        yield "before", pair[0]
        yield "after", pair[1]


def _same(one: LinePath, other: LinePath) -> bool:
    return (one.stretches, one.length, one.part, one.placed) == (
        other.stretches,
        other.length,
        other.part,
        other.placed,
    )


def _strip(path: LinePath | None, when: str, pen: Pen, top: float) -> tuple[list[svg.Element], float]:
    """A strip of pieces under the line's own length, and under it the sum in words."""
    drawn: list[svg.Element] = []
    if path is not None and path.stretches:
        drawn += [*_own(path, pen.scale, top), *_pieces(path, pen, top + 0.8)]
        top += TALL + 4.2
    for row in rows_of(f"{when}: {_sum(path, pen.voice)}", ROOM):
        drawn.append(words(LEFT, top, row))
        top += 3.4
    return drawn, top - 3.4 + 0.6


def _own(path: LinePath, scale: float, top: float) -> list[svg.Element]:
    """The length of the line itself, as a rule over the strip; dashed where it may be longer."""
    low, high = path.length.low_mm, path.length.high_mm
    sure = low or 0.0
    end = LEFT + sure * scale
    drawn: list[svg.Element] = []
    if sure:
        rule = line((LEFT, top), (end, top), INK, 0.5)
        rule.data = {"line": path.line, "mm": f"{sure:g}"}
        drawn.append(rule)
    far = end if path.length.exact_mm is not None else LEFT + high * scale if high is not None else end + _UNSURE
    if far > end:
        drawn.append(line((end, top), (far, top), INK, 0.5, dashed=True))
    end_of_it = words(far + 0.6, top + 0.3, "?") if high is None else line((far, top - 1), (far, top + 1), INK, 0.5)
    return [*drawn, end_of_it]


def _short(length: Span, voice: Voice) -> str:
    """A length for the strip itself, with a + where it is the least, and ? for an unknown one."""
    if length.low_mm is not None and length.high_mm is None:
        return voice.number(length.low_mm) + "+"
    return "?" if length.unknown else voice.size(length, unit=False)


def _pieces(path: LinePath, pen: Pen, top: float) -> Iterator[svg.Element]:
    x, scale = LEFT, pen.scale
    for stretch in path.stretches:
        low, high = stretch.length.low_mm or 0.0, stretch.length.high_mm
        fill = filled_with(pen.name, _FILLS[stretch.course]) if stretch.course in _FILLS else WHITE
        data = {"stretch": f"{stretch.position or ''} {stretch.passage}".strip(), "mm": f"{low:g}"}
        size = _short(stretch.length, pen.voice)
        start, far = x, x + low * scale
        if low:
            yield rect(x, top, low * scale, TALL, fill, data=data, dashed=stretch.course == "unknown")
        if high != low:
            more = _UNSURE if high is None else (high - low) * scale
            yield rect(far, top, more, TALL, fill if stretch.course in _FILLS else WHITE, dashed=True)
            far += more
        room = wide(size, TEXT) + 0.8
        if far - start > room:
            if stretch.course in _FILLS:
                yield rect((start + far - room) / 2, top + 0.5, room, TALL - 1, WHITE, "none", 0)
            yield words((start + far) / 2, top + 2.85, size, TEXT, "middle")
        x = far


def _sum(path: LinePath | None, voice: Voice) -> str:
    """`270 handlebar under-tape-left + 50 stem front; way 320 mm, line 350 mm`."""
    if path is None:
        return voice.tell("paths-gone")
    if not path.stretches:
        return f"{voice.tell('paths-no-way')}; {voice.tell('paths-has', length=voice.size(path.length))}"
    terms = " + ".join(_term(stretch, voice) for stretch in path.stretches)
    sums = voice.tell("paths-reaches", needed=voice.size(path.needed), length=voice.size(path.length))
    placed = [] if path.placed else [voice.tell("paths-not-placed")]
    return "; ".join([terms, sums, *placed])


def _term(stretch: Stretch, voice: Voice) -> str:
    if stretch.position is None:
        name = voice.tell("paths-slack")
    else:
        name = f"{voice.position(stretch.position, stretch.row)} {stretch.passage}".strip()
    gap = f" ({voice.tell('paths-none')})" if stretch.course == "none" else ""
    return voice.tell("paths-term", size=voice.size(stretch.length, unit=False), name=f"{name}{gap}")


def _told(pair: Sequence[LinePath | None], voice: Voice) -> Iterator[str]:
    known = next(path for path in reversed(pair) if path is not None)
    for when, path in _times(pair):
        name = voice.position(known.line, known.row)
        yield voice.tell("paths-line", line=name, when=voice.tell(when), sum=_sum(path, voice))


def _key(pen: Pen, top: float) -> tuple[list[svg.Element], float]:
    """What the fills stand for, in as many rows as it takes."""
    fills = {"open": WHITE, "closed": filled_with(pen.name, "hatch"), "none": filled_with(pen.name, "cross")}
    x, drawn = LEFT, list[svg.Element]()
    for name in ("open", "closed", "none", "unsure", "own"):
        text = pen.voice.tell(f"paths-{name}")
        if x + 8 + wide(text) > WIDTH:
            x, top = LEFT, top + 4.6
        if name == "own":
            drawn.append(line((x, top - 1), (x + 6, top - 1), INK, 0.5))
        else:
            drawn.append(rect(x, top - 2.6, 6, 3.2, fills.get(name, WHITE), dashed=name == "unsure"))
        drawn.append(words(x + 7.2, top, text))
        x += 11 + wide(text)
    return drawn, top
