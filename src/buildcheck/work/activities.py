"""The activities of a change: operations that disturbances and findings call for, each once."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import NamedTuple

from buildcheck.fit.context import Build, Context
from buildcheck.fit.reading import matches
from buildcheck.model.actuals import Recalibrated
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since
from buildcheck.model.report import NO_TIME, ConsumableUse, Minutes
from buildcheck.model.sentences import Said
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Operation
from buildcheck.trade.pert import Times, normal_percentile, pert_mean_min, pert_variance
from buildcheck.work.actuals import used_times
from buildcheck.work.disturbances import Disturbance, Verb, asked_disturbances
from buildcheck.work.line_disturbances import all_disturbances

MINUTES_PER_HOUR = 60.0
# What is only suspected gives no work order: nobody cuts a steerer on a guess.
_CERTAIN = (Level.BLOCKS, Level.EXTRA, Level.NOTE)


# What was recalibrated from real jobs, by operation; the book counts for all others.
Records = Mapping[str, Recalibrated]


class Activity(NamedTuple):
    """An operation at one position (or for the job), before it has its place in the order, with what calls for it.

    `times` are the low, likely and high minutes to reckon with, `tools` those that this very part takes.
    """

    operation: Operation
    position: str | None
    cause: Disturbance | Finding
    times: Times
    tools: tuple[str, ...]

    @property
    def id(self) -> str:
        """Unlike any other of the job."""
        return _activity_id(self.operation, self.position)

    @property
    def why(self) -> Said | str:
        """The cause in words."""
        return self.cause.why if isinstance(self.cause, Disturbance) else self.cause.name


def bare_and_rest(
    context: Context, findings: Sequence[Finding], asked: Iterable[str], records: Records
) -> tuple[list[Activity], list[Activity]]:
    """The activities of the bare swap, and all others that the change needs."""
    bare = _Activities(context, records).of(asked_disturbances(context, asked), ())
    bare_ids = {activity.id for activity in bare if activity.operation.per == "position"}
    every = _Activities(context, records).of(all_disturbances(context), findings)
    return [one for one in every if one.id in bare_ids], [one for one in every if one.id not in bare_ids]


class _Activities:
    """Gathers what disturbances and findings call for."""

    def __init__(self, context: Context, records: Records) -> None:
        self.context, self.records = context, records
        self.standards = context.view.standards
        self.found: dict[str, Activity] = {}

    def of(self, disturbances: Sequence[Disturbance], findings: Sequence[Finding]) -> list[Activity]:
        """Each operation once."""
        by_disturbance, by_finding = _calls_for(self.standards)
        for disturbance in disturbances:
            build = self._build(disturbance)
            usual = by_disturbance.get((disturbance.verb, disturbance.kind), ())
            for operation in (*usual, *self._for_condition(disturbance, build)):
                self._add(operation, disturbance.position, disturbance, build)
        for finding in findings:
            if finding.positions and finding.since is Since.CHANGE and finding.level in _CERTAIN:
                for operation in by_finding.get(finding.name, ()):
                    self._add(operation, finding.positions[0], finding, self.context)
        return list(self.found.values())

    def _build(self, disturbance: Disturbance) -> Build:
        """The bike with the part that is handled: the one that comes off, or else goes on or stays."""
        before = self.context.before
        return before if disturbance.verb is Verb.TAKE_OFF and before is not None else self.context

    def _for_condition(self, disturbance: Disturbance, build: Build) -> list[Operation]:
        """What a part calls for in a bad condition: once it is off, no finding tells of that any more; one that stays
        is mended while it is in the hand.
        """
        spot = build.bike.get(disturbance.position)
        if spot is None or not spot.condition or disturbance.verb is Verb.FIT:
            return []
        off = disturbance.verb is Verb.TAKE_OFF
        rows = self.standards.operations.values()
        return [row for row in rows if set(row.takes_off_if if off else row.mends).intersection(spot.condition)]

    def _add(self, operation: Operation, position: str, cause: Disturbance | Finding, build: Build) -> None:
        spot = build.bike.get(position)
        if not _concerns(operation, spot):
            return
        at = None if operation.per == "job" else position
        old = self.found.get(key := _activity_id(operation, at))
        if old is None:
            times, tools = used_times(operation, self.records), _tools_for(operation, spot)
            self.found[key] = Activity(operation, at, cause, times, tools)
        elif at is None:  # done once for several parts, with the tools of them all
            tools = tuple(dict.fromkeys((*old.tools, *_tools_for(operation, spot))))
            self.found[key] = old._replace(tools=tools)


def _activity_id(operation: Operation, position: str | None) -> str:
    return operation.id if position is None else f"{operation.id}@{position}"


def _concerns(operation: Operation, spot: Fitted | None) -> bool:
    """Is the part one that the operation is about?"""
    if not operation.where and not operation.where_any:
        return True
    if spot is None or not matches(spot.part, operation.where):
        return False
    return not operation.where_any or any(matches(spot.part, {name: of}) for name, of in operation.where_any.items())


def _tools_for(operation: Operation, spot: Fitted | None) -> tuple[str, ...]:
    """The tools that it takes on any part, and those for one that is made like this."""
    rows = [row for row in operation.tools_where if spot is not None and matches(spot.part, row.where)]
    return tuple(dict.fromkeys((*operation.tools, *(tool for row in rows for tool in row.tools))))


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
            (Verb.RESEAT, operation.reseats),
            (Verb.THREAD, operation.threads),
            (Verb.LEAD_IN, operation.leads_in),
            (Verb.RELAY, operation.relays),
            (Verb.LOOK_OVER, operation.looks_over),
            (Verb.RENEW_INNER, operation.renews_inner),
            (Verb.HOOK_UP, operation.hooks_up),
            (Verb.OPEN_FAR, operation.opens_far),
            (Verb.SET, operation.sets),
            (Verb.UNDONE, operation.undone),
        ):
            for kind in kinds:
                by_disturbance.setdefault((verb, kind), []).append(operation)
        for name in operation.on_finding:
            by_finding.setdefault(name, []).append(operation)
    return by_disturbance, by_finding


def mean_min(activity: Activity) -> float:
    """The mean of the times of an operation, in minutes."""
    return pert_mean_min(*activity.times)


def uses_of(operation: Operation) -> tuple[ConsumableUse, ...]:
    """What an operation uses up."""
    return tuple(ConsumableUse(item.what, item.amount, item.unit) for item in operation.consumables)


def total_minutes(activities: Iterable[Activity]) -> Minutes:
    """The minutes of activities, as `minutes_of` adds them up."""
    return minutes_of(activity.times for activity in activities)


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
