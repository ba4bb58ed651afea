"""What to measure first: the missing facts that settle most of what is undecided per minute.

The search knows no rule. It lets each fact have one value after the other and vets again: that tells what the fact
settles by itself. A fact that comes up only then belongs to the list as well. A fact without which the verdict is
decided, whatever the others turn out to be, does not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any, NamedTuple, Protocol

from buildcheck.fit.view import View
from buildcheck.measure.values import how_to_measure, possible_values, thinned
from buildcheck.model.findings import Evidence, Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from buildcheck.model.report import MeasureFirst
from buildcheck.model.slots import LISTS, name_to_tell

Slot = tuple[str, str]
Answers = Mapping[Slot, Any]

# How much is tried before the list is given as it is: each vetting takes some milliseconds.
_MOST_VETTINGS = 60
_VETTINGS_FOR_SHARES = 24
_MOST_VALUES = 12
_HALVINGS = 12


class FindingsOracle(Protocol):
    """What the search asks: what is found once facts are known, and which parts there are."""

    def vet(self, answers: Answers, names: Collection[str] | None) -> Sequence[Finding]:
        """The findings that count for the verdict; only those of some names, which is cheaper, or all (None)."""

    def parts_like(self, position: str) -> Iterable[Part]:
        """The catalogue's parts for a position."""


class _Outcome(NamedTuple):
    blocked: bool
    unknown: tuple[Finding, ...]

    @property
    def open(self) -> tuple[Finding, ...]:
        """What facts could decide; a formula that is too coarse leaves a finding unknown though every fact is known."""
        return tuple(finding for finding in self.unknown if finding.undecided)

    @property
    def undecided(self) -> bool:
        """Could facts decide the verdict?"""
        return bool(self.open) and not self.blocked


class _OutOfTimeError(Exception):
    """Enough was tried."""


class _Asked:
    """One fact of the list: the findings that it decides, its possible values, what it settles by itself."""

    def __init__(self, values: list[Any]) -> None:
        self.values = values
        self.names: set[str] = set()
        self.settled: list[int] = []  # for each value, of the findings that are undecided now
        self.free: list[Any] = values  # with these nothing blocks at once


def measure_first(view: View, findings: Iterable[Finding], oracle: FindingsOracle) -> tuple[MeasureFirst, ...]:
    """What to measure where the findings that count leave the verdict undecided; nothing where it is decided."""
    now = _outcome(findings)
    return _Search(view, oracle, now).rows() if now.undecided else ()


def _outcome(findings: Iterable[Finding]) -> _Outcome:
    found = tuple(findings)
    return _Outcome(
        any(finding.level is Level.BLOCKS for finding in found),
        tuple(finding for finding in found if finding.level is Level.UNKNOWN),
    )


def _rank(row: MeasureFirst) -> tuple[float, float, str, str]:
    """What settles most per minute comes first, then what has a part in most findings."""
    return -row.worth, -len(row.decides) / row.minutes, row.position, row.attribute


class _Search:
    def __init__(self, view: View, oracle: FindingsOracle, now: _Outcome) -> None:
        self.view, self.oracle, self.now = view, oracle, now
        self.asked: dict[Slot, _Asked] = {}
        self.tried: dict[tuple[bool, tuple[tuple[Slot, str], ...]], _Outcome] = {(False, ()): now}
        self.names = {finding.name for finding in now.unknown}

    def rows(self) -> tuple[MeasureFirst, ...]:
        now = self.now
        self._ask(now, {})
        most = max(2, min(_MOST_VALUES, _VETTINGS_FOR_SHARES // len(self.asked)))
        for slot in self._growing():
            self._weigh(slot, most)
        rows = sorted((self._row(slot, len(now.unknown)) for slot in self.asked), key=_rank)
        needed = self._needed([(row.position, row.attribute) for row in rows])
        return tuple(row for row in rows if (row.position, row.attribute) in needed)

    def _row(self, slot: Slot, undecided: int) -> MeasureFirst:
        asked, how = self.asked[slot], how_to_measure(self.view, *slot)
        outcomes = len(asked.settled) * undecided
        return MeasureFirst(*slot, how.how, how.minutes, tuple(sorted(asked.names)), sum(asked.settled), outcomes)

    def _growing(self) -> Iterable[Slot]:
        """The facts on the list, those that come up on the way as well."""
        done = 0
        while done < len(self.asked):
            yield list(self.asked)[done]
            done += 1

    def _ask(self, outcome: _Outcome, answers: Answers) -> None:
        """Put every fact on the list that leaves a finding open. What a told list leaves open is not asked again."""
        for finding in outcome.open:
            for item in finding.undecided:
                spot = self.view.bike.get(item.position)
                slot = item.position, item.attribute if spot is None else name_to_tell(spot.part, item.attribute)
                table = slot[1].partition(".")[0]
                if slot in answers or ((item.position, table) in answers and table in LISTS):
                    continue
                if slot not in self.asked:
                    self.asked[slot] = _Asked(self._values(slot, item))
                if not answers or not self.asked[slot].settled:
                    self.asked[slot].names.add(finding.name)

    def _values(self, slot: Slot, item: Evidence) -> list[Any]:
        spot = self.view.bike.get(slot[0])
        if spot is None:
            return []
        return possible_values(self.view.standards, spot.part, slot[1], item, self.oracle.parts_like(slot[0]))

    def _vet(self, answers: Answers, whole: bool = False) -> _Outcome:
        """The outcome with these facts. A fact can decide other findings than those that are open only through a list
        of ways or places."""
        key = whole, tuple(sorted((slot, repr(value)) for slot, value in answers.items()))
        if key not in self.tried:
            if len(self.tried) > _MOST_VETTINGS:
                raise _OutOfTimeError
            whole = whole or any(attribute.partition(".")[0] in LISTS for _, attribute in answers)
            self.tried[key] = _outcome(self.oracle.vet(answers, None if whole else self.names))
        return self.tried[key]

    def _weigh(self, slot: Slot, most: int) -> None:
        """What the fact settles by itself, for each value that it can have."""
        asked, unknown = self.asked[slot], len(self.now.unknown)
        free = []
        try:
            for value in thinned(asked.values, most):
                outcome = self._vet({slot: value})
                asked.settled.append(unknown if outcome.blocked else max(0, unknown - len(outcome.unknown)))
                if not outcome.blocked:
                    free.append(value)
                    self._ask(outcome, {slot: value})
        except _OutOfTimeError:
            return
        best = dict(zip(map(repr, thinned(asked.values, most)), asked.settled, strict=True))
        asked.free = sorted(free, key=lambda value: -best[repr(value)])

    def _needed(self, ranked: Sequence[Slot]) -> Collection[Slot]:
        """The facts that matter beside the others, the last of the list looked at first; in doubt a fact stays."""
        needed = set(ranked)
        try:
            filled = self._filling()
            if filled is None:
                return needed
            for slot in reversed(ranked):
                without = {other: value for other, value in filled.items() if other != slot}
                if not self._matters(without):
                    filled = without
                    needed.discard(slot)
        except _OutOfTimeError:
            pass
        return needed

    def _filling(self) -> dict[Slot, Any] | None:
        """A value for every fact, with which nothing blocks; None if none is found."""
        filled: dict[Slot, Any] = {}
        for slot in self._growing():
            like = set(map(repr, filled.values()))
            for value in sorted(self.asked[slot].free, key=lambda value: repr(value) not in like):
                outcome = self._vet({**filled, slot: value})
                if not outcome.blocked:
                    filled[slot] = value
                    self._ask(outcome, filled)
                    break
            else:
                return None
        return None if self._vet(filled, whole=True).undecided else filled

    def _matters(self, without: Mapping[Slot, Any]) -> bool:
        """Is the verdict undecided for lack of the fact that is missing here, with some values of the others?"""
        return self._vet(without).undecided or any(self._matters_along(without, other) for other in without)

    def _matters_along(self, without: Mapping[Slot, Any], other: Slot) -> bool:
        """The same with other values of one other fact."""
        for value in thinned(self.asked[other].values, _MOST_VALUES):
            outcome = self._vet({**without, other: value})
            if outcome.undecided or (outcome.blocked and self._between(without, other, value)):
                return True
        return False

    def _between(self, without: Mapping[Slot, Any], other: Slot, value: Any) -> bool:
        """With a size somewhere between one that fits and one that blocks?"""
        fits, blocks = without[other], value
        if not isinstance(fits, Interval) or not isinstance(blocks, Interval):
            return False
        good, bad = fits.low, blocks.low
        for _ in range(_HALVINGS):
            middle = (good + bad) / 2
            outcome = self._vet({**without, other: Interval(middle, middle)})
            if outcome.undecided:
                return True
            good, bad = (good, middle) if outcome.blocked else (middle, bad)
        return False
