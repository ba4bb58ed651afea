"""The job card: one change to one bike, worked out for the bench. Reports and drawings are views of it."""

from __future__ import annotations

from dataclasses import dataclass

from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.pictures import Pictures
from buildcheck.model.report import ChangeItem, ConsumableUse, Minutes, Outcome, RemedyPart
from buildcheck.model.sentences import Said


@dataclass(frozen=True, slots=True)
class Percentiles:
    """How long something takes, in minutes: the mean, and what 50, 80 and 95 of 100 such jobs stay under."""

    mean: float
    p50: float
    p80: float
    p95: float


NO_SPREAD = Percentiles(0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class Step:
    """One operation in its place. `operation` is its row in the workshop's table, `why` what calls for it in words.

    At a `hold` the job stops until the test has passed. `final` says what cannot be undone after this step, and is
    empty where everything can. `waits_min` has to pass after it, at no bench time; `starts_min` is when it begins, in
    minutes since the start of the job, with everything that waits planned side by side with the rest.
    """

    number: int
    id: str
    operation: str
    what: str
    position: str | None
    phase: str
    minutes: Minutes
    after: tuple[str, ...]
    why: Said | str
    asked: bool
    tools: tuple[str, ...]
    consumables: tuple[ConsumableUse, ...]
    hold: bool = False
    final: str = ""
    waits_min: float = 0.0
    starts_min: float = 0.0
    source: str = ""


@dataclass(frozen=True, slots=True)
class JobTime:
    """Bench time of the bare swap and of the whole job, and how long the bike is away at least.

    `correlation` is that of any two operations: a stated assumption. `notes` name the conditions of the bike that
    widen the times, and the operations that were recalibrated from real jobs.
    """

    asked: Percentiles
    real: Percentiles
    waiting_min: float
    elapsed_min: float
    correlation: float
    notes: tuple[Said, ...] = ()


@dataclass(frozen=True, slots=True)
class TorqueRow:
    """One fastener that the job touches. Torques in N m; None where nobody states one.

    `limited_by` names the part whose limit is the lower one. `wrench` is a tool of the shop, empty where none covers
    the range; `set_nm` is what to set on it where an adapter makes it longer. `by_hand`: no torque wrench is used.
    """

    position: str
    fastener: str
    what: Said
    low_nm: float | None
    high_nm: float | None
    limited_by: Said
    thread: str
    hand: str
    compound: Said
    compound_why: Said
    wrench: Said
    set_nm: float | None
    by_hand: bool
    cautions: tuple[Said, ...]
    source: Said


@dataclass(frozen=True, slots=True)
class Advice:
    """Something worth doing while the bike is open: minutes that it adds now, and what it costs another day."""

    id: str
    position: str
    what: str
    why: str
    now_min: float
    later_min: float
    source: str


@dataclass(frozen=True, slots=True)
class ToFill:
    """A value to measure and to write on the card; `how` and the `kind` of the part only where a fact is missing."""

    position: str
    attribute: str
    how: str = ""
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Reason:
    """Why the job is more than what was asked for: one finding, in words, with the mean minutes that it brings."""

    name: str
    level: Level
    positions: tuple[str, ...]
    messages: tuple[Said, ...]
    minutes: float


@dataclass(frozen=True, slots=True)
class Risk:
    """A caution of the bike as it is after the job. `rider`: it concerns the rider, too, not the bench alone."""

    name: str
    positions: tuple[str, ...]
    message: Said
    since: Since
    rider: bool


@dataclass(frozen=True, slots=True)
class JobCard:
    """Everything that the bench, the parts counter and the customer have to know of one job.

    `remedy` is the number of the remedy that the job is planned with, None if none is needed. `verdict` is
    that of the bike with it, `asked_verdict` that of the change as asked, `stands` that of the bike as it stands.
    `promised` is a date that the shop gave. `blocking` is what blocks the change as asked, `open` what blocks or could
    block the bike with the remedy, `risks` all its cautions. `search` is how the search for remedies ended, and
    `impossible` is what keeps every other part out, if there is none.
    """

    bike: str
    bike_name: str
    change: tuple[ChangeItem, ...]
    promised: str
    stands: Verdict
    asked_verdict: Verdict
    verdict: Verdict
    search: Outcome
    impossible: tuple[Said, ...]
    remedy: int | None
    parts: tuple[RemedyPart, ...]
    parts_cost: float | None
    work_cost: float
    consumables: tuple[ConsumableUse, ...]
    tools: tuple[Said | str, ...]
    steps: tuple[Step, ...]
    time: JobTime
    torques: tuple[TorqueRow, ...]
    advice: tuple[Advice, ...]
    to_fill: tuple[ToFill, ...]
    reasons: tuple[Reason, ...]
    blocking: tuple[Reason, ...]
    open: tuple[Reason, ...]
    risks: tuple[Risk, ...]
    cautions: tuple[Said, ...]
    pictures: Pictures
    schema_version: int = 1
