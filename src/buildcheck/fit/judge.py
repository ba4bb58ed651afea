"""From a test to a finding: the one place that decides what a `no` and an `unknown` become."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

from buildcheck.fit.causes import attribute_words, causes_of
from buildcheck.fit.facts import Fact, Test
from buildcheck.model.findings import Cause, Evidence, Finding
from buildcheck.model.levels import Level


def evidence_of(facts: Iterable[Fact]) -> tuple[Evidence, ...]:
    """Each fact once, in a fixed order."""
    found = {(fact.position, fact.attribute): fact.evidence() for fact in facts}
    return tuple(evidence for _, evidence in sorted(found.items()))


def undecided_words(evidence: Iterable[Evidence]) -> str:
    """The facts that leave a test undecided: `the steerer length of the fork is not on record`."""
    words = []
    for item in evidence:
        name = f"the {attribute_words(item.attribute)} of the {item.position.replace('-', ' ')}"
        if item.missing:
            words.append(f"{name} {'are' if item.attribute in _MANY else 'is'} not on record")
        elif item.open:
            words.append(f"{name} is only known as {item.value} {item.unit}".rstrip())
    return ", ".join(words)


# Worked out only where a test fails, since a search for remedies runs very many that hold.
Because = Callable[[], tuple[Cause, ...]]
_MANY = {"passages", "places", "mounts", "ports"}


def judge(
    name: str,
    level: Level,
    test: Test,
    positions: tuple[str, ...],
    source: str,
    *,
    fault: str,
    ask: str,
    because: Because | None = None,
    also: Iterable[Fact] = (),
    turns_on: tuple[str, ...] = (),
) -> Iterator[Finding]:
    """A finding for a test that fails or cannot be decided; nothing for one that holds.

    `fault` is the sentence for a failed test, `ask` what is not known if it is undecided ("whether …").
    A missing fact counts only where it could block: an undecided test of a lesser level is a caution.
    `because` tells the causes; left out, what could block is told by the facts of the test.
    """
    if test.yes:
        return
    evidence = evidence_of((*test.facts, *also))
    causes = because() if because is not None else causes_of(test.facts) if level is Level.BLOCKS else ()
    if test.no:
        text = fault[:1].upper() + fault[1:]
        yield Finding(name, level, text, positions, evidence, causes, source, turns_on=turns_on)
    elif level in (Level.BLOCKS, Level.EXTRA):
        # What leaves the test open is among the facts of the test; `also` only tells the rest of the story.
        undecided = tuple(item for item in evidence_of(test.facts) if item.open)
        missing = undecided_words(undecided)
        text = f"Not known {ask}" + (f": {missing}." if missing else ".")
        weaker = Level.UNKNOWN if level is Level.BLOCKS else Level.CAUTION
        yield Finding(name, weaker, text, positions, evidence, causes, source, undecided=undecided, turns_on=turns_on)
