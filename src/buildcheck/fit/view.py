"""A bike as rules see it: facts by position and attribute, with what the fitted parts let us infer."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from math import inf
from typing import Any, TypeVar

from buildcheck.fit import tape
from buildcheck.fit.facts import Amount, Fact, amount_of
from buildcheck.fit.reading import attributes_of, read_fact, told_by_itself
from buildcheck.fit.tape import Tape
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.levels import Origin
from buildcheck.model.sentences import At, PartAt
from buildcheck.model.standards import PositionRow, Standards, Term

T = TypeVar("T")
Inferred = Mapping[tuple[str, str], Fact]


class Memo:
    """Answers that depend on nothing but parts, kept while many changes to one bike are tried.

    Keys name parts by their tokens, other things by `Same`. When there are too many, all go.
    """

    # The search for remedies on a bundled bike leaves some 3,000; many more are about bikes of before.
    _MOST = 60_000

    def __init__(self) -> None:
        self._kept: dict[Hashable, Any] = {}

    def get(self, key: Hashable) -> object:
        """The answer for this key if it was made before, else None."""
        return self._kept.get(key)

    def recall(self, key: Hashable, make: Callable[[], T]) -> T:
        """The answer for this key, made once. It is never None."""
        found: T | None = self._kept.get(key)
        if found is None:
            found = make()
            if len(self._kept) >= self._MOST:
                self._kept.clear()
            self._kept[key] = found
        return found


class Same:
    """Stands in a key for this very thing, not for an equal one, and holds it."""

    __slots__ = ("of",)

    def __init__(self, of: object) -> None:
        self.of = of

    def __hash__(self) -> int:
        return object.__hash__(self.of)

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Same) and other.of is self.of


def _recorded(make: Callable[[], T]) -> tuple[T, Tape]:
    own = Tape()
    with tape.recording(own):
        return make(), own


def _of_word(fact: Fact, number: float | None) -> Amount:
    return Amount(0.0, inf, (fact,)) if number is None else Amount(number, number, (fact,))


def called(spot: Fitted) -> str | At:
    """A part by its name, or by its position where it has no record."""
    return spot.part.name if spot.part.has_record() else At(spot.position)


class View:
    """Facts of one bike. Inferred facts hold only while the part they were read off is still the same."""

    def __init__(
        self, bike: Bike, standards: Standards, inferred: Inferred | None = None, memo: Memo | None = None
    ) -> None:
        self.bike = bike
        self.standards = standards
        self.inferred: Inferred = inferred or {}
        # Of a bike in use more may be known of a size than its record tells.
        self._narrowed = any(fact.origin is Origin.IN_USE for fact in self.inferred.values())
        self.memo = memo or Memo()
        self.layout = self._layout()
        self.local = Memo()  # answers about this one bike
        self._had = self.layout.recall("had", dict[tuple[str, tuple[str, ...]], bool])

    def _layout(self) -> Memo:
        """Answers about what sits where, shared by all bikes on which the same parts sit in the same places."""
        return self.memo.recall(("layout", self.bike.lies, frozenset(self.inferred)), Memo)

    def once(self, key: Hashable, make: Callable[[], T]) -> T:
        """Worked out once for this bike. Whoever asks reads all that it was worked out from."""
        value, own = self.local.recall(("once", key), lambda: _recorded(make))
        tape.add(own)
        return value

    def fact(self, spot: Fitted, attribute: str) -> Fact:
        """One attribute of the part in a position; inferred where the record has no value."""
        fact = spot.kept.get(attribute) or read_fact(spot, attribute)
        if fact.held is not None:
            return self.inferred.get((spot.home, attribute), fact) if self._narrowed else fact
        return told_by_itself(spot, attribute, self.standards) or self.inferred.get((spot.home, attribute), fact)

    def amount(self, position: str, attribute: str, minimum: float = 0.0) -> Amount:
        """A number, an interval, or anything from `minimum` up where it is not known.

        So it is for a part of a kind that has no such attribute. Raises KeyError for an empty position: ask
        `has` first where that can happen.
        """
        spot = self.bike.fitted[position]
        known: Fact | None = spot.kept.get(attribute)  # the usual case: a number that was asked for before
        if known is not None and known.number is not None and not self._narrowed:
            return known.number
        return amount_of(self.fact(spot, attribute), minimum)

    def signed(self, position: str, attribute: str) -> Amount:
        """Like `amount`, for a quantity that may be negative."""
        return self.amount(position, attribute, -inf)

    def added(self, position: str, attribute: str, minimum: float = 0.0) -> Amount:
        """What a part adds to a size: as `amount`, and nothing where there is no such part."""
        return self.amount(position, attribute, minimum) if self.has(position, attribute) else Amount(0.0, 0.0)

    def total(self, positions: Iterable[str], attribute: str) -> Amount:
        """What several parts add up to."""
        return sum((self.amount(position, attribute) for position in positions), Amount(0.0, 0.0))

    def word(self, position: str, attribute: str) -> Fact:
        """A word of a vocabulary; `value` is None where it is not known."""
        spot = self.bike.fitted[position]
        known: Fact | None = spot.kept.get(attribute)  # the usual case: a word on record that was asked for before
        return known if known is not None and known.held is not None else self.fact(spot, attribute)

    def size_of_word(self, position: str, attribute: str, vocabulary: str) -> Amount:
        """The size that a word stands for, such as that of a bead seat; unknown with the word, or if it has none."""
        fact, term = self._term(position, attribute, vocabulary)
        return _of_word(fact, None if term is None else term.value)

    def angle_of_word(self, position: str, attribute: str, vocabulary: str) -> Amount:
        """The angle in degrees that goes with a word, such as that of a headset seat; unknown if it has none."""
        fact, term = self._term(position, attribute, vocabulary)
        return _of_word(fact, None if term is None else term.deg)

    def _term(self, position: str, attribute: str, vocabulary: str) -> tuple[Fact, Term | None]:
        fact = self.word(position, attribute)
        terms = self.memo.recall(("terms", vocabulary), lambda: self._terms(vocabulary))
        return fact, None if fact.held is None else terms.get(fact.held)

    def _terms(self, vocabulary: str) -> dict[str, Term]:
        return {term.id: term for term in self.standards.vocabularies[vocabulary].terms}

    def has(self, position: str, *attributes: str) -> bool:
        """Is there a part in this position, of a kind that has these attributes?"""
        key = position, attributes
        had = self._had.get(key)
        if had is None:
            spot = self.bike.fitted.get(position)
            had = self._had[key] = spot is not None and attributes_of(spot.part.__class__).issuperset(attributes)
        return had

    def row(self, position: str) -> PositionRow:
        """The standards' row of a position. Raises KeyError if there is none."""
        row = self.standards.position(position)
        if row is None:
            raise KeyError(position)
        return row

    def of_row(self, row_id: str) -> Iterator[str]:
        """The positions on this bike that belong to one row: `spacer` gives spacer-1, spacer-2 …"""
        return iter(self.layout.recall("rows", self._by_row).get(row_id, ()))

    def empty_rows(self) -> list[PositionRow]:
        """The rows of which this bike needs a part, or may need one, and has none."""
        return self.layout.recall("empty-rows", lambda: [
            row for row in self.standards.positions.values()
            if (row.needed or row.needed_if) and not any(True for _ in self.of_row(row.id))
            and not (row.needed_unless and all(name in self.bike for name in row.needed_unless))
        ])  # fmt: skip

    def of_one_hand(self) -> list[tuple[str, str]]:
        """The positions of this bike whose thread must be of one hand, each with that hand."""
        return self.layout.recall("hands", lambda: [
            (row.id, row.thread_hand) for row in self.standards.positions.values()
            if row.thread_hand and self.has(row.id, "thread_hand")
        ])  # fmt: skip

    def duties(self) -> list[tuple[str, str]]:
        """The positions of this bike whose part has a duty, each with the attribute that tells whether it does it."""
        return self.layout.recall("duties", lambda: [
            (row.id, row.duty) for row in self.standards.positions.values() if row.duty and row.id in self.bike
        ])  # fmt: skip

    def free_name(self, row_id: str) -> str:
        """A position of this row that is empty: where one more could go."""
        taken = set(self.of_row(row_id))
        return next(name for number in range(1, len(taken) + 2) if (name := f"{row_id}-{number}") not in taken)

    def _by_row(self) -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for name in self.bike.fitted:
            row = self.standards.position(name)
            if row is not None:
                found.setdefault(row.id, []).append(name)
        return found

    def hanging(self, *sorts: str) -> list[Fitted]:
        """The parts that need a place to hang on, as one of these sorts."""
        kinds = self.standards.kinds_that_hang
        return self.layout.recall(("hanging", sorts), lambda: list(self.of_kind(kinds(*sorts))))

    def noted(self) -> list[Fitted]:
        """The parts on which something was seen."""
        return self.layout.recall("noted", lambda: [spot for spot in self.bike.main_spots() if spot.condition])

    def of_kind(self, kinds: Iterable[str]) -> Iterator[Fitted]:
        """The parts of these kinds, each once."""
        wanted = frozenset(kinds)
        names = self.layout.recall(("of kind", wanted), lambda: self._names_of(wanted))
        return map(self.bike.fitted.__getitem__, names)

    def _names_of(self, kinds: frozenset[str]) -> tuple[str, ...]:
        return tuple(spot.position for spot in self.bike.main_spots() if spot.part.kind in kinds)

    def name(self, position: str) -> At | PartAt:
        """A position with the name of its part, for a sentence: `stem (Alder 100)`."""
        spot = self.bike.get(position)
        return PartAt(position, spot.part.name) if spot is not None and spot.part.has_record() else At(position)
