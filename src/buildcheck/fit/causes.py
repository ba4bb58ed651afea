"""Facts and sums as causes: what each figure is, where it comes from, and how several add up."""

from __future__ import annotations

from collections.abc import Iterable

from buildcheck.fit.facts import Amount, Fact
from buildcheck.model.findings import Cause
from buildcheck.model.levels import Origin


def attribute_words(attribute: str) -> str:
    """`bar_clamp_mm` as a reader says it: `bar clamp`."""
    for unit in ("_mm2", "_mm", "_deg", "_teeth", "_bar", "_nm"):
        attribute = attribute.removesuffix(unit)
    return attribute.replace("_", " ").replace(".", " ")


def cause_of(fact: Fact) -> Cause:
    """One fact as a cause. Below an inferred one stand the facts that it was read off."""
    told = fact.evidence()
    value = "not on record" if told.value is None else f"{told.value} {told.unit}".rstrip()
    text = f"{attribute_words(fact.attribute)} of the {fact.position.replace('-', ' ')}: {value}"
    if told.value is None:
        return Cause(text, (), Origin.STATED, fact.where)
    if fact.origin is Origin.INFERRED:
        return Cause(f"{text}, {fact.where}", causes_of(fact.read_off), fact.origin)
    return Cause(text, (), fact.origin, fact.where)


def causes_of(facts: Iterable[Fact]) -> tuple[Cause, ...]:
    """Each fact once, in a fixed order."""
    found = {(fact.position, fact.attribute): fact for fact in facts}
    return tuple(cause_of(fact) for _, fact in sorted(found.items(), key=lambda item: item[0]))


def sum_of(what: str, parts: Iterable[tuple[str, Amount]], unit: str = "mm", below: tuple[Cause, ...] = ()) -> Cause:
    """How a figure adds up: `what: frame 150 + stem 40 = 190 mm`, and below it each fact that went in.

    `below` tells of parts that come without facts of their own. What is nothing is left out.
    """
    told = [(name, amount) for name, amount in parts if (amount.low, amount.high) != (0, 0)]
    total = sum((amount for _, amount in told), Amount(0.0, 0.0))
    terms = "".join(_term(name, amount) for name, amount in told).removeprefix(" + ") or "0"
    return Cause(f"{what}: {terms} = {total.shown(unit)}", (*below, *causes_of(total.facts)))


def _term(name: str, amount: Amount) -> str:
    return f" - {name} {(-amount).bare()}" if amount.high < 0 else f" + {name} {amount.bare()}"
