"""The steps of a job card: each operation in its place, with what has to pass before it and what it ends for good."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import replace

from buildcheck.fit.context import Context
from buildcheck.model.findings import Finding
from buildcheck.model.job import Reason, Risk, Step, ToFill
from buildcheck.model.levels import Level, Since
from buildcheck.model.report import ConsumableUse, MeasureFirst
from buildcheck.model.sentences import At, Said, Word, say
from buildcheck.model.workshop import Operation
from buildcheck.trade.pert import Times
from buildcheck.work.activities import Activity, minutes_of, uses_of
from buildcheck.work.disturbances import Disturbance
from buildcheck.work.plan import Plan


def steps_of(
    activities: Iterable[Activity], asked: Iterable[str], times: Mapping[str, Times], plan: Plan
) -> tuple[Step, ...]:
    """The operations as steps, in the order of the plan. `asked` are the ids of the bare swap."""
    by_id, bare = {activity.id: activity for activity in activities}, frozenset(asked)
    return tuple(
        _step(number, by_id[name], name in bare, times[name], plan)
        for number, name in enumerate(plan.schedule.starts_min, 1)
    )


def _step(number: int, activity: Activity, asked: bool, time: Times, plan: Plan) -> Step:
    row = activity.operation
    return Step(
        number=number, id=activity.id, operation=row.id, what=row.what, position=activity.position, phase=row.phase,
        minutes=minutes_of([time]), after=plan.after[activity.id], why=activity.why, asked=asked, tools=activity.tools,
        consumables=uses_of(row), hold=row.hold, final=row.final, waits_min=row.waits_min,
        starts_min=round(plan.schedule.starts_min[activity.id], 1), source=row.source,
    )  # fmt: skip


def used_up(steps: Iterable[Step], beside: Iterable[ConsumableUse] = ()) -> tuple[ConsumableUse, ...]:
    """What the whole job uses up, each thing once with its amount; `beside` is what no step alone tells."""
    found: dict[tuple[str, str], float] = {}
    for item in (*(item for step in steps for item in step.consumables), *beside):
        found[item.what, item.unit] = found.get((item.what, item.unit), 0.0) + item.amount
    return tuple(ConsumableUse(what, round(amount, 2), unit) for (what, unit), amount in sorted(found.items()))


def tools_of(steps: Iterable[Step]) -> tuple[str, ...]:
    """Every tool once, by name."""
    return tuple(sorted({tool for step in steps for tool in step.tools}))


def to_fill(
    steps: Iterable[Step],
    rows: Mapping[str, Operation],
    measure: Iterable[MeasureFirst],
    kind_at: Callable[[str], str],
) -> tuple[ToFill, ...]:
    """The values that are written on the card: what is to be measured first, then what the operations record."""
    asked = [ToFill(item.position, item.attribute, item.how, kind_at(item.position)) for item in measure]
    noted = [ToFill(step.position or "", word) for step in steps for word in rows[step.operation].records]
    return (*asked, *dict.fromkeys(noted))


def reasons_for(
    extra: Iterable[Activity], mean_min: Callable[[Activity], float], findings: Iterable[Finding]
) -> tuple[Reason, ...]:
    """Why the job takes longer than the bare swap: each cause with the minutes that it brings, the longest first.

    What the change brings and no operation answers has none, and is told all the same.
    """
    found: dict[str, Reason] = {}
    for activity in extra:
        new = _reason(activity.cause, activity.operation.phase, mean_min(activity))
        old = found.get(new.name)
        found[new.name] = new if old is None else _together(old, new)
    for finding in findings:
        if finding.level is Level.EXTRA and finding.since is Since.CHANGE:
            found.setdefault(finding.name, _told(finding))
    rounded = (replace(reason, minutes=round(reason.minutes, 1)) for reason in found.values())
    return tuple(sorted(rounded, key=lambda reason: (-reason.minutes, reason.name)))


def _reason(cause: Disturbance | Finding, phase: str, minutes: float) -> Reason:
    """What is done because of the change alone goes by what is done: `work-fit`, `work-thread`, `work-check`."""
    if isinstance(cause, Finding):
        return Reason(cause.name, cause.level, cause.positions, (cause.message,), minutes)
    if phase in ("settings", "test", "finish"):
        return Reason("work-check", Level.EXTRA, (cause.position,), (cause.why,), minutes)
    return Reason(f"work-{cause.verb}", Level.EXTRA, (cause.position,), (cause.why,), minutes)


def _together(old: Reason, new: Reason) -> Reason:
    positions = tuple(dict.fromkeys((*old.positions, *new.positions)))
    messages = tuple(dict.fromkeys((*old.messages, *new.messages)))
    return replace(old, positions=positions, messages=messages, minutes=old.minutes + new.minutes)


def blocking(findings: Iterable[Finding]) -> tuple[Reason, ...]:
    """What blocks, in words."""
    return tuple(_told(finding) for finding in findings if finding.level is Level.BLOCKS and finding.counts)


def still_open(findings: Iterable[Finding]) -> tuple[Reason, ...]:
    """What blocks, or is not known and could because of the change."""
    return tuple(
        _told(finding) for finding in findings
        if finding.counts and finding.level in (Level.BLOCKS, Level.UNKNOWN)
    )  # fmt: skip


def risks_of(findings: Iterable[Finding], bench_alone: Collection[str]) -> tuple[Risk, ...]:
    """Every caution; those of the names in `bench_alone` do not concern the rider."""
    return tuple(
        Risk(finding.name, finding.positions, finding.message, finding.since, finding.name not in bench_alone)
        for finding in findings if finding.level is Level.CAUTION
    )  # fmt: skip


def _told(finding: Finding) -> Reason:
    return Reason(finding.name, finding.level, finding.positions, (finding.message,), 0.0)


def what_is_renewed(steps: Iterable[Step], context: Context) -> tuple[Said, ...]:
    """What must go into the things that are opened: the fluid, inserts and olives, the link of the chain.

    Where no record tells, the card says so: it must be known before anything is opened.
    """
    found: list[Said] = []
    for step in steps:
        if step.position is not None and step.position in context.bike:
            for tell in _RENEWED_BY.get(step.operation, ()):
                found += tell(context, step.position)
    return tuple(found)


def _fluids(context: Context, hose: str) -> Iterator[Said]:
    """Which fluid goes into a brake that is bled, and at which end of its hose nobody knows it."""
    ends = [end for end in (context.bike[hose].start, context.bike[hose].end) if end is not None]
    facts = [context.view.word(at, "fluid") for at in (hose, *ends) if context.view.has(at, "fluid")]
    known = next((fact.held for fact in facts if fact.held is not None), None)
    if known is not None:
        text = "{position}: only {fluid} goes into this brake; another fluid ruins its seals"
        yield say(text, position=At(hose), fluid=Word(known))
    for fact in facts:
        if fact.held is None:
            text = "{position}: its fluid is not on record; read it off the part or ask its maker before it is opened"
            yield say(text, position=At(fact.position))


def _hose_ends(context: Context, hose: str) -> Iterator[Said]:
    """Whose inserts and olives go on a hose that is connected anew."""
    system = context.view.word(hose, "hose_system").held
    if system is None:
        text = "{position}: its hose system is not on record; find out which inserts and olives go on before it is cut"
        yield say(text, position=At(hose))


def _chain_link(context: Context, chain: str) -> Iterator[Said]:
    """For how many speeds the link or pin is that closes a chain again."""
    speeds = context.view.word(chain, "speeds")
    if speeds.held is None:
        text = "{position}: no record tells for how many speeds it is; a link or pin for another number comes apart"
        yield say(text, position=At(chain))
    else:
        text = "{position}: the quick link or joining pin is one for {speeds} speeds"
        yield say(text, position=At(chain), speeds=speeds.told())


# What is told of which operation's position.
_RENEWED_BY: Mapping[str, tuple[Callable[[Context, str], Iterator[Said]], ...]] = {
    "bleed-brake": (_fluids,),
    "connect-hose-end": (_hose_ends,),
    "put-chain-back": (_chain_link,),
    "fit-chain": (_chain_link,),
}


def turned_round(steps: Iterable[Step], findings: Iterable[Finding]) -> tuple[Said, ...]:
    """Which of the wires that are pulled in or plugged in begin at the other end than they are entered."""
    handled = {step.position for step in steps}
    return tuple(
        finding.message for finding in findings
        if finding.name == "wire-turned-round" and finding.positions[0] in handled
    )  # fmt: skip
