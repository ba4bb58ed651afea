"""Three-valued facts: every number is an interval, every test answers yes, no or unknown.

An `Amount` remembers the facts it was made from, so that a finding can name its evidence and an
undecided test can name what to measure. Interval arithmetic only ever widens, which is what makes a
verdict hold for every way of filling in what is not known.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from enum import Enum
from functools import lru_cache
from itertools import product
from math import inf, isfinite, isnan
from typing import Any

from buildcheck.fit import tape
from buildcheck.fit.patterns import is_of
from buildcheck.model.findings import Evidence
from buildcheck.model.levels import Origin
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import ENGLISH, FactName, Several, Size, Word, shown

# Differences below this are rounding of binary fractions, not bicycle parts.
EPSILON = 1e-9


class Answer(Enum):
    """The outcome of a test."""

    YES = "yes"
    NO = "no"
    UNKNOWN = "unknown"


# Up to Python 3.11 a member is looked up by a function; these are asked for hundreds of times in one vetting.
_YES, _NO, _UNKNOWN = Answer.YES, Answer.NO, Answer.UNKNOWN

@dataclass(slots=True, eq=False)
class Fact:
    """One attribute of the part at one position; its value None is unknown. `held` is the value, read by no rule.

    Of an unknown word it may be known that it is one of the `possible` ones; of a list of words that it has one of
    them.
    """

    position: str
    attribute: str
    held: Any
    unit: str
    origin: Origin
    where: str
    read_off: tuple[Fact, ...] = ()  # where it was inferred: the facts of the parts that tell of it
    possible: tuple[str, ...] = ()
    one_word: bool = True  # False for a list of words
    _evidence: Evidence | None = None
    _told: Word | Size | Several | None = None
    number: Amount | None = None  # the amount, made when first asked for
    _name: frozenset[FactName] | None = None

    @property
    def shows(self) -> frozenset[FactName]:
        """Which fact it is, as the one that a value shows."""
        if self._name is None:
            self._name = frozenset({(self.position, self.attribute)})
        return self._name

    @property
    def value(self) -> Any:
        """The value for whoever decides by it, which is recorded."""
        tape.read((self,))
        return self.held

    def told(self) -> Word | Size | Several:
        """The value for a sentence; a number has its unit, what is unknown is said to be so."""
        if self._told is None:
            self._told = self._worded()
        return self._told

    def _worded(self) -> Word | Size | Several:
        shows = self.shows
        match self.held:
            case None:
                return Word("an unknown size" if self.unit else "unknown")
            case Interval(low, high):
                return Size(_told_low(low, high, self.origin), high, self.unit, shows=shows)
            case tuple(words):
                return Several(tuple(Word(str(word), shows) for word in words or ("none",)), "or")
            case float(number):
                return Size(number, number, self.unit, shows=shows)
            case _:
                return Word(f"{shown(self.held)} {self.unit}".strip(), shows)

    def evidence(self) -> Evidence:
        """The fact as a report shows it."""
        if self._evidence is None:
            text = None if self.held is None else shown(self.held)
            self._evidence = Evidence(
                self.position, self.attribute, text, self.unit, self.origin, self.where, self.held
            )
        return self._evidence


def _told_low(low: float, high: float, origin: Origin) -> float:
    """A limit that follows from use has one end: that it is at most so much is told, not that it is from 0 on."""
    return -inf if origin is Origin.IN_USE and low == 0 < high else low


def size_told(value: Interval, unit: str, origin: Origin) -> Size:
    """An interval for a sentence."""
    return Size(_told_low(value.low, value.high, origin), value.high, unit)


def one_of_possible(fact: Fact, holds: Callable[[str], bool]) -> Answer:
    """Does it hold of an unknown word, as it does of each that the word can be, or of none of them?"""
    if not fact.possible:
        return _UNKNOWN
    if all(map(holds, fact.possible)):
        return _YES
    return _NO if fact.one_word and not any(map(holds, fact.possible)) else _UNKNOWN


_OPPOSITE = {_YES: _NO, _NO: _YES, _UNKNOWN: _UNKNOWN}


@dataclass(slots=True)
class Test:
    """An answer with the facts it rests on. `__test__` keeps pytest from collecting it.

    Rules put tests together and hand them on to be judged; one that asks a test for its answer is recorded.
    """

    __test__ = False

    held: Answer
    facts: tuple[Fact, ...]

    @property
    def answer(self) -> Answer:
        """The answer for whoever decides by it."""
        tape.read(self.facts)
        return self.held

    @property
    def is_yes(self) -> bool:
        """Does it hold? Not recorded: for graphs, whose reads are told as a whole."""
        return self.held is _YES

    @property
    def is_no(self) -> bool:
        """Does it fail? Not recorded."""
        return self.held is _NO

    @property
    def yes(self) -> bool:
        """Known to hold."""
        tape.read(self.facts)
        return self.held is _YES

    @property
    def no(self) -> bool:
        """Known not to hold."""
        tape.read(self.facts)
        return self.held is _NO

    def only_if(self, applies: Test) -> Test:
        """The test where it applies; where it does not, there is nothing to fail. In doubt it cannot be a `no`.

        What makes it apply is part of what the answer rests on.
        """
        if applies.held is _YES:
            return Test(self.held, self.facts + applies.facts)
        if applies.held is _NO or self.held is _YES:
            return Test(_YES, self.facts)
        return Test(_UNKNOWN, self.facts + applies.facts)

    def both(self, other: Test) -> Test:
        """Both tests must hold. A `no` rests on the failing test alone."""
        if self.held is _NO:
            return self
        if other.held is _NO:
            return other
        sure = self.held is _YES and other.held is _YES
        return Test(_YES if sure else _UNKNOWN, self.facts + other.facts)

    def either(self, other: Test) -> Test:
        """One of both tests must hold. A `yes` rests on that test alone."""
        if self.held is _YES:
            return self
        if other.held is _YES:
            return other
        sure = self.held is _NO and other.held is _NO
        return Test(_NO if sure else _UNKNOWN, self.facts + other.facts)

    def opposite(self) -> Test:
        """Does this fail?"""
        return Test(_OPPOSITE[self.held], self.facts)

    def unless_known(self) -> Test:
        """The test where it certainly fails, else nothing to fail: for what is told only where it is sure."""
        return self if self.is_no else Test(_YES, self.facts)


@dataclass(slots=True)
class Amount:
    """An interval of one quantity and the facts it was made from. Who takes an end of it for a number is recorded."""

    least: float
    most: float
    facts: tuple[Fact, ...] = ()
    _told: Size | None = field(default=None, compare=False, repr=False)

    @property
    def low(self) -> float:
        """The least that it can be."""
        tape.read(self.facts)
        return self.least

    @property
    def high(self) -> float:
        """The most that it can be."""
        tape.read(self.facts)
        return self.most

    @property
    def bounded(self) -> bool:
        """Are both ends finite? Not recorded."""
        return isfinite(self.least) and isfinite(self.most)

    @property
    def known(self) -> bool:
        """True where both ends are finite."""
        return isfinite(self.low) and isfinite(self.high)

    @property
    def middle(self) -> float:
        """Halfway; only meaningful for a known amount."""
        return (self.low + self.high) / 2

    def __add__(self, other: Amount | float) -> Amount:
        other = as_amount(other)
        return Amount(self.least + other.least, self.most + other.most, self.facts + other.facts)

    def __sub__(self, other: Amount | float) -> Amount:
        other = as_amount(other)
        return Amount(self.least - other.most, self.most - other.least, self.facts + other.facts)

    def __neg__(self) -> Amount:
        return Amount(-self.most, -self.least, self.facts)

    def __truediv__(self, divisor: float) -> Amount:
        """A share of the amount; the divisor is above 0."""
        return Amount(self.least / divisor, self.most / divisor, self.facts)

    def at_most(self, limit: Amount | float) -> Test:
        """Is this certainly no more than the limit?"""
        limit = as_amount(limit)
        facts = self.facts + limit.facts
        if self.most <= limit.least + EPSILON:
            return Test(_YES, facts)
        if self.least > limit.most + EPSILON:
            return Test(_NO, facts)
        return Test(_UNKNOWN, facts)

    def at_least(self, limit: Amount | float) -> Test:
        """Is this certainly no less than the limit?"""
        limit = as_amount(limit)
        facts = self.facts + limit.facts
        if self.least >= limit.most - EPSILON:
            return Test(_YES, facts)
        if self.most < limit.least - EPSILON:
            return Test(_NO, facts)
        return Test(_UNKNOWN, facts)

    def within(self, other: Amount | float, tolerance: float) -> Test:
        """Are both certainly no further apart than the tolerance?"""
        other = as_amount(other)
        facts = self.facts + other.facts
        if max(self.most - other.least, other.most - self.least) <= tolerance + EPSILON:
            return Test(_YES, facts)
        if max(self.least - other.most, other.least - self.most) > tolerance + EPSILON:
            return Test(_NO, facts)
        return Test(_UNKNOWN, facts)

    def resting_on(self, *others: Amount | Test) -> Amount:
        """The same amount where it depends on these, too, what it is."""
        return Amount(self.least, self.most, sum((other.facts for other in others), self.facts))

    def told(self, unit: str) -> Size:
        """The amount for a sentence, to a tenth: unlike a fact, what was worked out is no more exact than that."""
        if self._told is None or self._told.unit != unit:
            self._told = Size(*self._tenths(), unit, shows=names_of(self.facts))
        return self._told

    def bare(self) -> Size:
        """The amount as a term of a sum, which tells its unit."""
        return Size(*self._tenths(), "", bare=True, shows=names_of(self.facts))

    def _tenths(self) -> tuple[float, float]:
        return (round(self.least, 1), round(self.most, 1)) if self.bounded else (self.least, self.most)

    def shown(self, unit: str) -> str:
        """The amount with its unit in English."""
        return ENGLISH.size(self.told(unit))


def names_of(facts: Collection[Fact]) -> frozenset[FactName]:
    """Which facts these are."""
    if len(facts) == 1:
        return next(iter(facts)).shows
    return frozenset((fact.position, fact.attribute) for fact in facts)


def as_amount(value: Amount | float) -> Amount:
    """A plain number as an amount without facts."""
    return value if isinstance(value, Amount) else _plain(value)


@lru_cache(maxsize=1024)
def _plain(number: float) -> Amount:
    return Amount(number, number)


def amount_of(fact: Fact, minimum: float = 0.0) -> Amount:
    """The amount that a fact holds; an unknown one may be anything from `minimum` up."""
    if fact.held is None:
        return Amount(minimum, inf, (fact,))
    if fact.number is None:
        least, most = (fact.held.low, fact.held.high) if isinstance(fact.held, Interval) else (float(fact.held),) * 2
        fact.number = Amount(least, most, (fact,))
    return fact.number


def largest(amounts: Collection[Amount]) -> Amount:
    """The largest of several amounts, whichever it is. Errors: ValueError if there is none."""
    facts = tuple(fact for each in amounts for fact in each.facts)
    return Amount(max(each.least for each in amounts), max(each.most for each in amounts), facts)


def smallest(amounts: Collection[Amount]) -> Amount:
    """The smallest of several amounts, whichever it is. Errors: ValueError if there is none."""
    facts = tuple(fact for each in amounts for fact in each.facts)
    return Amount(min(each.least for each in amounts), min(each.most for each in amounts), facts)


def one_of(*amounts: Amount) -> Amount:
    """One of these amounts, where nobody knows which. Errors: ValueError if there is none."""
    facts = tuple(fact for each in amounts for fact in each.facts)
    return Amount(min(each.least for each in amounts), max(each.most for each in amounts), facts)


def worked_out(formula: Callable[..., float], *sizes: Amount) -> Amount:
    """What a formula of the trade makes of these sizes, as an amount.

    With the others held, the formula only rises or only falls with each of them, so its extremes lie at ends of the
    intervals. It takes infinite sizes; a pair of ends that says nothing (inf - inf) is never one of the extremes.
    """
    facts = tuple([fact for size in sizes for fact in size.facts])
    low = [size.least for size in sizes]
    if low == [size.most for size in sizes]:  # the usual case: each size is known
        value = formula(*low)
        return Amount(value, value, facts)
    ends = product(*((size.least,) if size.least == size.most else (size.least, size.most) for size in sizes))
    found = [value for at in ends if not isnan(value := formula(*at))]
    return Amount(min(found), max(found), facts)


def spanned(formula: Callable[..., tuple[float, float]], *sizes: Amount) -> Amount:
    """As `worked_out`, for a formula that takes the least and the most of each size and gives both of what it makes."""
    least, most = formula(*((size.least, size.most) for size in sizes))
    return Amount(least, most, tuple(fact for size in sizes for fact in size.facts))


def is_word(fact: Fact, *words: str) -> Test:
    """Is this the word, or one of them? A flag's words are yes and no."""
    if fact.held is None:
        return Test(one_of_possible(fact, words.__contains__) if fact.one_word else _UNKNOWN, (fact,))
    return Test(_YES if shown(fact.held) in words else _NO, (fact,))


def is_not_word(fact: Fact, *words: str) -> Test:
    """Is this another word than all of these?"""
    return is_word(fact, *words).opposite()


def same_word(a: Fact, b: Fact) -> Test:
    """Do both name the same word? Where a side takes several, one in common is enough."""
    if a.held is None or b.held is None:
        return Test(_same_possible(a, b), (a, b))
    ours = a.held if isinstance(a.held, tuple) else (a.held,)
    theirs = b.held if isinstance(b.held, tuple) else (b.held,)
    mate = any(word in theirs for word in ours)
    return Test(_YES if mate else _NO, (a, b))


def _same_possible(a: Fact, b: Fact) -> Answer:
    """The same where one side is not known."""
    open_side, other = (a, b) if a.held is None else (b, a)
    if other.held is None:
        return _UNKNOWN
    words = {shown(word) for word in (other.held if isinstance(other.held, tuple) else (other.held,))}
    return one_of_possible(open_side, words.__contains__)


def of_pattern(fact: Fact, pattern: str) -> Test:
    """Is the fact of this pattern, in which `*` stands for anything?"""
    if fact.held is None:
        return Test(one_of_possible(fact, lambda word: is_of(word, pattern)) if fact.one_word else _UNKNOWN, (fact,))
    return Test(_YES if is_of(shown(fact.held), pattern) else _NO, (fact,))
