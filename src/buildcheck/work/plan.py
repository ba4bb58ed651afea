"""The work of a change as a plan: every activity once, in a legal order, with its minutes and what it costs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.graphs import reached
from buildcheck.model.findings import Finding
from buildcheck.model.report import PlannedOperation, Work
from buildcheck.work.activities import (
    MINUTES_PER_HOUR,
    Activity,
    Records,
    bare_and_rest,
    mean_min,
    total_minutes,
    uses_of,
)
from buildcheck.work.precedence import precedence_network, rank_of, straight_before, waits_of
from buildcheck.work.schedule import Schedule, make_schedule


class Plan(NamedTuple):
    """When each operation begins and when the bike is done; and what must be done right before each of them."""

    schedule: Schedule
    after: Mapping[str, tuple[str, ...]]


def plan_work(
    context: Context, findings: Sequence[Finding], asked: Iterable[str], rate_eur_per_hour: float, records: Records
) -> Work:
    """All operations of a change, with the bare swap's minutes and what this bike adds to them."""
    if context.before is None or not context.touched:
        return Work()
    bare, rest = bare_and_rest(context, findings, asked, records)
    activities = bare + rest
    plan = in_order(activities, context, {activity.id: mean_min(activity) for activity in activities})
    by_id = {activity.id: activity for activity in activities}
    planned = tuple(_planned(by_id[name], plan.after[name]) for name in plan.schedule.starts_min)
    asked_min, extra_min = (total_minutes(part) for part in (bare, rest))
    rate = rate_eur_per_hour / MINUTES_PER_HOUR
    names = {activity.operation.id for activity in activities}
    notes = tuple(record.text for name, record in records.items() if name in names)
    asked_cost, extra_cost = (round(minutes.mean * rate, 2) for minutes in (asked_min, extra_min))
    return Work(asked_min, extra_min, asked_cost, extra_cost, planned, notes)


def in_order(activities: Sequence[Activity], context: Context, minutes: Mapping[str, float]) -> Plan:
    """The order of these operations, by their minutes."""
    by_id = {activity.id: activity for activity in activities}
    before = precedence_network(activities, context)
    earlier = {name: reached(before, name) for name in before}
    schedule = make_schedule(before, minutes, waits_of(earlier, by_id), lambda name: rank_of(by_id[name]))
    order = list(schedule.starts_min)
    return Plan(schedule, {name: tuple(sorted(straight_before(earlier, name), key=order.index)) for name in order})


def _planned(activity: Activity, after: tuple[str, ...]) -> PlannedOperation:
    operation = activity.operation
    return PlannedOperation(
        id=activity.id,
        what=operation.what,
        position=activity.position,
        phase=operation.phase,
        minutes=total_minutes([activity]),
        after=after,
        why=activity.why,
        tools=activity.tools,
        consumables=uses_of(operation),
        source=operation.source,
    )


