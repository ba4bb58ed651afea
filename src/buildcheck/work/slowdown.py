"""What the conditions noted on a bike do to its bench time: work at a corroded part takes longer, and varies more."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import NamedTuple

from buildcheck.model.bikes import Bike
from buildcheck.model.sentences import At, Said, Value, Word, say
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Slowdown
from buildcheck.trade.pert import Times

_WHOLE = "frame"


class SlowNote(NamedTuple):
    """A condition that makes the job longer. `position` is the frame for what counts for the whole bike."""

    position: str
    condition: str
    what: str
    low_factor: float
    high_factor: float
    of_the_whole_bike: bool
    source: str

    @property
    def text(self) -> Said:
        """In words."""
        told: dict[str, Value] = {
            "position": At(self.position), "condition": Word(self.what), "low": self.low_factor,
            "high": self.high_factor, "source": Word(self.source),
        }  # fmt: skip
        if self.of_the_whole_bike:
            text = "{position}: {condition}; all work is reckoned with {low} to {high} times as long ({source})"
            return say(text, **told)
        return say(
            "{position}: {condition}; work there is reckoned with {low} to {high} times as long ({source})", **told
        )


@dataclass(frozen=True, slots=True)
class Slowness:
    """What slows the work on a bike, as it stands before the change: its parts are the ones that resist."""

    bike: Bike
    standards: Standards

    def slowed(self, times: Times, operation: str, position: str | None) -> Times:
        """Low, likely and high minutes of an operation at a position, or of the whole job at None.

        Of several conditions the greatest factor counts for each figure, so the three keep their order and no condition
        ever makes work shorter.
        """
        rows = [row for _, row in self._rows(operation, position)]
        factors = [(row.low_factor, row.likely_factor, row.high_factor) for row in rows]
        low, likely, high = (max(column) for column in zip((1.0, 1.0, 1.0), *factors, strict=True))
        return times[0] * low, times[1] * likely, times[2] * high

    def notes(self, operations: Iterable[tuple[str, str | None]]) -> tuple[SlowNote, ...]:
        """What slows these operations, each given with its position: every reason once, in the order of the bike."""
        found = {(at, row.id): row for name, position in operations for at, row in self._rows(name, position)}
        order = {name: place for place, name in enumerate(self.bike.fitted)}
        return tuple(self._note(*key, found[key]) for key in sorted(found, key=lambda key: (order[key[0]], key[1])))

    def _rows(self, operation: str, position: str | None) -> Iterator[tuple[str, Slowdown]]:
        """The conditions that count, each with the position of the part that it was noted on."""
        for at in dict.fromkeys((_WHOLE, position)):
            spot = self.bike.get(at)
            for word in spot.condition if spot is not None else ():
                row = self.standards.slowdowns.get(word)
                if spot and row and operation not in row.counted_by and (at == position or row.of_the_whole_bike):
                    yield spot.home, row

    def _note(self, at: str, word: str, row: Slowdown) -> SlowNote:
        terms = self.standards.vocabularies["condition"].terms
        what = next(term.what for term in terms if term.id == word)
        whole = at == _WHOLE and row.of_the_whole_bike
        return SlowNote(at, word, what, row.low_factor, row.high_factor, whole, row.source)
