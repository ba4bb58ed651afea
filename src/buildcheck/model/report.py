"""What a vetting returns. Reports are views of it; schemas/report.schema.json is made from it."""

from __future__ import annotations

from dataclasses import dataclass, field

from buildcheck.model.findings import Finding
from buildcheck.model.levels import Verdict
from buildcheck.model.quantities import Interval

SCHEMA_VERSION = 1


@dataclass(frozen=True, slots=True)
class ChangeItem:
    """One thing that the customer asks for: a part to fit, or a position to empty."""

    position: str
    fit: str | None = None
    take_off: bool = False


@dataclass(frozen=True, slots=True)
class Minutes:
    """Bench time: the sums of low, likely and high, the PERT mean, and what 80 of 100 such jobs stay under."""

    low: float
    likely: float
    high: float
    mean: float
    p80: float


NO_TIME = Minutes(0.0, 0.0, 0.0, 0.0, 0.0)


@dataclass(frozen=True, slots=True)
class ConsumableUse:
    """What a job uses up."""

    what: str
    amount: float
    unit: str


@dataclass(frozen=True, slots=True)
class PlannedOperation:
    """One operation of the job at one position; `after` names what must be done before it."""

    id: str
    what: str
    position: str | None
    phase: str
    minutes: Minutes
    after: tuple[str, ...]
    why: str
    tools: tuple[str, ...]
    consumables: tuple[ConsumableUse, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Work:
    """The bare swap that was asked for, what this bike adds to it, and every operation in a legal order."""

    asked_minutes: Minutes = NO_TIME
    extra_minutes: Minutes = NO_TIME
    operations: tuple[PlannedOperation, ...] = ()


@dataclass(frozen=True, slots=True)
class RemedyPart:
    """A part that a remedy fits, or takes off (`id` None)."""

    id: str | None
    name: str
    position: str
    price: float | None


@dataclass(frozen=True, slots=True)
class Remedy:
    """Parts that clear blocking findings. `complete` says that nothing blocks any more afterwards."""

    parts: tuple[RemedyPart, ...]
    parts_cost: float | None
    extra_minutes: Minutes
    total_cost: float | None
    clears: tuple[str, ...]
    adds: tuple[str, ...]
    proof: str
    complete: bool


@dataclass(frozen=True, slots=True)
class MeasureFirst:
    """A missing fact worth measuring before anything is ordered.

    `outcomes` counts each undecided finding once for each value that the fact can have, all of them equally likely
    (our choice), and `settles` those that are decided once the fact is known by itself. A value with which anything
    blocks decides them all.
    """

    position: str
    attribute: str
    how: str
    minutes: float
    decides: tuple[str, ...]
    settles: int = 0
    outcomes: int = 0

    @property
    def worth(self) -> float:
        """The share of what is undecided that a minute of measuring settles."""
        return self.settles / self.outcomes / self.minutes if self.outcomes else 0.0


@dataclass(frozen=True, slots=True)
class Gear:
    """One gear: the wheels that the chain runs on and what one turn of the cranks does. None is unknown.

    `hub_gear` counts from the lowest gear of a gear hub. A size that is known within limits gives limits.
    """

    ring_teeth: Interval | None
    sprocket_teeth: Interval | None
    hub_gear: int | None
    development_m: Interval | None
    gain_ratio: Interval | None


@dataclass(frozen=True, slots=True)
class Gears:
    """Every gear before and after a change, the biggest ring first, the smallest sprocket first."""

    before: tuple[Gear, ...] = ()
    after: tuple[Gear, ...] = ()


@dataclass(frozen=True, slots=True)
class Skipped:
    """A rule that was not run, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Report:
    """The outcome of one vetting."""

    verdict: Verdict
    bike: str
    bike_name: str
    change: tuple[ChangeItem, ...] = ()
    findings: tuple[Finding, ...] = ()
    cleared: tuple[Finding, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    remedies_note: str = ""
    work: Work = field(default_factory=Work)
    work_note: str = ""
    measure_first: tuple[MeasureFirst, ...] = ()
    gears: Gears = field(default_factory=Gears)
    cautions: tuple[str, ...] = ()
    rules_run: tuple[str, ...] = ()
    rules_skipped: tuple[Skipped, ...] = ()
    schema_version: int = SCHEMA_VERSION
