"""The second use case: a bike, a change and one of its remedies in, the job card out."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from buildcheck.bench.advice import advice_for
from buildcheck.bench.compounds import compounds_of
from buildcheck.bench.torques import torque_rows
from buildcheck.candidates.impossible import in_short
from buildcheck.model.bikes import Change
from buildcheck.model.job import NO_SPREAD, JobCard, JobTime, Percentiles
from buildcheck.model.report import Remedy, RemedyPart, Report
from buildcheck.model.sentences import Said
from buildcheck.pictures.bike import pictures_of
from buildcheck.rules.pages import bench_alone
from buildcheck.trade.durations import DEFAULT_CORRELATION, spread_of
from buildcheck.trade.pert import Times, pert_mean_min
from buildcheck.vetting import Vetting, verdict_of
from buildcheck.work.activities import MINUTES_PER_HOUR, Activity, bare_and_rest
from buildcheck.work.plan import in_order
from buildcheck.work.slowdown import Slowness
from buildcheck.work.steps import (
    blocking,
    reasons_for,
    risks_of,
    steps_of,
    still_open,
    to_fill,
    tools_of,
    turned_round,
    used_up,
    what_is_renewed,
)


class NoSuchRemedyError(Exception):
    """The change has fewer remedies, or needs none."""


@dataclass(frozen=True)
class Agreed:
    """What shop and customer agreed on for one job.

    `remedy` None is the cheapest, where one is needed; `correlation` None is the usual one.
    """

    remedy: int | None = None
    promised: str = ""
    correlation: float | None = None


def job_card(vetting: Vetting, change: Change, agreed: Agreed) -> JobCard:
    """The card for a change. Raises NoSuchRemedyError."""
    report = vetting.swap(change)
    number = _number(report, agreed.remedy)
    whole = change if number is None else with_remedy(change, report.remedies[number - 1])
    return _Card(vetting, change, agreed, report, number, whole).made()


def with_remedy(change: Change, remedy: Remedy) -> Change:
    """The change with the parts of a remedy."""
    return with_parts(change, remedy.parts)


def with_parts(change: Change, parts: Iterable[RemedyPart]) -> Change:
    """The change with more parts that are fitted, put in new, taken off or moved."""
    fit, take_off, move, renew = [], [], [], []
    for part in parts:
        if part.renew:
            renew.append(part.position)
        elif part.id is not None:
            fit.append((part.id, part.position))
        elif part.onto is not None:
            move.append((part.position, part.onto))
        else:
            take_off.append(part.position)
    return change.with_more(fit, take_off, move, renew)


def _number(report: Report, asked: int | None) -> int | None:
    there = len(report.remedies)
    if asked is None:
        return 1 if there else None
    if not 1 <= asked <= there:
        has = f"has {there}, numbered from 1" if there else "has none"
        raise NoSuchRemedyError(f"there is no remedy {asked}: this change {has}")
    return asked


class _Card:
    """One card while it is made; `whole` is the change with the parts of the remedy."""

    def __init__(
        self, vetting: Vetting, change: Change, agreed: Agreed, report: Report, number: int | None, whole: Change
    ) -> None:
        self.vetting, self.change, self.agreed, self.report = vetting, change, agreed, report
        self.number, self.whole = number, whole
        self.done = done = vetting.vetted(whole)
        self.context = done.context
        self.standards = vetting.catalogue.standards
        asked = vetting.asked_positions(change, done)
        # There is no order of work for what cannot be ridden.
        there_is_work = not done.blocking and bool(self.context.touched)
        known = vetting.recalibrated
        found = bare_and_rest(self.context, done.findings, asked, known) if there_is_work else ([], [])
        self.bare, self.rest = found
        self.activities = [*self.bare, *self.rest]
        self.slowness = Slowness(vetting.bike, self.standards)
        self.times = {activity.id: self._time_of(activity) for activity in self.activities}

    def _time_of(self, activity: Activity) -> Times:
        """The book's minutes, by what jobs really took and by the conditions noted on the bike."""
        return self.slowness.slowed(activity.times, activity.operation.id, activity.position)

    def made(self) -> JobCard:
        """The card."""
        done, report, context = self.done, self.report, self.context
        plan = in_order(self.activities, context, {name: pert_mean_min(*time) for name, time in self.times.items()})
        steps = steps_of(self.activities, (activity.id for activity in self.bare), self.times, plan)
        time = self._time(plan.schedule.ends_min)
        parts = self._parts()
        torques = torque_rows(context, steps)
        wrenches = {row.wrench for row in torques if row.wrench}
        return JobCard(
            bike=report.bike,
            bike_name=report.bike_name,
            change=report.change,
            promised=self.agreed.promised,
            stands=verdict_of(self.vetting.ran_before.findings, changed=False),
            asked_verdict=report.verdict,
            verdict=verdict_of(done.findings, changed=True),
            search=report.search.outcome,
            impossible=in_short(report.search.causes),
            remedy=self.number,
            parts=parts,
            parts_cost=_sum([part.price for part in parts if part.id is not None]),
            work_cost=round(time.real.mean * self.vetting.agreed.rate_eur_per_hour / MINUTES_PER_HOUR, 2),
            consumables=used_up(steps, compounds_of(context, steps)),
            tools=_each_once((*tools_of(steps), *wrenches)),
            steps=steps,
            time=time,
            torques=torques,
            advice=advice_for(context, steps),
            to_fill=to_fill(steps, self.standards.operations, self.vetting.measure_first(self.whole), self._kind_at),
            reasons=reasons_for(self.rest, lambda activity: pert_mean_min(*self.times[activity.id]), done.findings),
            blocking=blocking(report.findings),
            open=still_open(done.findings),
            risks=risks_of(done.findings, bench_alone(self.standards)),
            cautions=(
                *report.cautions,
                *what_is_renewed(steps, context),
                *turned_round(steps, done.findings),
            ),
            pictures=pictures_of(context.before, context, done.findings),
        )

    def _time(self, elapsed_min: float) -> JobTime:
        activities = self.activities
        correlation = DEFAULT_CORRELATION if self.agreed.correlation is None else self.agreed.correlation
        asked, real = ([self.times[activity.id] for activity in some] for some in (self.bare, activities))
        slow = self.slowness.notes((activity.operation.id, activity.position) for activity in activities)
        names = {activity.operation.id for activity in activities}
        recorded = (record.text for name, record in self.vetting.recalibrated.items() if name in names)
        notes = [*(note.text for note in slow), *recorded]
        return JobTime(
            asked=_spread(asked, correlation),
            real=_spread(real, correlation),
            waiting_min=math.fsum(activity.operation.waits_min for activity in activities),
            elapsed_min=round(elapsed_min, 1),
            correlation=correlation,
            notes=tuple(notes),
        )

    def _parts(self) -> tuple[RemedyPart, ...]:
        return (*self.report.asked_parts, *(self.report.remedies[self.number - 1].parts if self.number else ()))

    def _kind_at(self, position: str) -> str:
        spot = self.context.bike.get(position)
        return "" if spot is None else spot.part.kind


def _each_once(tools: Iterable[Said | str]) -> tuple[Said | str, ...]:
    """The tools by name; a wrench that an operation names, too, once."""
    found = {str(tool): tool for tool in tools}
    return tuple(found[name] for name in sorted(found))


def _spread(times: Sequence[Times], correlation: float) -> Percentiles:
    if not times:
        return NO_SPREAD
    return Percentiles(*(round(minutes, 1) for minutes in spread_of(times, correlation)))


def _sum(prices: Sequence[float | None]) -> float | None:
    known = [price for price in prices if price is not None]
    return round(math.fsum(known), 2) if len(known) == len(prices) else None
