"""The stack on the steerer to scale, before and after: what stands on the head tube and where the steerer ends."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence

import svg

from buildcheck.model.pictures import Side, Span, Stack, StackItem
from buildcheck.report.drawings.canvas import (
    GREY,
    HEAD,
    INK,
    PALE,
    TEXT,
    WHITE,
    WIDTH,
    Drawing,
    filled_with,
    line,
    rect,
    rows_of,
    run,
    sheet,
    words,
)
from buildcheck.report.drawings.edges import spread
from buildcheck.report.drawings.voice import Voice

_STUB, _UNSURE, _APART = 10.0, 8.0, 3.6
_ROOM = 120.0
# Half widths on paper; only heights are to scale.
_HALF = {"headset-upper": 9.0, "headset-cover": 8.5, "stem": 9.0}


def stacks(before: Side | None, after: Side, voice: Voice) -> Drawing:
    """The stack before the change and after it, beside each other on one scale."""
    title = voice.tell("stack-title")
    sides = [("before", before), ("after", after)] if before is not None else [("now", after)]
    found = [(voice.tell(when), None if side is None else side.stack) for when, side in sides]
    known = [stack for _, stack in found if stack is not None]
    scale = scale_of(known)
    tall = max((_tall(stack, scale) for stack in known), default=0.0)
    ground = 12 + tall
    drawn: list[svg.Element] = [words(2, 4.5, title, HEAD, bold=True)]
    width, bottom, told = WIDTH / 2, ground, []
    for index, (when, stack) in enumerate(found):
        left = 2 + index * width
        drawn.append(words(left, 9.5, when, TEXT + 0.2, bold=True))
        more, end = _panel(stack, voice, scale, left, ground)
        drawn += more
        bottom = max(bottom, end)
        told.append(f"{when}: {'; '.join([*_items(stack, voice), *_notes(stack, voice)])}.")
    name, shown = ("scale", scale) if scale >= 1 else ("scale-down", 1 / scale)
    notes = f"{voice.tell(name, scale=f'{shown:g}')}; {voice.tell('stack-dashed')}"
    drawn.append(words(2, bottom + 3, notes, TEXT, colour=GREY))
    return sheet("stack", title, voice.tell("stack-alt", stacks=" ".join(told)), bottom + 5.5, drawn)


def scale_of(found: Sequence[Stack]) -> float:
    """Paper mm per mm: 1 where the tallest stack has room, else the next smaller of a half, a fifth, a tenth."""
    return next((scale for scale in (1.0, 0.5, 0.2) if all(_tall(stack, scale) <= _ROOM for stack in found)), 0.1)


def _tall(stack: Stack, scale: float) -> float:
    """How high the drawing of a stack is over the head tube, with the steerer where that stands proud."""
    items = math.fsum(_drawn_height(item.height, scale) for item in stack.items)
    proud = max(0.0, -(stack.gap.exact_mm or 0.0)) * scale
    return items + proud + 3


def _drawn_height(height: Span, scale: float) -> float:
    return (height.low_mm or 0.0) * scale + _extra(height, scale)


def _extra(height: Span, scale: float) -> float:
    """What is drawn dashed: how much higher it may be, or a piece that stands for an unknown height."""
    if height.high_mm is None:
        return _UNSURE
    return (height.high_mm - (height.low_mm or 0.0)) * scale


def _panel(
    stack: Stack | None, voice: Voice, scale: float, left: float, ground: float
) -> tuple[list[svg.Element], float]:
    if stack is None:
        return [words(left, 15, voice.tell("stack-none"))], 16
    axis = left + 12
    drawn: list[svg.Element] = [*_head_tube(axis, ground)]
    levels: list[tuple[float, str]] = []
    y = ground
    for item in stack.items:
        tall = _drawn_height(item.height, scale)
        drawn += _item(item, axis, y, scale)
        levels.append((y - tall / 2, _named(item, voice)))
        y -= tall
    drawn += _steerer(stack, scale, axis, y)
    drawn += _beside(levels, axis, ground)
    bottom = ground + _STUB + 5
    for note in _notes(stack, voice):
        for row in rows_of(note, WIDTH / 2 - 6):
            drawn.append(words(left, bottom, row))
            bottom += 3.6
    return drawn, bottom


def _head_tube(axis: float, ground: float) -> list[svg.Element]:
    """The upper end of the head tube, broken off below."""
    left, right, foot = axis - 8, axis + 8, ground + _STUB
    zigzag = [(left + 2 * k, foot + (k % 2) * 1.2 - 0.6) for k in range(9)]
    return [
        run([(left, foot), (left, ground), (right, ground), (right, foot)], GREY, 0.5),
        run(zigzag, GREY, 0.3),
    ]  # fmt: skip


def _item(item: StackItem, axis: float, y: float, scale: float) -> Iterator[svg.Element]:
    half = _HALF.get(item.row, 7.0)
    sure, extra = (item.height.low_mm or 0.0) * scale, _extra(item.height, scale)
    fill = {"spacer": filled_with("stack", "hatch"), "stem": PALE}.get(item.row, WHITE)
    if sure:
        data = {"position": item.position, "mm": f"{item.height.low_mm:g}"}
        yield rect(axis - half, y - sure, 2 * half, sure, fill, INK, 0.3, data=data)
    if extra:
        yield rect(axis - half, y - sure - extra, 2 * half, extra, WHITE, INK, 0.3, dashed=True)
        if item.height.high_mm is None:
            yield words(axis + half - 1, y - sure - extra / 2 + 1, "?", TEXT, "end")


def _steerer(stack: Stack, scale: float, axis: float, top: float) -> list[svg.Element]:
    """The tube inside the stack, up to where it ends under the top of the stack; open where that is not known."""
    gap = stack.gap.exact_mm
    foot = top + math.fsum(_drawn_height(item.height, scale) for item in stack.items) + _STUB - 1
    whole = all(item.height.exact_mm is not None for item in stack.items)
    sides = [axis - 4.0, axis + 4.0]
    if gap is None or not whole or stack.threaded is not False:
        return [line((x, foot), (x, foot - _STUB), GREY, 0.4, dashed=True) for x in sides]
    end = top + gap * scale
    tube = [line((x, foot), (x, end), GREY, 0.4, dashed=True) for x in sides]
    cut = line((axis - 4.6, end), (axis + 4.6, end), INK, 0.7)
    cut.data = {"steerer-gap-mm": f"{gap:g}"}
    return [*tube, cut]


def _beside(levels: Sequence[tuple[float, str]], axis: float, ground: float) -> Iterator[svg.Element]:
    """The names beside the stack, each at its height or as near to it as the others let it."""
    rising = sorted(levels)
    places = spread([y for y, _ in rising], _APART, 12, ground)
    for place, (y, text) in zip(places, rising, strict=True):
        yield line((axis + 9.4, y), (axis + 13, place), GREY, 0.15)
        yield words(axis + 13.6, place + 0.95, text)


def _named(item: StackItem, voice: Voice) -> str:
    name = voice.position(item.position, item.row)
    return voice.tell("stack-item", item=name, size=voice.size(item.height))


def _items(stack: Stack | None, voice: Voice) -> list[str]:
    return [voice.tell("stack-none")] if stack is None else [_named(item, voice) for item in stack.items]


def _notes(stack: Stack | None, voice: Voice) -> Iterator[str]:
    if stack is None:
        return
    yield voice.tell("stack-base", size=voice.size(stack.base))
    yield voice.tell("stack-steerer", size=voice.size(stack.steerer))
    if stack.threaded:
        yield voice.tell("stack-quill")
        return
    if stack.threaded is None:
        yield voice.tell("stack-threaded-unknown")
    yield _gap(stack.gap, voice)
    below, above = voice.size(stack.spacers_below), voice.size(stack.spacers_above)
    yield voice.tell("stack-spacers", below=below, above=above)


def _gap(gap: Span, voice: Voice) -> str:
    exact = gap.exact_mm
    if gap.unknown:
        return voice.tell("stack-gap-unknown")
    if exact is None:
        return voice.tell("stack-gap-range", size=voice.size(gap))
    return voice.tell("stack-below" if exact >= 0 else "stack-above", size=voice.size(Span(abs(exact), abs(exact))))
