"""A job card of the size of a real one: the steps of the demo, torques and notes like those that the planner writes."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from functools import cache

from buildcheck.jobs import Agreed, job_card, with_remedy
from buildcheck.model.bikes import Change
from buildcheck.model.job import Advice, JobCard, JobTime, Percentiles, Reason, Risk, Step, ToFill, TorqueRow
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.pictures import Pictures
from buildcheck.model.report import ConsumableUse, PlannedOperation, Remedy, Report
from buildcheck.model.sentences import as_said, say
from buildcheck.pictures.bike import pictures_of
from buildcheck.report.drawings import Drawing, drawings_of
from buildcheck.vetting import Vetting
from laws.bench import bike, change, usual_swap, usual_vetting

DEMO = ("allroad-wired", "wexcombe-veil-420-100@handlebar")

FINAL = {
    "cut-line-to-length": "a hose that was cut too short is waste",
    "wrap-bar-tape": "bar tape cannot be wrapped again",
}
CARBON = "carbon on carbon must hold at a low torque, and grease would let it slip"


def _step(number: int, planned: PlannedOperation) -> Step:
    operation = planned.id.partition("@")[0]
    return Step(
        number, planned.id, operation, planned.what, planned.position, planned.phase, planned.minutes, planned.after,
        planned.why, planned.position == "handlebar", planned.tools, planned.consumables,
        hold=planned.phase == "test", final=FINAL.get(operation, ""),
        waits_min=30.0 if operation == "fit-junction" else 0.0, starts_min=7.0 * number, source=planned.source,
    )  # fmt: skip


def _torque(
    position: str, fastener: str, what: str, low: float | None, high: float | None, compound: str = "grease",
    why: str = "keeps the thread from seizing and the torque from scattering", thread: str = "M5x0.8",
    hand: str = "right", wrench: str = "quarter-inch-2-20", set_nm: float | None = None,
    cautions: tuple[str, ...] = (), limited_by: str = "",
) -> TorqueRow:  # fmt: skip
    by_hand = low is None
    return TorqueRow(
        position, fastener, as_said(what), low, high, as_said(limited_by), thread, hand, as_said(compound),
        as_said(why), as_said("" if by_hand else wrench), set_nm, by_hand, tuple(map(as_said, cautions)),
        as_said("common practice, no source"),
    )  # fmt: skip


TORQUES = (
    _torque("handlebar", "steerer-clamp-bolt", "Two pinch bolts of the one-piece bar and stem", 4.5, 5.0,
            "carbon-paste", CARBON, limited_by="fork (Harrowdene Fell fork)"),
    _torque("handlebar", "top-cap-bolt", "Top cap of the plug in the steerer", 1.0, 3.0, "dry",
            "it only sets the play of the bearings", "M6x1"),
    _torque("lever-left", "lever-clamp-bolt", "Clamp of the brake lever", 6.0, 8.0, "carbon-paste", CARBON),
    _torque("lever-right", "lever-clamp-bolt", "Clamp of the brake lever", 6.0, 8.0, "carbon-paste", CARBON),
    *(_torque(line, "hose-nut", "Hose nut at the lever", 5.0, 7.0, "grease",
              "a thin film on olive and nut, none inside the hose", "M8x0.75", set_nm=5.1,
              cautions=("Set with the open-end adapter across the wrench or use the corrected setting.",))
      for line in ("front-brake-line", "rear-brake-line")),
    _torque("front-brake-line", "banjo-bolt", "Banjo bolt at the caliper", 5.0, 7.0, "dry", "new sealing rings"),
    _torque("rear-brake-line", "banjo-bolt", "Banjo bolt at the caliper", 5.0, 7.0, "dry", "new sealing rings"),
    *(_torque(line, "bleed-port-screw", "Screw of the bleed port", 0.5, 0.7, "dry", "sealed by its ring", wrench="",
              cautions=("No wrench of the shop covers 0.5 to 0.7 N·m.",))
      for line in ("front-brake-line", "rear-brake-line")),
    _torque("front-wheel", "thru-axle", "Thru-axle of the front wheel", 10.0, 12.0, thread="M12x1.5"),
    _torque("rear-wheel", "thru-axle", "Thru-axle of the rear wheel", 10.0, 12.0, thread="M12x1"),
    _torque("accessory-lamp", "crown-bracket-bolt", "Bracket of the lamp at the crown", 5.0, 6.0, "thread-locker",
            "it shakes and nothing else holds it", "M6x1",
            cautions=("Bolt stress is above the proof load of class 8.8.",)),
    _torque("front-caliper", "pad-pin", "Pin that holds the pads", 0.8, 1.2, "dry", "its clip secures it", "M4x0.7"),
    _torque("rear-caliper", "pad-pin", "Pin that holds the pads", 0.8, 1.2, "dry", "its clip secures it", "M4x0.7"),
    _torque("rear-derailleur", "hanger-bolt", "Bolt of the derailleur hanger", 8.0, 10.0, hand="left", thread="M10x1"),
    _torque("bottle-cage-1", "bottle-cage-bolt", "Bolts of the bottle cage", None, None),
)  # fmt: skip

ADVICE = (
    Advice("renew-lower-bearing", "headset-lower", "Renew the lower bearing of the headset",
           "it is open anyway, and its age is not known", 8.0, 75.0, "common practice, no source"),
    Advice("renew-brake-pads", "front-caliper", "Renew the pads of the front brake",
           "they are out while the brake is bled", 3.0, 15.0, "common practice, no source"),
    Advice("renew-brake-pads", "rear-caliper", "Renew the pads of the rear brake",
           "they are out while the brake is bled", 3.0, 15.0, "common practice, no source"),
    Advice("check-chain", "chain", "Measure how far the chain is worn", "shifting is set up anew", 1.0, 10.0,
           "ISO 9633"),
    Advice("grease-thru-axles", "rear-wheel", "Clean and grease both thru-axles", "both wheels come out", 2.0, 12.0,
           "common practice, no source"),
    Advice("tyre-pressures", "front-tyre", "Set the pressures of both tyres before the ride", "the wheels come out",
           2.0, 5.0, "common practice, no source"),
)  # fmt: skip

TO_FILL = (
    ToFill("", "saddle height", "", ""),
    ToFill("", "angle of the bar", "", ""),
    ToFill("front-brake-line", "length of the line", "", ""),
    ToFill("rear-brake-line", "length of the line", "", ""),
    ToFill("front-rotor", "thickness_mm", "The thinnest of six places of the brake track", "rotor"),
)  # fmt: skip


def _consumables(steps: tuple[Step, ...]) -> tuple[ConsumableUse, ...]:
    sums: dict[tuple[str, str], float] = defaultdict(float)
    for step in steps:
        for use in step.consumables:
            sums[use.what, use.unit] += use.amount
    return tuple(ConsumableUse(what, amount, unit) for (what, unit), amount in sorted(sums.items()))


def _reasons(report: Report) -> tuple[Reason, ...]:
    told = {
        finding.name: finding for finding in reversed(report.findings)
        if finding.level in (Level.BLOCKS, Level.EXTRA)
    }  # fmt: skip
    return tuple(
        Reason(finding.name, finding.level, finding.positions, (finding.message,), 12.5 * (1 + index))
        for index, finding in enumerate(told.values())
    )


def _pictures(bench: Vetting, asked: Change, remedy: Remedy) -> Pictures:
    done = bench.vetted(with_remedy(asked, remedy))
    return pictures_of(bench.before, done.context, done.findings)


@cache
def demo_drawings() -> tuple[Drawing, ...]:
    """What is drawn of the bundled scenario."""
    return drawings_of(demo_card().pictures)


RISKS = (
    Risk("bend-too-tight", ("rear-brake-line",), say("The rear brake line bends more tightly than it bears."),
         Since.CHANGE, True),
    Risk("part-corroded", ("front-caliper",), say("The front caliper is corroded."), Since.BEFORE, True),
    Risk("brake-bolt-too-long", ("rear-caliper",), say("Its bolts end in the frame."), Since.CHANGE, False),
)  # fmt: skip


@cache
def demo_card() -> JobCard:
    """The card of the bundled scenario."""
    bench, asked = usual_vetting(DEMO[0]), change(bike(DEMO[0]), DEMO[1])
    report = usual_swap(*DEMO)
    steps = tuple(_step(number, planned) for number, planned in enumerate(report.work.operations, start=1))
    remedy = report.remedies[0]
    return JobCard(
        bike=report.bike, bike_name=report.bike_name, change=report.change, promised="2026-12-04",
        stands=Verdict.FITS, asked_verdict=report.verdict, verdict=Verdict.FITS_WITH_EXTRA_WORK,
        search=report.search.outcome, impossible=(), remedy=1, parts=remedy.parts,
        parts_cost=remedy.parts_cost, work_cost=report.work.asked_cost + report.work.extra_cost,
        consumables=_consumables(steps), tools=tuple(sorted({tool for step in steps for tool in step.tools})),
        steps=steps,
        time=JobTime(Percentiles(31.2, 30.1, 38.4, 47.9), Percentiles(486.9, 481.0, 548.0, 619.0), 30.0, 498.0, 0.3,
                     (say("The bike is noted as corroded: times are widened."),)),
        torques=TORQUES, advice=ADVICE, to_fill=TO_FILL, reasons=_reasons(report), blocking=(), open=(),
        risks=RISKS, cautions=report.cautions, pictures=_pictures(bench, asked, remedy),
    )  # fmt: skip


@cache
def real_card() -> JobCard:
    """The card that the tool itself makes of it."""
    asked = change(bike(DEMO[0]), DEMO[1])
    return job_card(usual_vetting(DEMO[0]), asked, Agreed(promised="2026-12-04"))


def open_card() -> JobCard:
    """A card of which one thing is still undecided."""
    told = say("The steerer's cut length is not known.")
    reason = Reason("steerer-length-unknown", Level.UNKNOWN, ("fork",), (told,), 0.0)
    return replace(demo_card(), verdict=Verdict.UNDECIDED, open=(reason,))
