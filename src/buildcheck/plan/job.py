"""The steps of a job card: each operation in its place, with what has to pass before it and what it ends for good."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from buildcheck.fit.context import Context
from buildcheck.model.findings import Finding
from buildcheck.model.job import Reason, Step, ToFill
from buildcheck.model.levels import Level
from buildcheck.model.report import ConsumableUse, MeasureFirst, Minutes, PlannedOperation
from buildcheck.model.standards import Operation
from buildcheck.plan.schedule import Clock
from buildcheck.plan.work import Unit, on_the_clock
from buildcheck.trade.pert import normal_percentile, pert_mean_min, pert_variance

# Low, likely and high minutes.
Time = tuple[float, float, float]


def book_time(operation: Operation) -> Time:
    """What the workshop's table says of an operation."""
    return operation.low_min, operation.likely_min, operation.high_min


def clock_of(units: Sequence[Unit], context: Context, times: Mapping[str, Time]) -> Clock:
    """When each operation begins, by the mean of its times, and when the bike is done."""
    return on_the_clock(units, context, {name: pert_mean_min(*time) for name, time in times.items()})


def steps_of(
    planned: Iterable[PlannedOperation], units: Iterable[Unit], asked: Iterable[str], times: Mapping[str, Time], clock: Clock
) -> tuple[Step, ...]:  # fmt: skip
    """The operations of a plan as steps, in the order of the clock. `asked` are the ids of the bare swap."""
    rows, bare = {unit.id: unit for unit in units}, frozenset(asked)
    plan = {operation.id: operation for operation in planned}
    return tuple(
        _step(number, plan[name], rows[name], name in bare, times[name], clock)
        for number, name in enumerate(clock.starts_min, 1)
    )


def _step(number: int, planned: PlannedOperation, unit: Unit, asked: bool, time: Time, clock: Clock) -> Step:
    row = unit.operation
    return Step(
        number=number, id=planned.id, operation=row.id, what=planned.what, position=planned.position, phase=planned.phase,
        minutes=_minutes(time), after=planned.after, why=planned.why, asked=asked, tools=planned.tools,
        consumables=planned.consumables, hold=row.hold, final=row.final, waits_min=row.waits_min,
        starts_min=round(clock.starts_min[planned.id], 1), source=planned.source,
    )  # fmt: skip


def _minutes(time: Time) -> Minutes:
    mean, variance = pert_mean_min(*time), pert_variance(*time)
    return Minutes(*time, round(mean, 1), round(normal_percentile(mean, variance, 0.8), 1))


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


def to_fill(steps: Iterable[Step], rows: Mapping[str, Operation], measure: Iterable[MeasureFirst]) -> tuple[ToFill, ...]:
    """The values that are written on the card: what is to be measured first, then what the operations record."""
    asked = [ToFill(item.position, item.attribute, item.how, "") for item in measure]
    noted = [ToFill(step.position or "", word, "", "") for step in steps for word in rows[step.operation].records]
    return (*asked, *dict.fromkeys(noted))


def reasons_for(extra: Iterable[Unit], mean_min: Callable[[Unit], float]) -> tuple[Reason, ...]:
    """Why the job takes longer than the bare swap: each cause with the minutes that it brings, the longest first."""
    minutes: dict[str, float] = {}
    level, places, words = dict[str, Level](), dict[str, dict[str, None]](), dict[str, dict[str, None]]()
    for unit in extra:
        cause = unit.cause
        is_finding = isinstance(cause, Finding)
        name = cause.name if is_finding else f"work-{cause.verb}"
        minutes[name] = minutes.get(name, 0.0) + mean_min(unit)
        level.setdefault(name, cause.level if is_finding else Level.EXTRA)
        positions = cause.positions if is_finding else (cause.position,)
        places.setdefault(name, {}).update(dict.fromkeys(positions))
        words.setdefault(name, {})[cause.message if is_finding else cause.why] = None
    found = [
        Reason(name, level[name], tuple(places[name]), " ".join(words[name]), round(minutes[name], 1)) for name in minutes
    ]
    return tuple(sorted(found, key=lambda reason: (-reason.minutes, reason.name)))


def blocking(findings: Iterable[Finding]) -> tuple[Reason, ...]:
    """What blocks, in words."""
    return tuple(
        Reason(finding.name, finding.level, finding.positions, finding.message, 0.0)
        for finding in findings if finding.level is Level.BLOCKS
    )  # fmt: skip
