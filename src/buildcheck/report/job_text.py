"""The job card as text: readable at 80 columns and without colour, in the words of the bench or of the customer."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from itertools import groupby

from buildcheck.library.problems import printable
from buildcheck.model.job import JobCard, Reason, Step, TorqueRow
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.texts import Audience, Texts
from buildcheck.report.job_words import asked_for, outcome_of, risks_told, safety_of
from buildcheck.report.lines import TextLine, head, wrapped

_BOX = "[ ]"
# So many reasons are told one by one: our choice, the rest is small.
_MOST_REASONS = 8


def job_lines(card: JobCard, texts: Texts, audience: Audience) -> Iterator[TextLine]:
    """The whole card, line by line; no name from a file can send escape codes to a terminal."""
    view = _Mechanic(card, texts) if audience == "mechanic" else _Customer(card, texts)
    # A space that keeps a number with its unit is a plain one on a terminal.
    return (TextLine(printable(line.text.replace("\N{NO-BREAK SPACE}", " ")), line.style) for line in view.lines())


class _View:
    audience: Audience = "mechanic"

    def __init__(self, card: JobCard, texts: Texts) -> None:
        self.card, self.texts, self.say = card, texts, texts.label

    def lines(self) -> Iterator[TextLine]:
        """All of it."""
        yield from self.top()

    def top(self) -> Iterator[TextLine]:
        card, say = self.card, self.say
        outcome = outcome_of(card, self.texts, self.audience)
        yield from wrapped(f"{say('job-card')}: {outcome}", hang=2, style=str(card.verdict))
        yield from wrapped(f"{say('bike')}: {card.bike_name} [{card.bike}]", hang=2)
        for row in self.request():
            yield from wrapped(f"{say('request')}: {row}", hang=2)
        day = self.texts.date(card.promised) if card.promised else say("not-promised")
        yield from wrapped(f"{say('promised')}: {day}")
        if card.asked_verdict != card.verdict:
            yield from wrapped(
                f"{say('asked-verdict')}: {self.texts.verdict(card.asked_verdict, self.audience)}", hang=2
            )
        if card.remedy is not None:
            yield from wrapped(say("remedy", number=card.remedy))

    def request(self) -> Iterator[str]:
        """What the customer asked for, in words."""
        return (asked_for(item, self.card, self.texts, self.audience) for item in self.card.change)

    def parts(self) -> Iterator[TextLine]:
        card, say = self.card, self.say
        yield from head(say("parts-to-pick"))
        for part in card.parts:
            at = self.texts.position(part.position, self.audience)
            if part.id is None:
                yield from wrapped(f"{_BOX} {self.texts.told(part.name)} ({at})", hang=4)
            else:
                name = self.texts.told(part.name) if part.renew else part.name
                yield from wrapped(f"{_BOX} {name} ({at}): {self.texts.money(part.price)}", hang=4)
        yield from wrapped(f"{say('total-parts')}: {self.texts.money(card.parts_cost)}")

    def blocking(self) -> Iterator[TextLine]:
        """What stops the job, or could."""
        if self.card.open:
            yield from head(self.say("not-possible" if self.blocked else "still-open"))
            yield from _told(self.card.open, self.reason)
        if self.card.impossible and self.audience == "mechanic":
            yield from head(self.say("no-remedy-because"))
            for why in self.card.impossible:
                yield from wrapped(f"* {self.texts.told(why)}", hang=2)

    @property
    def blocked(self) -> bool:
        """Is there no way to do it?"""
        return self.card.verdict is Verdict.BLOCKED

    def reason(self, reason: Reason) -> str:
        """One cause in words."""
        return self.texts.finding(reason.name)

    def risks(self) -> Iterator[TextLine]:
        """What may go wrong with the bike as it is after the job."""
        told = list(risks_told(self.card, self.texts, self.audience))
        if told:
            yield from head(self.say("risks" if self.audience == "mechanic" else "risks-for-customer"))
        for risk in told:
            yield from wrapped(f"! {risk}", hang=2, style="caution")

    def cautions(self) -> Iterator[TextLine]:
        yield from head(self.say("cautions"))
        for caution in self.card.cautions:
            yield from wrapped(f"! {self.texts.told(caution)}", hang=2, style="caution")


def _told(reasons: Iterable[Reason], words: Callable[[Reason], str]) -> Iterator[TextLine]:
    for text in dict.fromkeys(words(reason) for reason in reasons):
        yield from wrapped(f"* {text}", hang=2)


class _Mechanic(_View):
    def lines(self) -> Iterator[TextLine]:
        yield from self.top()
        yield from self.blocking()
        yield from self.parts()
        if self.card.steps:
            yield from self.time()
            yield from self.things()
            yield from self.order()
            yield from self.torques()
            yield from self.filled_in()
            yield from self.advice()
        yield from self.risks()
        yield from self.cautions()

    def reason(self, reason: Reason) -> str:
        if reason.level not in (Level.BLOCKS, Level.UNKNOWN):
            return super().reason(reason)
        return " ".join(map(self.texts.told, reason.messages))

    def time(self) -> Iterator[TextLine]:
        time, say, duration = self.card.time, self.say, self.texts.duration
        yield from head(say("time"))
        for key, spread in (("asked-time", time.asked), ("real-time", time.real)):
            rest = ", ".join(
                f"{say(name)} {duration(getattr(spread, name))}" for name in ("p50", "p80", "p95")
            )  # fmt: skip
            yield from wrapped(f"{say(key)}: {duration(spread.mean)} ({rest})", hang=2)
        yield from wrapped(f"{say('waiting-time')}: {duration(time.waiting_min)}")
        yield from wrapped(f"{say('away-time')}: {duration(time.elapsed_min)}")
        yield from wrapped(f"{say('total-work')}: {self.texts.money(self.card.work_cost)}")
        yield from wrapped(say("correlation-note", correlation=self.texts.number(time.correlation)), hang=2)
        for note in time.notes:
            yield from wrapped(f"* {self.texts.told(note)}", hang=2)

    def things(self) -> Iterator[TextLine]:
        """What is used up and which tools lie ready."""
        yield from head(self.say("consumables"))
        for item in self.card.consumables:
            amount = self.texts.quantity(item.amount, item.unit)
            yield from wrapped(f"{_BOX} {self.texts.told(item.what)}: {amount}", hang=4)
        yield from head(self.say("tools"))
        yield from wrapped(", ".join(self.texts.told(tool) for tool in self.card.tools))

    def order(self) -> Iterator[TextLine]:
        yield from head(self.say("order-of-work"))
        for phase, steps in groupby(self.card.steps, key=lambda step: step.phase):
            yield TextLine(self.texts.phase(phase, self.audience), "head")
            for step in steps:
                yield from self.step(step)

    def step(self, step: Step) -> Iterator[TextLine]:
        at = f" {self.texts.position(step.position)}:" if step.position else ""
        minutes = self.texts.duration(step.minutes.mean)
        if step.hold:
            yield from wrapped(f"== {self.say('hold-point')} ==", indent=6, style="blocks")
        what = self.texts.operation(step.operation, self.audience, step.what)
        yield from wrapped(f"{step.number:3}. {_BOX}{at} {what} ({minutes})", hang=9)
        if step.final:
            yield from wrapped(
                f"!! {self.say('final-step', what=self.texts.told(step.final))}", indent=9, hang=12, style="caution"
            )
        if step.waits_min:
            yield from wrapped(
                f".. {self.say('waiting', minutes=self.texts.duration(step.waits_min))}", indent=9, hang=12
            )

    def torques(self) -> Iterator[TextLine]:
        if self.card.torques:
            yield from head(self.say("torques"))
        for row in self.card.torques:
            yield from wrapped(f"* {self.torque(row)}", hang=2)
            for caution in row.cautions:
                yield from wrapped(f"! {self.texts.told(caution)}", indent=2, hang=4, style="caution")

    def torque(self, row: TorqueRow) -> str:
        """One fastener in one line."""
        say, number = self.say, self.texts.number
        name = f"{self.texts.position(row.position)}, {self.texts.told(row.what)}"
        pieces = [say("by-hand") if row.by_hand else torque_range(row, self.texts)]
        if row.limited_by:
            pieces.append(say("lower-limit-of", part=self.texts.told(row.limited_by)))
        pieces.append(f"{row.thread} {say('left-hand' if row.hand == 'left' else 'right-hand')}".strip())
        if row.compound:
            why = f" ({self.texts.told(row.compound_why)})" if row.compound_why else ""
            pieces.append(f"{self.texts.told(row.compound)}{why}")
        if not row.by_hand:
            pieces.append(self.texts.told(row.wrench) if row.wrench else say("no-wrench"))
        if row.set_nm is not None:
            pieces.append(say("set-to", torque=number(row.set_nm, 1)))
        return f"{name}: {'; '.join(pieces)}"

    def filled_in(self) -> Iterator[TextLine]:
        yield from head(self.say("values-to-fill-in"))
        for item in self.card.to_fill:
            at = f" ({self.texts.position(item.position)})" if item.position else ""
            yield from wrapped(f"{self.texts.told(item.attribute)}{at}: ____________", hang=2)
            if item.how:
                how = self.texts.measure(item.attribute, item.kind, item.how)
                yield from wrapped(how, indent=4)

    def advice(self) -> Iterator[TextLine]:
        if self.card.advice:
            yield from head(self.say("preventive"))
        for item in self.card.advice:
            now, later = self.texts.duration(item.now_min), self.texts.duration(item.later_min)
            what = self.texts.advice(item.id, item.what)
            yield from wrapped(
                f"{_BOX} {self.texts.position(item.position)}: {what} "
                f"({self.say('now-minutes')} {now}, {self.say('later-minutes')} {later})", hang=4,
            )  # fmt: skip


def torque_range(row: TorqueRow, texts: Texts) -> str:
    """The torques of a fastener in words."""
    low, high = (None if value is None else texts.number(value, 1) for value in (row.low_nm, row.high_nm))
    if low is None and high is None:
        return texts.label("torque-unknown")
    if low is None or high is None:
        key = "torque-at-most" if low is None else "torque-at-least"
        return texts.label(key, low=low, high=high)
    return texts.label("torque-exactly" if low == high else "torque-range", low=low, high=high)


class _Customer(_View):
    audience = "customer"

    def lines(self) -> Iterator[TextLine]:
        yield from self.top()
        yield from self.blocking()
        if self.card.steps:
            yield from self.summary()
            yield from self.parts()
            yield from self.work()
        yield from self.risks()
        yield from self.cautions()
        for key in safety_of(self.card):
            yield from wrapped(f"! {self.say(key)}", hang=2, style="caution")

    def summary(self) -> Iterator[TextLine]:
        card, say, duration = self.card, self.say, self.texts.duration
        yield from head(say("summary-title"))
        yield from wrapped(say("summary-asked", asked=duration(card.time.asked.mean)))
        yield from wrapped(
            say("summary-real", real=duration(card.time.real.mean), p80=duration(card.time.real.p80))
        )  # fmt: skip
        if card.reasons or card.remedy is None:
            yield from wrapped(say("summary-because" if card.reasons else "summary-as-asked"))
        yield from _told(card.reasons[:_MOST_REASONS], self.reason)
        yield from wrapped(f"{say('total-work')}: {self.texts.money(card.work_cost)}")

    def work(self) -> Iterator[TextLine]:
        yield from head(self.say("work-for-customer"))
        for phase, steps in groupby(self.card.steps, key=lambda step: step.phase):
            yield TextLine(self.texts.phase(phase, self.audience), "head")
            for text in dict.fromkeys(
                self.texts.operation(step.operation, self.audience, step.what) for step in steps
            ):  # fmt: skip
                yield from wrapped(f"- {text}", hang=2)
