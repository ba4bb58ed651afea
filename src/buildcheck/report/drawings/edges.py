"""Numbers round a picture: each as near as possible to its point, none over another, lines that do not cross."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil


def spread(wanted: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places along an edge in the same order, `apart` from each other and as near as can be to those wanted.

    `wanted` rises. Places that would collide are pushed apart to both sides of their middle (pooling of adjacent
    violators, the least squares of isotonic regression). Where the edge is too short they stand closer together.
    """
    if not wanted:
        return []
    apart = min(apart, (high - low) / max(1, len(wanted) - 1))
    blocks: list[tuple[float, int]] = []  # of things that touch: where the first stands, and how many
    for index, place in enumerate(wanted):
        blocks.append((place - index * apart, 1))
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (first, many), (second, more) = blocks[-2:]
            blocks[-2:] = [((first * many + second * more) / (many + more), many + more)]
    last = high - low - (len(wanted) - 1) * apart
    firsts = [min(max(first, low), low + last) for first, many in blocks for _ in range(many)]
    return [first + index * apart for index, first in enumerate(firsts)]


def ranks(count: int, apart: float, length: float) -> int:
    """How many rows an edge of this length needs for so many things."""
    return max(1, ceil((count - 1) * apart / length)) if length > 0 else 1
