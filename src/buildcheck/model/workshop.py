"""Rows of catalog/workshop: operations, measurements, slowdowns, the shop; fasteners, torque wrenches, advice."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from buildcheck.model.parts.base import IDENTIFIER, Record
from buildcheck.model.quantities import LARGEST, AnySize, Vocabulary
from buildcheck.trade.bolts import thread_mm

Name = Annotated[str, Field(pattern=IDENTIFIER)]
Torque = Annotated[float, Field(gt=0, le=200)]
Minutes = Annotated[float, Field(ge=0, le=600)]


class Opened(Record):
    """Something at a position that operations open.

    `operations` open it at its own position, or are done for the whole job; `elsewhere` lists those that open it
    from another position: at the other end of its line, at the same wheel, or anywhere where it has neither.
    `where` tells what the part must be: `*` stands for anything, `|` for or.
    """

    id: Name
    what: str
    at: Annotated[tuple[Name, ...], Field(min_length=1)]
    where: dict[str, str] = Field(
        default_factory=dict, description="attributes the part must have; * and | as patterns"
    )
    operations: tuple[Name, ...] = ()
    elsewhere: tuple[Name, ...] = Field(default=(), description="operations at other positions that open it as well")
    source: str

    @model_validator(mode="after")
    def _opened_by_something(self) -> Self:
        if not self.operations and not self.elsewhere:
            raise ValueError("an operation that opens it is expected under operations or elsewhere")
        return self


class Fastener(Opened):
    """A bolt, nut, cup or lockring, or a set of equal ones.

    `low_nm` and `high_nm` are what is usual; both are left out where no figure is known that holds for all makers.
    What the makers of the parts state comes first: `contacts` names rows of contacts whose torques count here,
    `least` and `most` further attributes, of its own part (`clamp_torque_max_nm`) or of another one
    (`handlebar.grip_torque_max_nm`). `compound` goes on its thread; what goes between the clamped parts follows
    from the contacts and their materials.
    """

    low_nm: Torque | None = None
    high_nm: Torque | None = None
    contacts: tuple[Name, ...] = ()
    least: tuple[str, ...] = Field(default=(), description="attributes with the least torque that a maker asks for")
    most: tuple[str, ...] = Field(default=(), description="attributes with the greatest torque that a part bears")
    thread: str = Field(default="", description="size, such as M5x0.8; empty where it is not known")
    property_class: Literal["8.8", "10.9", "12.9"] | None = Field(
        default=None, description="of the bolt, or the weakest that is usual; left out where that is not known"
    )
    hand: Literal["right", "left"] = "right"
    compound: Literal["grease", "anti-seize", "carbon assembly paste", "thread-locker", "dry"] = "grease"
    compound_why: str
    by_hand: bool = False
    tool: str = Field(default="", description="what fits its head")
    crowfoot: Name | None = Field(default=None, description="adapter that a torque wrench needs to reach it")
    caution: str = ""

    @model_validator(mode="after")
    def _range_in_order(self) -> Self:
        if (self.low_nm is None) != (self.high_nm is None):
            raise ValueError("low_nm and high_nm stand together or not at all")
        if self.low_nm is not None and self.high_nm is not None and self.low_nm > self.high_nm:
            raise ValueError("low_nm must not be above high_nm")
        if self.property_class is not None:
            thread_mm(self.thread)  # the check of the bolt's stress rests on it
        return self


class Wrench(Record):
    """A torque wrench of the shop. `length_mm` runs from the middle of its grip to its drive."""

    id: Name
    what: str
    low_nm: Torque
    high_nm: Torque
    drive: str
    length_mm: Annotated[float, Field(gt=0, le=2000)]
    source: str

    @model_validator(mode="after")
    def _range_in_order(self) -> Self:
        if self.low_nm >= self.high_nm:
            raise ValueError("low_nm must be below high_nm")
        return self


class Crowfoot(Record):
    """An adapter on a torque wrench that reaches past its drive: by `offset_mm`, at `angle_deg` to the wrench."""

    id: Name
    what: str
    offset_mm: Annotated[float, Field(gt=0, le=200)]
    angle_deg: Annotated[float, Field(ge=0, le=90)] = 0.0
    source: str


class AdviceRow(Opened):
    """Something worth doing when its place lies open anyway.

    It is no advice where one of the operations `done_by` does it. `now_min` is what it adds now, `later_min` what
    it costs another day, with everything that then has to be opened again.
    """

    why: str
    done_by: tuple[Name, ...] = Field(default=(), description="operations that do it in any case, wherever they are")
    now_min: Minutes
    later_min: Minutes

    @model_validator(mode="after")
    def _later_is_longer(self) -> Self:
        if self.later_min <= self.now_min:
            raise ValueError("later_min must be above now_min, or there is no reason to do it now")
        return self


class Consumable(Record):
    """What an operation uses up."""

    what: str
    amount: float = 1
    unit: str = "pieces"


class ToolsFor(Record):
    """The tools of an operation for parts that have these attributes."""

    where: dict[str, str]
    tools: Annotated[tuple[str, ...], Field(min_length=1)]


class Operation(Record):
    """One unit of bench work, and what calls for it.

    `takes_off`, `fits`, `moves`, `reseats` (it goes to another place on the bike), `sets` (it depends on a part that
    was replaced) and `undone` (the cable that works it was) list the part kinds that it is done for; so for lines
    `threads`, `leads_in` (a new one through closed bores), `relays`, `looks_over`, `renews_inner` (a new lever),
    `hooks_up` (another thing at the far end) and `opens_far` (a hose that is opened at the brake). `on_finding` names
    the findings that ask for it. `mends` calls for it when a part with one of these conditions stays and is handled.
    `tools_where` are tools for parts that are made so. `after` names operations of the same phase, or an earlier one,
    that come before it at the same position; the phases come in the order of their list. At a `hold` the job stops
    until the test has passed. `final` names what cannot be undone, and `proven_by` the tests that could show it to be
    wrong: they come before it. After it `waits_min` have to pass, at no bench time, before those in `waited_by` begin.
    `records` are values that are written on the card. `takes_off_if` calls for it when a part with one of these
    conditions comes off; one that `leads` comes first of its phase at its position.
    """

    id: Name
    what: str
    low_min: Annotated[float, Field(gt=0)]
    likely_min: Annotated[float, Field(gt=0)]
    high_min: Annotated[float, Field(gt=0)]
    phase: Literal["strip", "prepare", "fit", "lines", "settings", "test", "finish"]
    takes_off: tuple[str, ...] = ()
    takes_off_if: tuple[str, ...] = ()
    fits: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()
    reseats: tuple[str, ...] = ()
    threads: tuple[str, ...] = ()
    leads_in: tuple[str, ...] = ()
    relays: tuple[str, ...] = ()
    looks_over: tuple[str, ...] = ()
    renews_inner: tuple[str, ...] = ()
    hooks_up: tuple[str, ...] = ()
    opens_far: tuple[str, ...] = ()
    sets: tuple[str, ...] = ()
    undone: tuple[str, ...] = ()
    mends: tuple[str, ...] = ()
    on_finding: tuple[str, ...] = ()
    where: dict[str, str] = Field(
        default_factory=dict, description="attributes the part must have; * stands for anything"
    )
    where_any: dict[str, str] = Field(default_factory=dict, description="attributes of which it must have one")
    after: tuple[str, ...] = ()
    leads: bool = False
    hold: bool = False
    final: str = ""
    proven_by: tuple[str, ...] = ()
    waits_min: Annotated[float, Field(ge=0)] = 0
    waited_by: tuple[str, ...] = ()
    records: tuple[str, ...] = ()
    per: Literal["position", "job"] = "position"
    tools: tuple[str, ...] = ()
    tools_where: tuple[ToolsFor, ...] = ()
    consumables: tuple[Consumable, ...] = ()
    source: str

    @model_validator(mode="after")
    def _minutes_in_order(self) -> Self:
        if not self.low_min <= self.likely_min <= self.high_min:
            raise ValueError("minutes must run low <= likely <= high")
        return self


class Measurement(Record):
    """How a missing fact is measured, and for a size what can be expected."""

    attribute: str
    kinds: tuple[str, ...] = ()
    how: str
    usual: tuple[AnySize, ...] = Field(default=(), description="sizes that are usual, in the unit of the attribute")
    minutes: Annotated[float, Field(gt=0)]
    source: str


class Slowdown(Record):
    """How much longer work takes at a part on which a condition was noted: factors on low, likely and high minutes.

    Noted on the frame it holds at every position if it is `of_the_whole_bike`. `counted_by` names operations whose own
    minutes allow for it.
    """

    id: Annotated[str, Vocabulary("condition")]
    low_factor: Annotated[float, Field(ge=1, le=10)]
    likely_factor: Annotated[float, Field(ge=1, le=10)]
    high_factor: Annotated[float, Field(ge=1, le=10)]
    of_the_whole_bike: bool = False
    counted_by: tuple[Name, ...] = ()
    source: str

    @model_validator(mode="after")
    def _factors_in_order(self) -> Self:
        if not self.low_factor <= self.likely_factor <= self.high_factor:
            raise ValueError("factors must run low <= likely <= high")
        return self


class Shop(Record):
    """The shop itself: what an hour at its bench is charged with."""

    rate_eur_per_hour: Annotated[float, Field(gt=0, le=LARGEST)]
    source: str
