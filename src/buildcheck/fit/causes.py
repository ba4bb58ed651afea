"""Facts and sums as causes: what each figure is, where it comes from, and how several add up."""

from __future__ import annotations

from collections.abc import Iterable

from buildcheck.fit.facts import Amount, Fact
from buildcheck.model.findings import Cause
from buildcheck.model.levels import Origin
from buildcheck.model.sentences import At, Attribute, Several, Sum, Value, Word, say


def cause_of(fact: Fact) -> Cause:
    """One fact as a cause. Below an inferred one stand the facts that it was read off."""
    what: dict[str, Value] = {"attribute": Attribute(fact.attribute), "position": At(fact.position)}
    if fact.origin is Origin.IN_USE:
        return _cause_in_use(fact, what)
    if fact.held is None:
        return Cause(say("{attribute} of the {position}: not on record", **what), (), Origin.STATED, fact.where)
    if fact.origin is Origin.INFERRED:
        text = say("{attribute} of the {position}: {value}, {where}", **what, value=fact.told(), where=fact.where)
        return Cause(text, causes_of(fact.read_off), fact.origin)
    return Cause(say("{attribute} of the {position}: {value}", **what, value=fact.told()), (), fact.origin, fact.where)


def _cause_in_use(fact: Fact, what: dict[str, Value]) -> Cause:
    """What follows from it that the bike is ridden today. Below it stands what it was read off."""
    value = fact.told() if fact.held is not None else Several(tuple(Word(word) for word in fact.possible), "or")
    text = say("{attribute} of the {position}: {value}, since the bike is ridden so today", **what, value=value)
    return Cause(text, causes_of(fact.read_off), fact.origin)


def causes_of(facts: Iterable[Fact]) -> tuple[Cause, ...]:
    """Each fact once, in a fixed order."""
    found = {(fact.position, fact.attribute): fact for fact in facts}
    return tuple(cause_of(fact) for _, fact in sorted(found.items(), key=lambda item: item[0]))


def sum_of(
    what: Value, parts: Iterable[tuple[Value, Amount]], unit: str = "mm", below: tuple[Cause, ...] = ()
) -> Cause:
    """How a figure adds up: `what: frame 150 + stem 40 = 190 mm`, and below it each fact that went in.

    `below` tells of parts that come without facts of their own. What is nothing is left out.
    """
    told = [(name, amount) for name, amount in parts if (amount.least, amount.most) != (0, 0)]
    total = sum((amount for _, amount in told), Amount(0.0, 0.0))
    terms = tuple((name, amount.bare()) for name, amount in told)
    return Cause(say("{sum}", sum=Sum(what, terms, total.told(unit))), (*below, *causes_of(total.facts)))
