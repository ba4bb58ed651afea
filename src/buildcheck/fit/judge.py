"""From a test to a finding: the one place that decides what a `no` and an `unknown` become, and what they rest on."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from operator import itemgetter

from buildcheck.fit import tape
from buildcheck.fit.causes import causes_of
from buildcheck.fit.facts import Fact, Test, size_told
from buildcheck.model.findings import Cause, Evidence, Finding
from buildcheck.model.levels import Level, Origin
from buildcheck.model.sentences import At, Attribute, Said, Several, Value, say

# Worked out only where a test fails, since a search for remedies runs very many that hold.
Because = Callable[[], tuple[Cause, ...]]
_MANY = {"passages", "places", "mounts", "ports"}


def evidence_of(facts: Iterable[Fact]) -> tuple[Evidence, ...]:
    """Each fact once, in a fixed order; with one that its own record tells what it is told by.

    What a fact follows from on a bike in use stands behind it.
    """
    named = tuple(facts)
    every = (each for fact in named for each in (*_of_its_record(fact), fact))
    found = {(fact.position, fact.attribute): fact.evidence() for fact in every}
    behind = {(fact.position, fact.attribute): replace(fact.evidence(), behind=True) for fact in _behind(named)}
    return tuple(evidence for _, evidence in sorted((*found.items(), *behind.items()), key=itemgetter(0)))


def _behind(facts: Iterable[Fact]) -> Iterator[Fact]:
    """What facts follow from, since the bike is in use; the nearest last."""
    for fact in facts:
        if fact.origin is Origin.IN_USE:
            yield from _behind(fact.read_off)
            yield from fact.read_off


def _of_its_record(fact: Fact) -> tuple[Fact, ...]:
    """What the same part's record says, where the fact was read off that."""
    return tuple(below for below in fact.read_off if below.position == fact.position)


def _missing(evidence: Iterable[Evidence]) -> list[Value]:
    """The facts that leave a test undecided: `the steerer length of the fork is not on record`."""
    words: list[Value] = []
    for item in evidence:
        what: dict[str, Value] = {"attribute": Attribute(item.attribute), "position": At(item.position)}
        if item.missing:
            several = "the {attribute} of the {position} are not on record"
            one = "the {attribute} of the {position} is not on record"
            words.append(say(several if item.attribute in _MANY else one, **what))
        elif item.open:
            known = size_told(item.fact, item.unit, item.origin)
            words.append(say("the {attribute} of the {position} is only known as {value}", **what, value=known))
    return words


def _not_known(ask: Said, undecided: Iterable[Evidence]) -> Said:
    missing = _missing(undecided)
    if not missing:
        return say("Not known {ask}.", ask=ask)
    return say("Not known {ask}: {missing}.", ask=ask, missing=Several(tuple(missing), ", "))


def is_silent(test: Test, level: Level) -> bool:
    """Does a test of this level leave nothing to tell? A missing fact counts only where it could block."""
    return test.is_yes or not (test.is_no or level in (Level.BLOCKS, Level.EXTRA))


def judge(
    name: str,
    level: Level,
    test: Test,
    positions: tuple[str, ...],
    source: str,
    *,
    fault: Said,
    ask: Said,
    because: Because | None = None,
) -> tuple[Finding, ...]:
    """A finding for a test that fails or cannot be decided; nothing for one that holds.

    `fault` is the sentence for a failed test, `ask` what is not known if it is undecided ("whether …").
    A missing fact counts only where it could block: an undecided test of a lesser level is a caution.
    `because` tells the causes; left out, what could block is told by the facts of the test. The evidence is what the
    test rests on, and what was read on the way to it.
    """
    if is_silent(test, level) or ((read := tape.running()) is not None and read.sought not in (None, positions)):
        return ()
    # What leaves the test open is among the facts of the test; what was read before it tells the rest of the story.
    undecided = () if test.is_no else tuple(item for item in evidence_of(test.facts) if item.open and not item.behind)
    message = fault if test.is_no else _not_known(ask, undecided)
    weaker = level if test.is_no else Level.UNKNOWN if level is Level.BLOCKS else Level.CAUTION
    told = level is Level.BLOCKS
    return (found(name, weaker, message, positions, test.facts, source, undecided, because, told=told),)


def found(
    name: str,
    level: Level,
    message: Said,
    positions: tuple[str, ...],
    facts: tuple[Fact, ...],
    source: str,
    undecided: tuple[Evidence, ...] = (),
    because: Because | None = None,
    *,
    told: bool,
) -> Finding:
    """A finding that rests on these facts and on all that was read so far; `told` by its facts, if by nothing else."""
    read = tape.running()
    causes: tuple[Cause, ...] = ()
    if read is None or read.sought is None:
        with tape.recording(None):
            causes = because() if because is not None else causes_of(facts) if told else ()
    if read is None:
        return Finding(name, level, message, positions, evidence_of(facts), causes, source, undecided=undecided)
    evidence = evidence_of((*read.facts.values(), *facts))
    threaded = read.threaded((item.position, item.attribute) for item in evidence)
    return Finding(
        name, level, message, positions, evidence, causes, source,
        undecided=undecided, turns_on=read.places, threaded=threaded,
    )  # fmt: skip
