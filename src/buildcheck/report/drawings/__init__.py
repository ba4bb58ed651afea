"""Drawings of a job as SVG: views of `Pictures` that compute nothing of the trade."""

from __future__ import annotations

from buildcheck.model.pictures import Pictures
from buildcheck.report.drawings.bores import shared_bores
from buildcheck.report.drawings.canvas import Drawing, one_sheet
from buildcheck.report.drawings.labels import LABELS, english
from buildcheck.report.drawings.paths import line_paths
from buildcheck.report.drawings.side import side_view
from buildcheck.report.drawings.stack import stacks
from buildcheck.report.drawings.voice import Name, Say, Voice
from buildcheck.report.drawings.wiring import wiring

__all__ = ["LABELS", "Drawing", "Say", "drawings_of", "english", "one_sheet"]


def plain(position: str) -> str:
    """The name of a position where there are no texts: its id as words."""
    return position.replace("-", " ")


def drawings_of(pictures: Pictures, say: Say = english, name: Name = plain, word: Name = str) -> tuple[Drawing, ...]:
    """The side view, the ways of the lines, shared bores, wiring and stack, in this order, where there are such.

    `say` gives the words of a label of `LABELS` with its placeholders still in it, `name` those of a position,
    `word` those of a vocabulary. Raises KeyError where one of them does.
    """
    voice = Voice(say, name, word)
    before, after = pictures.before, pictures.after
    sides = [side for side in (before, after) if side is not None]
    found = [side_view(pictures.side_view, voice), *line_paths(before, after, voice)]
    if pictures.bores:
        found.append(shared_bores(pictures.bores, voice))
    if any(side.wiring for side in sides):
        found.append(wiring(before, after, voice))
    if any(side.stack is not None for side in sides):
        found.append(stacks(before, after, voice))
    return tuple(found)
