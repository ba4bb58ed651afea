"""The rule registry's building block, and the engine that runs joint rows and rules over a bike."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from dataclasses import replace
from inspect import getdoc
from typing import NamedTuple

from buildcheck.fit.causes import causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Fact, Test, shown
from buildcheck.fit.joints import Joint, is_meant, joint_holds, joints_of
from buildcheck.fit.judge import Because, evidence_of, judge
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level

Check = Callable[["Rule", Context], Iterator[Finding]]


class Rule(NamedTuple):
    """A documented check. The docstring of its function is the page that users read.

    `ways_help`: with more ways for lines its findings stay as they are or go away, with fewer none goes.
    """

    name: str
    levels: tuple[Level, ...]
    source: str
    page: str
    check: Check
    needs_change: bool = False
    ways_help: bool = False

    @property
    def level(self) -> Level:
        """The most serious level that it can have."""
        return self.levels[0]

    def found(self, context: Context) -> Iterator[Finding]:
        """What the check finds, with the marks of the rule."""
        for finding in self.check(self, context):
            yield replace(finding, ways_help=True) if self.ways_help else finding

    def judge(
        self,
        test: Test,
        positions: tuple[str, ...],
        *,
        fault: str,
        ask: str = "",
        level: Level | None = None,
        because: Because | None = None,
        also: Iterable[Fact] = (),
        turns_on: tuple[str, ...] = (),
    ) -> Iterator[Finding]:
        """`judge` with this rule's name, level and source."""
        return judge(
            self.name, level or self.level, test, positions, self.source,
            fault=fault, ask=ask, because=because, also=also, turns_on=turns_on,
        )  # fmt: skip

    def tell(
        self,
        text: str,
        positions: tuple[str, ...],
        facts: Iterable[Fact] = (),
        because: tuple[Cause, ...] = (),
        level: Level | None = None,
        turns_on: tuple[str, ...] = (),
    ) -> Finding:
        """A finding of this rule; the text begins with a capital letter however it was put together.

        What blocks and is given no causes is told by its facts.
        """
        text, level, facts = text[:1].upper() + text[1:], level or self.level, tuple(facts)
        causes = because or (causes_of(facts) if level is Level.BLOCKS else ())
        return Finding(self.name, level, text, positions, evidence_of(facts), causes, self.source, turns_on=turns_on)


def rule(*levels: Level, source: str, needs_change: bool = False, ways_help: bool = False) -> Callable[[Check], Rule]:
    """Make a rule of a function: its name with hyphens is the finding's name."""

    def make(check: Check) -> Rule:
        name = check.__name__.replace("_", "-")
        return Rule(name, levels, source, getdoc(check) or "", check, needs_change, ways_help)

    return make


class Ran(NamedTuple):
    """Findings in their fixed order, with the names that ran and those that did not."""

    findings: tuple[Finding, ...]
    rules_run: tuple[str, ...]
    rules_skipped: tuple[tuple[str, str], ...]


def run(context: Context, rules: Sequence[Rule]) -> Ran:
    """Look at every joint by its row and at the whole bike by every rule."""
    findings = list(joint_findings(context))
    ran = sorted({row.name for row in context.view.standards.joints})
    skipped: list[tuple[str, str]] = []
    for each in rules:
        if each.needs_change and context.before is None:
            skipped.append((each.name, "it compares a bike before and after a change, and nothing is changed here"))
            continue
        findings.extend(each.found(context))
        ran.append(each.name)
    return Ran(tuple(sorted(findings, key=Finding.sort_key)), tuple(ran), tuple(skipped))


def run_named(context: Context, rules: Sequence[Rule], name: str) -> list[Finding]:
    """The findings of one name only: far cheaper than a whole vetting."""
    for each in rules:
        if each.name == name:
            return list(each.found(context))
    return list(joint_findings(context, (name,)))


def run_counting(context: Context, rules: Sequence[Rule], names: Collection[str] | None = None) -> list[Finding]:
    """What blocks, and what is not known and could: the findings that decide a verdict. Of these names, if given."""
    findings = list(joint_findings(context, names))
    for each in rules:
        if each.level is Level.BLOCKS and (names is None or each.name in names):
            findings.extend(each.found(context))
    return [finding for finding in findings if finding.level in (Level.BLOCKS, Level.UNKNOWN)]


def joint_findings(context: Context, names: Collection[str] | None = None) -> Iterator[Finding]:
    """A finding for every joint whose sides do not mate, or may not; of some rows if their names are given."""
    for joint in joints_of(context.joints):
        if names is not None and joint.row.name not in names:
            continue
        test = joint_holds(context.view, joint)
        if not test.yes:
            yield from _joint_finding(context, joint, test)


def _joint_finding(context: Context, joint: Joint, test: Test) -> Iterator[Finding]:
    view, row = context.view, joint.row
    a, b = view.fact(joint.a, row.a_attribute), view.fact(joint.b, row.b)
    words = {"a": _value(a), "b": _value(b), "at": view.name(joint.a.position), "of": view.name(joint.b.position)}
    fault = row.message.format(**words)
    if joint.adapter is not None:
        fault += f" The adapter between them ({joint.adapter.part.name}) does not join these two."
    interface = view.standards.interfaces[row.interface]
    ask = f"whether {words['at']} and {words['of']} agree on the {interface.what}"
    positions: tuple[str, ...] = (joint.a.position, joint.b.position)
    for other in (row.adapter, row.unless):  # what could come between
        if other is not None:
            positions += (other.replace("{at}", joint.a.position),)
    also = is_meant(view, joint).facts
    yield from judge(row.name, row.level, test, positions, row.source, fault=fault, ask=ask, also=also)


def _value(fact: Fact) -> str:
    if fact.value is None:
        return "an unknown size" if fact.unit else "unknown"
    return f"{shown(fact.value)} {fact.unit}".strip()
