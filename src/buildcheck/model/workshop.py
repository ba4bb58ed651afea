"""Rows of catalog/workshop for the bolts of a bike: fasteners, torque wrenches, adapters on them, preventive advice."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from buildcheck.model.parts.base import IDENTIFIER, Record
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
