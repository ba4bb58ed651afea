"""The rule registry's building block, and the engine that runs joint rows and rules over a bike."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Sequence
from inspect import getdoc
from typing import NamedTuple

from buildcheck.fit import tape
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Fact, Test
from buildcheck.fit.joints import Joint, is_meant, joint_bears, joint_holds, joints_named
from buildcheck.fit.judge import Because, found, is_silent, judge
from buildcheck.fit.tape import Tape
from buildcheck.fit.view import Same, View, called
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Said, as_said, say

Check = Callable[["Rule", Context], Iterator[Finding]]


class Rule(NamedTuple):
    """A documented check. The docstring of its function is the page that users read.

    `rider`: does a caution of it concern the rider, too? None where it never ends in one. `settled_at_work`: does a
    caution of it tell what to mind at work, or what was seen on the bike, so that no other part would be better for it?
    `use_proves`: could a bike with what blocks here be assembled, could it be ridden? `endangers`, of what can be there
    for years: is it a danger to the rider, so that it counts whatever is changed?
    """

    name: str
    levels: tuple[Level, ...]
    use_proves: Proof
    endangers: bool | None
    source: str
    page: str
    check: Check
    needs_change: bool = False
    rider: bool | None = None
    settled_at_work: bool = False

    @property
    def level(self) -> Level:
        """The most serious level that it can have."""
        return self.levels[0]

    def found(self, context: Context, sought: tuple[str, ...] | None = None) -> list[Finding]:
        """What the check finds, each with all that was read on the way to it. See `Tape` for what is `sought`."""
        with tape.recording(Tape(sought)):
            return list(self.check(self, context))

    def is_silent(self, test: Test, level: Level | None = None) -> bool:
        """Would `judge` find nothing? To pass over what holds before it is put into words; for nothing else.

        So it is not recorded: the test has the facts.
        """
        return is_silent(test, level or self.level)

    def judge(
        self,
        test: Test,
        positions: tuple[str, ...],
        *,
        fault: str | Said,
        ask: str | Said = "",
        level: Level | None = None,
        because: Because | None = None,
    ) -> tuple[Finding, ...]:
        """`judge` with this rule's name, level and source."""
        return judge(
            self.name, level or self.level, test, positions, self.source,
            fault=as_said(fault), ask=as_said(ask), because=because,
        )  # fmt: skip

    def judge_with_limit(
        self, usual: Test, limit: Test, positions: tuple[str, ...], *, fault: str | Said, ask: str | Said
    ) -> tuple[Finding, ...]:
        """Of a size: what misses the limit blocks, what keeps it and is not as usual is a caution."""
        if limit.yes:
            return self.judge(usual, positions, level=Level.CAUTION, fault=fault)
        return self.judge(limit, positions, fault=fault, ask=ask)

    def tell(
        self,
        text: str | Said,
        positions: tuple[str, ...],
        facts: Iterable[Fact] = (),
        because: Because | None = None,
        level: Level | None = None,
    ) -> Finding:
        """A finding of this rule. What it tells rests on what was read, and on these facts.

        What blocks and is given no causes is told by its facts.
        """
        level = level or self.level
        told = level is Level.BLOCKS
        return found(self.name, level, as_said(text), positions, tuple(facts), self.source, because=because, told=told)


def rule(
    *levels: Level,
    use_proves: Proof,
    source: str,
    endangers: bool | None = None,
    rider: bool | None = None,
    needs_change: bool = False,
    settled_at_work: bool = False,
) -> Callable[[Check], Rule]:
    """Make a rule of a function: its name with hyphens is the finding's name.

    Raises ValueError where `endangers` is not said of what blocks and of which use proves nothing, or is said
    otherwise; and where use is to prove something of what never blocks.
    """
    blocks, lasts = Level.BLOCKS in levels, use_proves is Proof.NOTHING
    if (endangers is not None) != (blocks and lasts) or not (blocks or lasts):
        raise ValueError("`endangers` belongs to what blocks and of which use proves nothing; use proves no caution")

    def make(check: Check) -> Rule:
        name, page = check.__name__.replace("_", "-"), getdoc(check) or ""
        return Rule(name, levels, use_proves, endangers, source, page, check, needs_change, rider, settled_at_work)

    return make


class Ran(NamedTuple):
    """Findings in their fixed order, with the names that ran and those that did not."""

    findings: tuple[Finding, ...]
    rules_run: tuple[str, ...]
    rules_skipped: tuple[tuple[str, str], ...]


def run(context: Context, rules: Sequence[Rule]) -> Ran:
    """Look at every joint by its row and at the whole bike by every rule."""
    asked, names, skipped = _asked(context, rules)
    findings = list(joint_findings(context))
    with tape.recording(None):  # most find nothing on most bikes: what those have read is of no use
        speaking = [each for each in asked if next(each.check(each, context), None) is not None]
    for each in speaking:
        findings.extend(each.found(context))
    return Ran(tuple(sorted(findings, key=Finding.sort_key)), names, skipped)


Asked = tuple[tuple[Rule, ...], tuple[str, ...], tuple[tuple[str, str], ...]]


def _asked(context: Context, rules: Sequence[Rule]) -> Asked:
    """The rules to be asked, the names of all that is looked at, and of what is not, with the reason."""

    def sort_out() -> Asked:
        asked = tuple(each for each in rules if context.before is not None or not each.needs_change)
        rows = sorted({row.name for row in context.view.standards.joints})
        why = "it compares a bike before and after a change, and nothing is changed here"
        skipped = tuple((each.name, why) for each in rules if context.before is None and each.needs_change)
        return asked, (*rows, *(each.name for each in asked)), skipped

    return context.view.memo.recall(("asked", context.before is None, Same(rules)), sort_out)


def run_named(context: Context, rules: Sequence[Rule], name: str) -> list[Finding]:
    """The findings of one name only: far cheaper than a whole vetting."""
    for each in rules:
        if each.name == name:
            return each.found(context)
    return list(joint_findings(context, (name,)))


def found_again(context: Context, rules: Sequence[Rule], finding: Finding) -> Finding | None:
    """The same finding on another bike, if it is there and as serious; without its causes.

    Two can be of one identity, as where a battery hangs on two systems of wires: then it is the one that says the same.
    """
    check = next((each for each in rules if each.name == finding.name), None)
    if check is not None:
        found = check.found(context, finding.positions)
    else:
        found = list(joint_findings(context, (finding.name,), finding.positions))
    same = (other for other in found if other.level is finding.level and other.identity == finding.identity)
    return min(same, key=lambda other: other.message != finding.message, default=None)


_THAT_COUNT = (Level.BLOCKS, Level.UNKNOWN)


def run_counting(context: Context, rules: Sequence[Rule], names: Collection[str] | None = None) -> list[Finding]:
    """What blocks, and what is not known and could: the findings that decide a verdict. Of these names, if given."""
    findings = list(joint_findings(context, names))
    for each in rules:
        if each.level in _THAT_COUNT and (names is None or each.name in names):
            findings.extend(each.found(context))
    return [finding for finding in findings if finding.level in _THAT_COUNT]


def joint_findings(
    context: Context, names: Collection[str] | None = None, sought: tuple[str, ...] | None = None
) -> Iterator[Finding]:
    """A finding for every joint whose sides do not mate, or may not; of some rows if their names are given.

    See `Tape` for what is `sought`.
    """
    view = context.view
    if names is None:
        doubtful = view.layout.recall("joints in doubt", lambda: _in_doubt(view, context.joints))
    else:
        doubtful = _in_doubt(view, joints_named(view, names))  # not all others first
    for joint, test in doubtful:
        with tape.recording(Tape(sought)):
            yield from list(_joint_finding(context, joint, test))


def _in_doubt(view: View, joints: Iterable[Joint]) -> tuple[tuple[Joint, Test], ...]:
    """The joints that do not hold for sure."""
    tests = ((joint, joint_holds(view, joint)) for joint in joints)
    return tuple((joint, test) for joint, test in tests if not test.is_yes)


def _joint_finding(context: Context, joint: Joint, test: Test) -> Iterator[Finding]:
    view, row = context.view, joint.row
    is_meant(view, joint).answer  # noqa: B018 - what a row is about is a condition of what it finds
    words = {
        "a": view.fact(joint.a, row.a_attribute).told(), "b": view.fact(joint.b, row.b).told(),
        "at": view.name(joint.a.position), "of": view.name(joint.b.position),
    }  # fmt: skip
    fault = say(row.message, **words)
    if joint.adapter is not None:
        fault = say(
            "{fault} The adapter between them ({adapter}) does not join these two.",
            fault=fault, adapter=called(joint.adapter),
        )  # fmt: skip
    ask = say(
        "whether {at} and {of} agree on the {what}",
        at=words["at"], of=words["of"], what=as_said(view.standards.interfaces[row.interface].what),
    )  # fmt: skip
    positions: tuple[str, ...] = (joint.a.position, joint.b.position)
    for other in (row.adapter, row.unless):  # what could come between
        if other is not None:
            positions += (other.replace("{at}", joint.at),)
    bears = joint_bears(view, joint)
    level, decides = (row.level, test) if bears.is_yes else (Level.BLOCKS, bears)
    yield from judge(row.name, level, decides, positions, row.source, fault=fault, ask=ask)
