"""The steps of a job card: each operation in its place, with what has to pass before it and what it ends for good."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from buildcheck.fit.context import Context
from buildcheck.model.findings import Finding
from buildcheck.model.job import Reason, Step, ToFill
from buildcheck.model.levels import Level, Since
from buildcheck.model.report import ConsumableUse, MeasureFirst
from buildcheck.model.sentences import At, Said, Word, say
from buildcheck.model.standards import Operation
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
        minutes=minutes_of([time]), after=plan.after[activity.id], why=activity.why, asked=asked, tools=row.tools,
        consumables=uses_of(row), hold=row.hold, final=row.final, waits_min=row.waits_min,
        starts_min=round(plan.schedule.starts_min[activity.id], 1), source=row.source,
    )  # fmt: skip


def used_up(steps: Iterable[Step]) -> tuple[ConsumableUse, ...]:
    """What the whole job uses up, each thing once with its amount."""
    found: dict[tuple[str, str], float] = {}
    for step in steps:
        for item in step.consumables:
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


def reasons_for(extra: Iterable[Activity], mean_min: Callable[[Activity], float]) -> tuple[Reason, ...]:
    """Why the job takes longer than the bare swap: each cause with the minutes that it brings, the longest first."""
    found: dict[str, Reason] = {}
    for activity in extra:
        new = _reason(activity.cause, activity.operation.phase, mean_min(activity))
        old = found.get(new.name)
        found[new.name] = new if old is None else _together(old, new)
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
    return tuple(_told(finding) for finding in findings if finding.level is Level.BLOCKS)


def still_open(findings: Iterable[Finding]) -> tuple[Reason, ...]:
    """What blocks, or is not known and could because of the change."""
    return tuple(
        _told(finding) for finding in findings
        if finding.level is Level.BLOCKS or (finding.level is Level.UNKNOWN and finding.since is Since.CHANGE)
    )  # fmt: skip


def _told(finding: Finding) -> Reason:
    return Reason(finding.name, finding.level, finding.positions, (finding.message,), 0.0)


def only_these_fluids(steps: Iterable[Step], context: Context) -> tuple[Said, ...]:
    """Which fluid goes into each brake that is bled; nothing of a hose whose record does not say."""
    found = []
    for step in steps:
        spot = context.bike.get(step.position)
        fluid = getattr(spot.part, "fluid", None) if spot is not None and step.operation == "bleed-brake" else None
        if isinstance(fluid, str) and spot is not None:
            text = "{position}: only {fluid} goes into this brake; another fluid ruins its seals"
            found.append(say(text, position=At(spot.position), fluid=Word(fluid)))
    return tuple(found)


def turned_round(steps: Iterable[Step], findings: Iterable[Finding]) -> tuple[Said, ...]:
    """Which of the wires that are pulled in or plugged in begin at the other end than they are entered."""
    handled = {step.position for step in steps}
    return tuple(
        finding.message for finding in findings
        if finding.name == "wire-turned-round" and finding.positions[0] in handled
    )  # fmt: skip
