"""What a vetting returns. Reports are views of it; schemas/report.schema.json is made from it."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Verdict
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import Said

SCHEMA_VERSION = 1


@dataclass(frozen=True, slots=True)
class ChangeItem:
    """One thing that the customer asks for: a part to fit, one to put in new, one to move, or a position to empty.

    `on`, `place`, `start` and `end` tell where it goes, where that was said.
    """

    position: str
    fit: str | None = None
    take_off: bool = False
    renew: str | None = None
    on: str | None = None
    place: str | None = None
    start: str | None = None
    end: str | None = None

    @property
    def where(self) -> dict[str, str]:
        """Where it goes, in the words of a request."""
        told = {"on": self.on, "place": self.place, "from": self.start, "to": self.end}
        return {key: value for key, value in told.items() if value is not None}


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
    why: Said | str
    tools: tuple[str, ...]
    consumables: tuple[ConsumableUse, ...]
    source: str


@dataclass(frozen=True, slots=True)
class Work:
    """The bare swap that was asked for, what this bike adds to it, and every operation in a legal order.

    The costs are the mean times at the shop's rate, in euros. `notes` name the operations that were recalibrated from
    real jobs.
    """

    asked_minutes: Minutes = NO_TIME
    extra_minutes: Minutes = NO_TIME
    asked_cost: float = 0.0
    extra_cost: float = 0.0
    operations: tuple[PlannedOperation, ...] = ()
    notes: tuple[Said, ...] = ()


@dataclass(frozen=True, slots=True)
class RemedyPart:
    """A part that a remedy fits, or takes off (`id` None), or moves `onto` another part.

    `renew`: the same part, or one that no rule can tell from it, is put in new.
    """

    id: str | None
    name: Said | str
    position: str
    price: float | None
    onto: str | None = None
    renew: bool = False


@dataclass(frozen=True, slots=True)
class Rejected:
    """A set of parts that is cheaper than a remedy and does not do: the names that block it, and one in words."""

    parts: tuple[RemedyPart, ...]
    total_cost: float
    blocked_by: tuple[str, ...]
    message: Said


@dataclass(frozen=True, slots=True)
class PassedOver:
    """A set of parts that is cheaper than a remedy and clears as much, but takes away more."""

    parts: tuple[RemedyPart, ...]
    total_cost: float
    gives_up: tuple[Said, ...]


@dataclass(frozen=True, slots=True)
class Remedy:
    """Parts with which nothing blocks any more, the bench time that the whole change then adds, and what both cost.

    `operations` are those that the job has beyond the bare swap. `rejected` are the cheapest of the
    `rejected_count` cheaper sets that were vetted and do not do. `gives_up` tells what it takes away: a function, a
    size that the rider feels, a caution that it brings, or that something stays undecided. `passed_over` are cheaper
    sets that take away more.
    """

    parts: tuple[RemedyPart, ...]
    parts_cost: float | None
    extra_minutes: Minutes
    total_cost: float | None
    clears: tuple[str, ...]
    adds: tuple[str, ...]
    operations: tuple[str, ...]
    proof: str
    rejected: tuple[Rejected, ...] = ()
    rejected_count: int = 0
    gives_up: tuple[Said, ...] = ()
    passed_over: tuple[PassedOver, ...] = ()


class Outcome(StrEnum):
    """How the search for remedies ended. Only `impossible` says that there is none.

    `beyond`: of the sets that the search knows none does; one with a further junction does, and is not proven cheapest.
    """

    NOT_NEEDED = "not-needed"
    CHEAPEST = "cheapest"
    IMPOSSIBLE = "impossible"
    GAVE_UP = "gave-up"
    BEYOND = "beyond"


@dataclass(frozen=True, slots=True)
class Wanted:
    """One attribute that a part would need to have."""

    attribute: str
    value: str
    unit: str


@dataclass(frozen=True, slots=True)
class NewPart:
    """A single part that no catalogue has, with which the change would work: like `like`, but for the attributes."""

    position: str
    kind: str
    like: str
    attributes: tuple[Wanted, ...]
    beside: tuple[RemedyPart, ...] = ()


@dataclass(frozen=True, slots=True)
class Search:
    """What the search for remedies did.

    `sets` counts the sets of parts that there are to choose from, `vetted` those that were vetted whole;
    `lower_bound` is what any remedy costs at least that takes away no more than `gives_up` things, with its bench
    time; none takes away less. When the search stopped before it had looked
    for all that it tells, `limit` says why; when it gave up, `gap` is how far the best remedy may be above the
    cheapest.
    When there is none, `causes` are facts that are enough to exclude it, and `new_part` is what would help.
    `unconsidered` is what no set holds although it could clear what blocks. `beyond` are sets with one more
    junction that were tried because no other does, and that do not do as they are.
    """

    outcome: Outcome = Outcome.NOT_NEEDED
    sets: float = 1
    vetted: int = 0
    lower_bound: float | None = None
    gives_up: int = 0
    limit: str = ""
    gap: float | None = None
    causes: tuple[Cause, ...] = ()
    new_part: NewPart | None = None
    unconsidered: str = ""
    beyond: tuple[Rejected, ...] = ()


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
class FindingRef:
    """One finding of a report, by what makes it the same one before and after a change."""

    name: str
    positions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RootCause:
    """What blocks and follows from nothing else that blocks: one fault, `alike` ones, and what is there with them.

    The root and those `alike` have one name. Which findings `follow` is told by the rows of the standards and by the
    places that they share.
    """

    root: FindingRef
    alike: tuple[FindingRef, ...] = ()
    follow: tuple[FindingRef, ...] = ()


@dataclass(frozen=True, slots=True)
class Sibling:
    """A near miss: a part that was asked for does not fit, and one that differs from it in these attributes does."""

    position: str
    asked: str
    id: str
    name: str
    price: float | None
    differs: tuple[Wanted, ...]


@dataclass(frozen=True, slots=True)
class Skipped:
    """A rule that was not run, and why."""

    name: str
    why: str


@dataclass(frozen=True, slots=True)
class Report:
    """The outcome of one vetting.

    `root_causes` are the findings that block, those that follow from others folded under them; `asked_parts` the parts
    of the change with their prices; `bench_alone` the names of those findings here whose cautions no rider needs.
    """

    verdict: Verdict
    bike: str
    bike_name: str
    change: tuple[ChangeItem, ...] = ()
    findings: tuple[Finding, ...] = ()
    cleared: tuple[Finding, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    search: Search = field(default_factory=Search)
    work: Work = field(default_factory=Work)
    work_note: str = ""
    measure_first: tuple[MeasureFirst, ...] = ()
    gears: Gears = field(default_factory=Gears)
    cautions: tuple[Said, ...] = ()
    root_causes: tuple[RootCause, ...] = ()
    siblings: tuple[Sibling, ...] = ()
    asked_parts: tuple[RemedyPart, ...] = ()
    bench_alone: tuple[str, ...] = ()
    rules_run: tuple[str, ...] = ()
    rules_skipped: tuple[Skipped, ...] = ()
    schema_version: int = SCHEMA_VERSION
