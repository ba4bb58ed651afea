"""What a bike proves that is ridden today: limits, sizes and words that no record tells.

Each row of the joints and each rule says what use proves of its fault. Where the fault cannot be there, what is not
known of one side of a joint is something that goes with the other side: a size within limits, one of some words. A rule
is asked again with one word or range after the other in place of what is not known: where it blocks whatever the rest
is, the fact lies elsewhere. Each fact is looked at by itself, so that of two unknown ones nothing is found together.

What is found so holds as long as the part stays on the bike. Where the records themselves have a fault that use rules
out it tells nothing: it is a finding that one of them is wrong.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import inf, isfinite
from typing import Any, NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule
from buildcheck.fit.facts import EPSILON, Amount, Fact, amount_of
from buildcheck.fit.joints import Joint, compares_words, find_joints, is_meant, mates
from buildcheck.fit.reading import least_of, unit_of
from buildcheck.fit.view import Inferred, View
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Evidence, Finding
from buildcheck.model.levels import Level, Origin, Proof
from buildcheck.model.quantities import LARGEST, Interval, Vocabulary, is_fact, is_flag
from buildcheck.model.standards import Standards

Key = tuple[str, str]
# What a size is told to first: parts are made in such steps. Where the limit lies between two, halving goes on.
_STEP = 0.1
# Halvings that bring a limit between two steps to within rounding.
_HALVINGS = 40


def proven(view: View, inferred: Inferred, rules: Sequence[Rule]) -> dict[Key, Fact]:
    """What use proves of the bike of a view, with what was inferred of it without.

    The view is that of the records alone.
    """
    found = dict(inferred)
    known = View(view.bike, view.standards, inferred)
    for joint in find_joints(view):
        if _tells(known, joint):
            for told in _told_by(known, joint, found):
                _add(found, told)
    for rule in rules:
        if rule.use_proves is not Proof.NOTHING and not rule.needs_change:
            _ask_rule(view, found, rule)
    return found


def with_more_told(view: View, inferred: Inferred, before: Inferred) -> dict[Key, Fact]:
    """What use proves of a bike of which one fact more is told than `before`: what it proved, and what its joints tell.

    The rules are not asked again, so that this may be less than `proven` finds, and never more.
    """
    joined = proven(view, inferred, ())
    return {**before, **{key: fact for key, fact in joined.items() if key not in before or not _is_open(fact)}}


def _add(found: dict[Key, Fact], told: Fact) -> None:
    found[told.position, told.attribute] = told


def _tells(view: View, joint: Joint) -> bool:
    """Does use prove that this very joint mates? Not where a shim can hide, or an adapter lies between, or may lie."""
    row = joint.row
    told = row.use_proves is not Proof.NOTHING and not row.hides_shim and joint.adapter is None
    between = (row.adapter, row.unless)
    return (
        told and not any(at.replace("{at}", joint.at) in view.bike.untold for at in between if at is not None)
        and is_meant(view, joint).is_yes
    )  # fmt: skip


def _told_by(view: View, joint: Joint, found: Inferred) -> Iterator[Fact]:
    """What each side of a joint tells of the other."""
    row = joint.row
    ends = (joint.a, row.a_attribute), (joint.b, row.b)
    facts = [view.fact(*end) for end in ends]
    interface = view.standards.interfaces[row.interface]
    leeway = interface.mates.leeway if row.blocks_beyond is None else row.blocks_beyond
    if mates(interface, facts[0], facts[1], leeway).is_no:
        return  # told as a finding
    for at_side_a, (spot, attribute), known in ((True, ends[0], facts[1]), (False, ends[1], facts[0])):
        if known.held is None or attribute not in type(spot.part).model_fields:
            continue
        behind = (known, *is_meant(view, joint).facts)
        where = f"read off the {known.position}, with which it is ridden today ({row.name})"
        now = found.get((spot.home, attribute)) or view.fact(spot, attribute)
        if not _is_open(now):
            continue
        if compares_words(now, known):
            words = _words_of(view.standards, spot, attribute)
            pairs = ((word, _with(now, word)) for word in words)
            unfit = {
                word for word, one in pairs
                if (mates(interface, one, known) if at_side_a else mates(interface, known, one)).is_no
            }  # fmt: skip
            told = _of_words(now, spot, words, unfit, where, behind)
        else:
            told = _within(now, spot, _limits(interface.mates.kind, at_side_a, amount_of(known), leeway), where, behind)
        if told is not None:
            yield told


def _is_open(fact: Fact) -> bool:
    return fact.held is None or (isinstance(fact.held, Interval) and fact.held.low < fact.held.high)


def _limits(kind: str, at_side_a: bool, other: Amount, leeway: float) -> Interval:
    """Between which sizes a side lies that mates with the other side as it is."""
    low, high = other.least - leeway, other.most + leeway
    if kind == "equal":
        return Interval(low, high)
    is_the_larger = (kind == "at-least") == at_side_a
    return Interval(low, inf) if is_the_larger else Interval(-inf, high)


class _Range(NamedTuple):
    """What is known of a size so far."""

    low: float
    high: float


def _range_of(fact: Fact, spot: Fitted) -> _Range:
    if isinstance(fact.held, Interval):
        return _Range(fact.held.low, fact.held.high)
    return _Range(least_of(type(spot.part), fact.attribute), inf)


def _within(now: Fact, spot: Fitted, limits: Interval, where: str, behind: tuple[Fact, ...]) -> Fact | None:
    """A size within limits, too; None where that says nothing new, or leaves nothing."""
    low, high = _range_of(now, spot)
    least, most = max(low, limits.low), min(high, limits.high)
    if least > most or (least, most) == (low, high):
        return None
    return _proven(now, Interval(least, most), where, behind)


def _proven(now: Fact, held: Any, where: str, behind: tuple[Fact, ...], possible: tuple[str, ...] = ()) -> Fact:
    earlier = now.read_off if now.origin in (Origin.IN_USE, Origin.INFERRED) else ()
    told = dict.fromkeys((*earlier, *behind))
    return Fact(
        now.position, now.attribute, held, now.unit, Origin.IN_USE, where, tuple(told), possible, now.one_word
    )


def _marks(spot: Fitted, attribute: str) -> list[Any]:
    return type(spot.part).model_fields[attribute].metadata


def _words_of(standards: Standards, spot: Fitted, attribute: str) -> tuple[str, ...]:
    """The words that a fact can be; none where its vocabulary is open."""
    marks = _marks(spot, attribute)
    if is_flag(marks):
        return "yes", "no"
    vocabulary = next((mark for mark in marks if isinstance(mark, Vocabulary)), None)
    if vocabulary is None or vocabulary.name not in standards.vocabularies:
        return ()
    return tuple(term.id for term in standards.vocabularies[vocabulary.name].terms)


def _takes_many(spot: Fitted, attribute: str) -> bool:
    return any(isinstance(mark, Vocabulary) and mark.many for mark in _marks(spot, attribute))


def _with(fact: Fact, word: str) -> Fact:
    """The fact if it were this word."""
    return Fact(fact.position, fact.attribute, word, fact.unit, fact.origin, fact.where)


def _of_words(
    now: Fact, spot: Fitted, words: Iterable[str], unfit: set[str], where: str, behind: tuple[Fact, ...]
) -> Fact | None:
    """A word that is none of the unfit ones. Of a list of words one is in it that is not."""
    before = now.possible or tuple(words)
    left = tuple(word for word in before if word not in unfit)
    one_word = not _takes_many(spot, now.attribute)
    if not left or len(left) == len(before) or (now.possible and not one_word):
        return None
    told = _proven(now, None, where, behind, left)
    told.one_word = one_word
    if one_word and len(left) == 1:
        told.held = {"yes": True, "no": False}[left[0]] if is_flag(_marks(spot, now.attribute)) else left[0]
        told.possible = ()
    return told


def _ask_rule(view: View, found: dict[Key, Fact], rule: Rule) -> None:
    """What a rule tells of the facts that it leaves open. Nothing where it blocks as it is: a record is wrong."""
    findings = rule.found(Context(View(view.bike, view.standards, found)))
    if any(finding.level is Level.BLOCKS for finding in findings):
        return
    asked = {(item.position, item.attribute) for finding in findings for item in finding.undecided}
    for position, attribute in sorted(asked):
        spot = view.bike.get(position)
        field = None if spot is None else type(spot.part).model_fields.get(attribute)
        if spot is None or field is None or not is_fact(field.metadata) or spot.home != position:
            continue
        told = _Asking(view, found, rule, spot, attribute).answer()
        if told is not None:
            _add(found, told)


class _Asking:
    """One rule that is asked of one fact, with one value or range of it after the other."""

    def __init__(self, view: View, found: Mapping[Key, Fact], rule: Rule, spot: Fitted, attribute: str) -> None:
        self.view, self.found, self.rule, self.spot = view, found, rule, spot
        self.now = View(view.bike, view.standards, found).fact(spot, attribute)
        self.where = f"with another one it could not be ridden today ({rule.name})"

    def answer(self) -> Fact | None:
        """What is known of the fact then; None where that is no more than before."""
        if unit_of(type(self.spot.part), self.now.attribute):
            return self._size()
        return self._word()

    def _blocks(self, value: object) -> Finding | None:
        key = self.now.position, self.now.attribute
        trial = Fact(*key, value, self.now.unit, Origin.IN_USE, "")
        view = View(self.view.bike, self.view.standards, {**self.found, key: trial})
        found = self.rule.found(Context(view))
        return next((finding for finding in found if finding.level is Level.BLOCKS), None)

    def _word(self) -> Fact | None:
        now, words = self.now, _words_of(self.view.standards, self.spot, self.now.attribute)
        if now.held is not None or _takes_many(self.spot, now.attribute):
            return None
        flag = is_flag(_marks(self.spot, now.attribute))
        unfit: dict[str, Finding] = {}
        for word in now.possible or words:
            blocked = self._blocks(word == "yes" if flag else word)
            if blocked is not None:
                unfit[word] = blocked
        behind = tuple(fact for finding in unfit.values() for fact in self._behind(finding))
        return _of_words(now, self.spot, words, set(unfit), self.where, behind)

    def _size(self) -> Fact | None:
        low, high = _range_of(self.now, self.spot)
        behind: list[Fact] = []
        most = self._limit(low, high, upwards=True, behind=behind)
        least = self._limit(low, high, upwards=False, behind=behind)
        return _within(self.now, self.spot, Interval(least, most), self.where, tuple(behind))

    def _limit(self, low: float, high: float, *, upwards: bool, behind: list[Fact]) -> float:
        """The limit beyond which the rule blocks, from the upper end of the range or from its lower end."""
        end, start = (high, low) if upwards else (low, high)
        far, near = (_bounded(end), _bounded(start))

        def beyond(size: float) -> Finding | None:
            return self._blocks(Interval(size, high) if upwards else Interval(low, size))

        blocked = beyond(far)
        if blocked is None or beyond(near) is not None:
            return end
        free, shut = near, far  # at the one something of the range may be as it should, from the other on nothing is
        while abs(shut - free) > 1.5 * _STEP:
            middle = round(round((shut + free) / 2 / _STEP) * _STEP, 6)
            found = beyond(middle)
            free, shut, blocked = (middle, shut, blocked) if found is None else (free, middle, found)
        sign = 1 if upwards else -1
        if (found := beyond(free + sign * 4 * EPSILON)) is not None:
            behind.extend(self._behind(found))
            return free
        for _ in range(_HALVINGS):
            middle = (shut + free) / 2
            found = beyond(middle)
            free, shut, blocked = (middle, shut, blocked) if found is None else (free, middle, found)
        behind.extend(self._behind(blocked))
        return shut

    def _behind(self, finding: Finding) -> Iterator[Fact]:
        """The facts that a finding rests on, besides the one that is asked for."""
        for item in finding.evidence:
            key = item.position, item.attribute
            if key != (self.now.position, self.now.attribute) and not item.behind:
                yield self.found.get(key) or _fact_of(item)


def _bounded(end: float) -> float:
    return end if isfinite(end) else LARGEST if end > 0 else -LARGEST


def _fact_of(item: Evidence) -> Fact:
    return Fact(item.position, item.attribute, item.fact, item.unit, item.origin, item.where)
