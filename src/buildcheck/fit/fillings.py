"""What may be in the positions of which nobody knows what is there: so few bikes that every two of them meet in one.

A verdict holds where it holds whatever is there. To try every combination is out of reach, and hardly any fault needs
more than two of these positions to be filled, or empty, at once. So of each two positions both are filled, one of them,
the other and neither, in as few bikes as do it: the rows of a covering array of strength 2 (Kleitman and Spencer,
Families of k-independent sets, Discrete Mathematics 6, 1973), in which each column but for the first row is another
choice of half of the rows. One more bike has them all filled. They are filled with parts without a record.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, islice
from math import comb

from buildcheck.fit.change import apply_change
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.parts import Part
from buildcheck.model.parts.base import UNTOLD
from buildcheck.model.standards import PositionRow, Standards
from buildcheck.model.untold import part_of_kind


@dataclass(frozen=True, slots=True)
class Filling:
    """A bike with some of the positions filled; `filled` gives the position that is not known by the one that is."""

    bike: Bike
    filled: Mapping[str, str]


def fillings(bike: Bike, standards: Standards) -> tuple[Filling, ...]:
    """The bikes that stand for all that this one may be, besides as it is told: with nothing more than is needed."""
    choices = {name: kinds for name in sorted(bike.untold) if (kinds := _kinds(bike, name, standards))}
    found: list[Filling] = []
    for number in range(max(map(len, choices.values()), default=0)):
        # The next kind of each position that may hold several; where only these differ, the others have been tried.
        names = [name for name, kinds in choices.items() if number < len(kinds)]
        for row in _rows(len(names)):
            picked = [(name, choices[name][number]) for name, on in zip(names, row, strict=True) if on]
            found.append(_filled(bike, picked, standards))
    return tuple(found)


def _kinds(bike: Bike, name: str, standards: Standards) -> tuple[str, ...]:
    """What may be there besides what the bike has there now."""
    row, now = standards.position(name), bike.get(name)
    if row is None or (now is not None and now.home != name):
        return ()
    kinds = (kind for kind in row.kinds if now is None or row.many or kind != now.part.kind)
    return tuple(kind for kind in kinds if not _clashes(bike, row, kind))


def _clashes(bike: Bike, row: PositionRow, kind: str) -> bool:
    """Would it fill a position, too, of which somebody said what is there?"""
    spots = [bike.get(name) for name in row.fills.get(kind, ())]
    return any(spot is not None and (spot.part.has_record() or spot.measured) for spot in spots)


def _rows(columns: int) -> Iterator[tuple[bool, ...]]:
    """The rows of the array, but for the first, which has nothing filled; at last one with all."""
    if columns == 0:
        return
    rows = next(rows for rows in range(2, columns + 3) if comb(rows - 1, (rows + 1) // 2) >= columns)
    chosen = list(islice(combinations(range(rows - 1), (rows + 1) // 2), columns))
    for row in range(rows - 1):
        yield tuple(row in column for column in chosen)
    if rows > 2:  # with two rows the second has all filled already
        yield (True,) * columns


def _filled(bike: Bike, picked: Sequence[tuple[str, str]], standards: Standards) -> Filling:
    positions: dict[str, str] = {}
    fit: list[tuple[str, str]] = []
    taken = set(bike.fitted)
    for name, kind in picked:
        row = standards.position(name)
        position = name
        if row is not None and row.many and row.id == name:
            position = next(free for n in range(1, len(taken) + 2) if (free := f"{name}-{n}") not in taken)
        taken.add(position)
        positions[position] = name
        fit.append((f"{UNTOLD}{kind}", position))
    after = apply_change(bike, Change(tuple(fit)), _look_up, standards)
    return Filling(replace(after, layout={}, first={}), positions)


def _look_up(part_id: str) -> tuple[Part, Mapping[str, str]]:
    return part_of_kind(part_id.removeprefix(UNTOLD)), {}
