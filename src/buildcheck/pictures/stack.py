"""The stack on the steerer as it is drawn: what stands on the head tube, and where the steerer ends."""

from __future__ import annotations

from math import inf

from buildcheck.fit.facts import Amount
from buildcheck.fit.support import spacers_above_stem, spacers_below_stem, steerer_stack
from buildcheck.fit.view import View
from buildcheck.model.pictures import Stack, StackItem
from buildcheck.pictures.spans import span_of

_NOBODY_KNOWS = Amount(0.0, inf)


def stack_of(view: View) -> Stack | None:
    """The stack on the steerer, or None without a fork. Heights in mm.

    It is summed up as the rules sum it: lower bearing, head tube and upper bearing, cover, spacers and clamp of the
    stem; a quill stem and what is on it is no part of it.
    """
    if "fork" not in view.bike:
        return None
    threaded = view.word("fork", "threaded").value if view.has("fork", "threaded") else None
    standing = [name for name in steerer_stack(view) if not (threaded and _of_quill(view, name))]
    heights = [(name, _height(view, name)) for name in standing]
    base = _size(view, "headset-lower", "stack_mm") + _size(view, "frame", "head_tube_length_mm")
    steerer = _size(view, "fork", "steerer_length_mm")
    top = sum((height for _, height in heights), base)
    return Stack(
        base=span_of(base),
        items=tuple(
            StackItem(name, view.row(name).id, view.bike[name].part.name, span_of(height)) for name, height in heights
        ),
        steerer=span_of(steerer),
        gap=span_of(top - steerer, None),
        threaded=threaded,
        spacers_below=span_of(_total(view, spacers_below_stem(view))),
        spacers_above=span_of(_total(view, spacers_above_stem(view))),
    )


def _of_quill(view: View, position: str) -> bool:
    return position == "stem" or position in spacers_above_stem(view)


def _height(view: View, position: str) -> Amount:
    spot = "height_mm" if view.has(position, "height_mm") else "stack_mm"
    return _size(view, position, spot)


def _total(view: View, spacers: list[str]) -> Amount:
    return sum((_size(view, name, "height_mm") for name in spacers), Amount(0.0, 0.0))


def _size(view: View, position: str, attribute: str) -> Amount:
    return view.amount(position, attribute) if view.has(position, attribute) else _NOBODY_KNOWS
