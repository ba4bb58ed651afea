"""Parts like another one but with other ways for lines: with every way of their domain, or with any lengths."""

from __future__ import annotations

from collections.abc import Collection
from math import inf
from typing import NamedTuple

from buildcheck.candidates.features import Laid, PartCandidate, laid
from buildcheck.model.parts import Part, Passage
from buildcheck.model.quantities import Interval


class OfLengths(NamedTuple):
    """A part whose ways may have any of these lengths, and the feature that says so."""

    name: Laid
    part: Part


def with_every_way(part: Part, domain: Collection[PartCandidate]) -> Part:
    """The part with all the ways that any of its kind in the domain has."""
    kin = (candidate.part for candidate in domain if candidate.part is not None)
    ways = [passage for other in kin if other.kind == part.kind for passage in other.passages or ()]
    # Of ways that differ in length only the shortest is enough: a longer one makes no line reach.
    unlike = {_but_for_length(way): way for way in sorted(ways, key=_shortest_last)}.values()
    named = tuple(way.model_copy(update={"id": f"{way.id}-{number}"}) for number, way in enumerate(unlike))
    return part.model_copy(update={"passages": named})


def other_lengths(part: Part, domain: Collection[PartCandidate]) -> list[OfLengths]:
    """The part with ways of any length in the domain, with any shorter ones, with any longer ones."""
    own = laid(part)
    if own is None or not own.limits:
        return []
    others = (laid(candidate.part) for candidate in domain if candidate.part is not None)
    alike = [each.limits for each in others if each is not None and each.ways == own.ways]
    least = tuple(min(low for low, _ in way) for way in zip(*alike, strict=True))
    most = tuple(max(high for _, high in way) for way in zip(*alike, strict=True))
    lows, highs = zip(*own.limits, strict=True)
    if (least, most) == (lows, highs):
        return []
    tries = [(least, most), (least, highs), (lows, most)]
    return [_of_lengths(part, own.ways, tuple(zip(*each, strict=True))) for each in dict.fromkeys(tries)]


def _of_lengths(part: Part, ways: str, limits: tuple[tuple[float, float], ...]) -> OfLengths:
    passages = tuple(
        way.model_copy(update={"length_mm": Interval(low, high)})
        for way, (low, high) in zip(part.passages or (), limits, strict=True)
    )
    return OfLengths(Laid(ways, limits), part.model_copy(update={"passages": passages}))


def _shortest_last(way: Passage) -> float:
    """An unknown length may be none at all."""
    return inf if way.length_mm is None else -way.length_mm.low


def _but_for_length(way: Passage) -> str:
    return repr(way.model_copy(update={"id": "", "length_mm": None}))
