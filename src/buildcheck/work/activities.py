"""The activities of a change: operations that disturbances and findings call for, each once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import lru_cache
from typing import NamedTuple

from buildcheck.fit.context import Build, Context
from buildcheck.fit.reading import matches
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since
from buildcheck.model.report import NO_TIME, ConsumableUse, Minutes
from buildcheck.model.sentences import Said
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Operation
from buildcheck.trade.pert import Times, normal_percentile, pert_mean_min, pert_variance
from buildcheck.work.disturbances import Disturbance, Verb, all_disturbances, asked_disturbances

MINUTES_PER_HOUR = 60.0
# What is only suspected gives no work order: nobody cuts a steerer on a guess.
_CERTAIN = (Level.BLOCKS, Level.EXTRA, Level.NOTE)


class Activity(NamedTuple):
    """An operation at one position (or for the job), before it has its place in the order, with what calls for it."""

    operation: Operation
    position: str | None
    cause: Disturbance | Finding

    @property
    def id(self) -> str:
        """Unlike any other of the job."""
        return self.operation.id if self.position is None else f"{self.operation.id}@{self.position}"

    @property
    def why(self) -> Said | str:
        """The cause in words."""
        return self.cause.why if isinstance(self.cause, Disturbance) else self.cause.name


def bare_and_rest(
    context: Context, findings: Sequence[Finding], asked: Iterable[str]
) -> tuple[list[Activity], list[Activity]]:
    """The activities of the bare swap, and all others that the change needs."""
    bare = _activities(asked_disturbances(context, asked), (), context)
    bare_ids = {activity.id for activity in bare if activity.operation.per == "position"}
    every = _activities(all_disturbances(context), findings, context)
    return [one for one in every if one.id in bare_ids], [one for one in every if one.id not in bare_ids]


def _activities(disturbances: Sequence[Disturbance], findings: Sequence[Finding], context: Context) -> list[Activity]:
    standards = context.view.standards
    builds: tuple[Build, Build | None] = (context, context.before)
    by_disturbance, by_finding = _calls_for(standards)
    found: dict[str, Activity] = {}
    for disturbance in disturbances:
        usual = by_disturbance.get((disturbance.verb, disturbance.kind), ())
        for operation in (*usual, *_for_condition(standards, disturbance, context.before)):
            if _concerns(operation, disturbance, builds):
                _add(found, operation, disturbance.position, disturbance)
    for finding in findings:
        if finding.positions and finding.since is Since.CHANGE and finding.level in _CERTAIN:
            for operation in by_finding.get(finding.name, ()):
                _add(found, operation, finding.positions[0], finding)
    return list(found.values())


def _for_condition(standards: Standards, disturbance: Disturbance, before: Build | None) -> list[Operation]:
    """What a part calls for that comes off in a bad condition: with it gone, no finding tells of that any more."""
    spot = before.bike.get(disturbance.position) if before is not None and disturbance.verb is Verb.TAKE_OFF else None
    if spot is None or not spot.condition:
        return []
    return [row for row in standards.operations.values() if set(row.takes_off_if).intersection(spot.condition)]


def _concerns(operation: Operation, disturbance: Disturbance, builds: tuple[Build, Build | None]) -> bool:
    """Is the part that comes off, or else the one that goes on or stays, one that the operation is about?"""
    if not operation.where:
        return True
    after, before = builds
    build = before if disturbance.verb is Verb.TAKE_OFF and before is not None else after
    spot = build.bike.get(disturbance.position)
    return spot is not None and matches(spot.part, operation.where)


def _add(found: dict[str, Activity], operation: Operation, position: str, cause: Disturbance | Finding) -> None:
    activity = Activity(operation, None if operation.per == "job" else position, cause)
    found.setdefault(activity.id, activity)


@lru_cache(maxsize=4)
def _calls_for(standards: Standards) -> tuple[dict[tuple[Verb, str], list[Operation]], dict[str, list[Operation]]]:
    """Which operations a disturbance on a kind of part calls for, and which a finding calls for."""
    by_disturbance: dict[tuple[Verb, str], list[Operation]] = {}
    by_finding: dict[str, list[Operation]] = {}
    for operation in standards.operations.values():
        for verb, kinds in (
            (Verb.TAKE_OFF, operation.takes_off),
            (Verb.FIT, operation.fits),
            (Verb.MOVE, operation.moves),
            (Verb.THREAD, operation.threads),
            (Verb.RELAY, operation.relays),
        ):
            for kind in kinds:
                by_disturbance.setdefault((verb, kind), []).append(operation)
        for name in operation.on_finding:
            by_finding.setdefault(name, []).append(operation)
    return by_disturbance, by_finding


def book_times(operation: Operation) -> Times:
    """Low, likely and high minutes as the workshop's table has them."""
    return operation.low_min, operation.likely_min, operation.high_min


def mean_min(activity: Activity) -> float:
    """The mean of the book times of an operation, in minutes."""
    return pert_mean_min(*book_times(activity.operation))


def uses_of(operation: Operation) -> tuple[ConsumableUse, ...]:
    """What an operation uses up."""
    return tuple(ConsumableUse(item.what, item.amount, item.unit) for item in operation.consumables)


def total_minutes(operations: Iterable[Operation]) -> Minutes:
    """The minutes of operations by the book, as `minutes_of` adds them up."""
    return minutes_of(map(book_times, operations))


def minutes_of(some: Iterable[Times]) -> Minutes:
    """Sums, PERT mean, and the 80th percentile of the sum taken as normal (independent operations)."""
    times = list(some)
    if not times:
        return NO_TIME
    mean = math.fsum(pert_mean_min(*time) for time in times)
    variance = math.fsum(pert_variance(*time) for time in times)
    p80 = normal_percentile(mean, variance, 0.8)
    low, likely, high = (math.fsum(column) for column in zip(*times, strict=True))
    return Minutes(low, likely, high, round(mean, 1), round(p80, 1))
