"""The second use case: a bike, a change and one of its remedies in, the job card out."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from buildcheck.model.bikes import Change
from buildcheck.model.job import JobCard, JobTime, Spread
from buildcheck.model.levels import Verdict
from buildcheck.model.pictures import Pictures
from buildcheck.model.report import Remedy, RemedyPart, Report
from buildcheck.plan.cheapest import Vetted
from buildcheck.plan.job import Time, blocking, book_time, clock_of, reasons_for, steps_of, to_fill, tools_of, used_up
from buildcheck.plan.work import MINUTES_PER_HOUR, Unit, bare_and_rest, plan_work
from buildcheck.vetting import Vetting, verdict_of


class NoSuchRemedyError(Exception):
    """The change has fewer remedies, or needs none."""


@dataclass(frozen=True)
class Agreed:
    """What shop and customer agreed on for one job. `remedy` None is the cheapest, where one is needed."""

    remedy: int | None = None
    promised: str = ""
    correlation: float = 0.2


def job_card(vetting: Vetting, change: Change, agreed: Agreed) -> JobCard:
    """The card for a change. Raises NoSuchRemedyError."""
    report = vetting.swap(change)
    number = _number(report, agreed.remedy)
    remedy = None if number is None else report.remedies[number - 1]
    whole = change if remedy is None else with_remedy(change, remedy)
    return _Card(vetting, change, agreed, report, number, vetting.vetted(whole)).made()


def with_remedy(change: Change, remedy: Remedy) -> Change:
    """The change with the parts of a remedy."""
    fits = tuple((part.id, part.position) for part in remedy.parts if part.id is not None)
    offs = tuple(part.position for part in remedy.parts if part.id is None)
    return replace(change, fit=(*change.fit, *fits), take_off=(*change.take_off, *offs))


def _number(report: Report, asked: int | None) -> int | None:
    if asked is None:
        return 1 if report.remedies else None
    if not 1 <= asked <= len(report.remedies):
        there = len(report.remedies)
        raise NoSuchRemedyError(
            f"there is no remedy {asked}: "
            + (f"this change has {there}, numbered from 1" if there else "this change has none")
        )
    return asked


class _Card:
    def __init__(
        self, vetting: Vetting, change: Change, agreed: Agreed, report: Report, number: int | None, done: Vetted
    ) -> None:
        self.vetting, self.change, self.agreed, self.report, self.number, self.done = (
            vetting, change, agreed, report, number, done,
        )  # fmt: skip
        self.asked = vetting.asked_positions(change, done)
        self.bare, self.rest = bare_and_rest(done.context, done.findings, self.asked) if self._is_work else ([], [])

    @property
    def _is_work(self) -> bool:
        """There is no order of work for what cannot be ridden."""
        return not self.done.blocking and bool(self.done.context.changed)

    def made(self) -> JobCard:
        done, report = self.done, self.report
        units = [*self.bare, *self.rest]
        times = {unit.id: book_time(unit.operation) for unit in units}
        clock = clock_of(units, done.context, times)
        rate = self.vetting.agreed.rate_eur_per_hour
        work = plan_work(done.context, done.findings, self.asked, rate) if units else report.work
        steps = steps_of(work.operations, units, (unit.id for unit in self.bare), times, clock) if units else ()
        time = self._time(times, clock.ends_min)
        rows = self.vetting.catalogue.standards.operations
        parts = self._parts()
        prices = [part.price for part in parts if part.id is not None]
        return JobCard(
            bike=report.bike,
            bike_name=report.bike_name,
            change=report.change,
            promised=self.agreed.promised,
            asked_verdict=report.verdict,
            verdict=verdict_of(done.findings, changed=True) if self.number else report.verdict,
            remedy=self.number,
            parts=parts,
            parts_cost=None if None in prices else round(sum(price or 0.0 for price in prices), 2),
            work_cost=round(time.real.mean * rate / MINUTES_PER_HOUR, 2),
            consumables=used_up(steps),
            tools=tools_of(steps),
            steps=steps,
            time=time,
            torques=(),
            advice=(),
            to_fill=to_fill(steps, rows, report.measure_first),
            reasons=reasons_for(self.rest, lambda unit: self._mean(times, unit)),
            blocking=blocking(report.findings),
            cautions=report.cautions,
            pictures=Pictures(),
        )

    def _mean(self, times: Mapping[str, Time], unit: Unit) -> float:
        low, likely, high = times[unit.id]
        return (low + 4 * likely + high) / 6

    def _time(self, times: Mapping[str, Time], elapsed_min: float) -> JobTime:
        bare = [times[unit.id] for unit in self.bare]
        real = list(times.values())
        spread = Spread(0.0, 0.0, 0.0, 0.0)
        waiting = sum(unit.operation.waits_min for unit in (*self.bare, *self.rest))
        assert bare is not None
        assert real is not None
        return JobTime(spread, spread, waiting, round(elapsed_min, 1), self.agreed.correlation)

    def _parts(self) -> tuple[RemedyPart, ...]:
        asked = [
            RemedyPart(part_id, self.done.context.bike[position].part.name, position, self._price(part_id))
            for part_id, position in self.change.fit
        ]
        return (*asked, *(self.report.remedies[self.number - 1].parts if self.number else ()))

    def _price(self, part_id: str) -> float | None:
        return self.vetting.catalogue.part(part_id).best_price_eur()


def code_of(card: JobCard) -> Verdict:
    """The verdict that the exit code follows."""
    return card.verdict
