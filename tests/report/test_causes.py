"""Laws of the causes that a text report tells."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from dataclasses import replace

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Origin, Since
from buildcheck.model.sentences import Said, Size, as_said, say
from buildcheck.report.causes import MOST_LINES, Told, cause_lines, told_groups
from buildcheck.report.lines import WIDTH

_WORDS = st.sampled_from(["stem", "fork", "frame", "spacer", "hose", "5", "31.8", "220", "oval", "way", "none"])
_FACTS = st.sampled_from([("stem", "bar_clamp_mm"), ("fork", "steerer_length_mm"), ("frame", "bb_shell")])
_SIZES = st.builds(
    Size, st.sampled_from([5.0, 31.8]), st.just(220.0), st.just("mm"), shows=st.frozensets(_FACTS, max_size=2)
)


@st.composite
def _sentences(draw: st.DrawFn) -> Said:
    words = draw(st.lists(_WORDS, min_size=1, max_size=40))
    sizes = draw(st.lists(_SIZES, max_size=3))
    names = [f"size_{number}" for number in range(len(sizes))]
    template = " ".join([*words, *(f"{{{name}}}" for name in names)])
    return say(template, **dict(zip(names, sizes, strict=True)))


_TEXTS = _sentences()
_ORIGINS = st.sampled_from([None, None, Origin.STATED, Origin.MEASURED, Origin.INFERRED])
_LEAVES = st.builds(Cause, _TEXTS, st.just(()), _ORIGINS, st.sampled_from(["", "bike.yaml:3"]))


def _above(below: st.SearchStrategy[Cause]) -> st.SearchStrategy[Cause]:
    return st.builds(Cause, _TEXTS, st.lists(below, max_size=5).map(tuple))


_TREES = st.recursive(_LEAVES, _above, max_leaves=15)


@st.composite
def _findings(draw: st.DrawFn) -> list[Finding]:
    shared = draw(st.lists(_TREES, min_size=1, max_size=6))
    names = st.sampled_from(["hose-too-short", "bore-too-small", "no-way"])
    made = []
    for number in range(draw(st.integers(1, 8))):
        because = draw(st.lists(st.sampled_from(shared) | _TREES, max_size=4).map(tuple))
        level = draw(st.sampled_from([Level.BLOCKS, Level.UNKNOWN, Level.CAUTION]))
        message = say("{text} {number}.", text=draw(_TEXTS), number=number)
        since = draw(st.sampled_from(Since))
        made.append(Finding(draw(names), level, message, (f"place-{number}",), because=because, since=since))
    return made


def _each(causes: Iterable[Cause]) -> Iterator[Cause]:
    for cause in causes:
        yield cause
        yield from _each(cause.because)


def _all_told(findings: Iterable[Finding]) -> list[Told]:
    return [told for group in told_groups(findings).values() for told in group]


def _refers(cause: Cause) -> bool:
    return str(cause.text).startswith("as told ")


@given(_findings())
def test_no_fault_takes_more_lines_than_it_may(findings: list[Finding]) -> None:
    for group in told_groups(findings).values():
        lines = [line.text for told in group for line in cause_lines(told)]
        assert len(lines) <= MOST_LINES
        assert all(len(line) <= WIDTH for line in lines)


@given(_findings())
def test_no_sentence_is_told_twice(findings: list[Finding]) -> None:
    texts = [cause.text for told in _all_told(findings) for cause in _each(told.because) if not _refers(cause)]
    assert len(texts) == len(set(texts))


@given(_findings())
def test_each_told_sentence_stands_in_the_tree_of_its_finding(findings: list[Finding]) -> None:
    for told in _all_told(findings):
        for finding in told.findings:
            whole = {(cause.text, cause.origin, cause.where) for cause in _each(finding.because)}
            shown = {(cause.text, cause.origin, cause.where) for cause in _each(told.because) if not _refers(cause)}
            assert shown <= whole


@given(_findings())
def test_each_finding_is_told_once(findings: list[Finding]) -> None:
    told = [finding for told in _all_told(findings) for finding in told.findings]
    assert sorted(map(repr, told)) == sorted(map(repr, findings))


@given(_findings())
def test_what_is_pruned_is_pruned_no_further(findings: list[Finding]) -> None:
    once = _all_told(findings)
    again = _all_told(replace(finding, because=told.because) for told in once for finding in told.findings)
    as_found = {finding.positions: told.because for told in once for finding in told.findings}
    assert {finding.positions: told.because for told in again for finding in told.findings} == as_found
    assert not any(told.more for told in again)


@given(_findings(), st.randoms())
def test_the_order_of_findings_does_not_matter(findings: list[Finding], shuffle: random.Random) -> None:
    other = list(findings)
    shuffle.shuffle(other)
    assert told_groups(other) == told_groups(findings)


@given(_findings())
def test_a_reference_leads_to_a_fault_with_causes(findings: list[Finding]) -> None:
    groups = told_groups(findings)
    with_causes = {key[0] for key, group in groups.items() if any(told.because for told in group)}
    for told in _all_told(findings):
        for cause in told.because:
            if _refers(cause) and str(cause.text) != "as told above":
                assert str(cause.text).removeprefix("as told at ") in with_causes


def _finding(message: Said | str, *because: Cause, name: str = "a-fault", place: str = "stem") -> Finding:
    return Finding(name, Level.BLOCKS, as_said(message), (place,), because=because)


def _lines(*findings: Finding) -> list[str]:
    return [line.text.strip() for told in _all_told(findings) for line in cause_lines(told)]


CLAMP = Size(31.8, 31.8, "mm", shows=frozenset({("stem", "bar_clamp_mm")}))


def test_a_stated_fact_that_the_message_tells_is_not_told_again() -> None:
    stated = Cause(say("clamp of the stem: {value}", value=CLAMP), (), Origin.STATED, "stems.yaml:3")
    assert _lines(_finding(say("The stem clamps {clamp}.", clamp=CLAMP), stated)) == []
    assert _lines(_finding("The stem clamps too wide.", stated)) == ["because clamp of the stem: 31.8 mm"]


def test_another_fact_of_the_same_size_is_told() -> None:
    other = Size(31.8, 31.8, "mm", shows=frozenset({("handlebar", "clamp_mm")}))
    stated = Cause(say("clamp of the stem: {value}", value=CLAMP), (), Origin.STATED, "stems.yaml:3")
    told = _lines(_finding(say("The bar is {clamp} thick.", clamp=other), stated))
    assert told == ["because clamp of the stem: 31.8 mm"]


def test_a_measured_fact_is_told_with_its_place() -> None:
    measured = Cause(say("clamp of the stem: {value}", value=CLAMP), (), Origin.MEASURED, "bike.yaml:3")
    told = ["because clamp of the stem: 31.8 mm, measured (bike.yaml:3)"]
    assert _lines(_finding(say("The stem clamps {clamp}.", clamp=CLAMP), measured)) == told


def test_what_was_told_before_is_only_named() -> None:
    way = Cause(say("hose: {way}", way="lever > bar > caliper"), (Cause(say("the bar takes {mm}", mm=390)),))
    lines = _lines(_finding("No way.", way, name="a-fault"), _finding("Too short.", way, name="b-fault"))
    assert lines == ["because hose: lever > bar > caliper", "because the bar takes 390", "(as told at a-fault)"]


def test_what_finds_no_room_is_counted() -> None:
    many = [Cause(say("cause number {number}", number=number)) for number in range(20)]
    lines = _lines(_finding("Something.", *many))
    assert len(lines) == MOST_LINES
    assert lines[-1] == "… 9 more in the JSON report"
