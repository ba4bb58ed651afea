"""Rows of catalog/standards/functions.yaml: what a bike must do, each as a chain from a control to what it works."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from buildcheck.model.levels import Level
from buildcheck.model.parts.base import IDENTIFIER, Record

_Name = Annotated[str, Field(pattern=IDENTIFIER)]


class Control(Record):
    """Where a lever for a function can sit, and the attribute of the lever that must not be none."""

    at: _Name
    by: str | None = None


class Worked(Record):
    """What a function works: the word of `by` tells by which link, and with `also` at none it works nothing."""

    at: _Name
    by: str
    also: str | None = None


class Powered(Record):
    """What wires lead current to, and what gives it: words of `power`, of which one system has one.

    `several` is how serious it is if there are more. `charged` are those that run down: a part with a charge socket
    must be in reach.
    """

    of: Literal["shifting", "lights"]
    sources: tuple[Literal["battery", "dynamo"], ...]
    several: Literal[Level.BLOCKS, Level.CAUTION]
    charged: tuple[Literal["battery", "dynamo"], ...] = ()


class FunctionRow(Record):
    """What a bike must do: a control, a link and what it works, or parts one after the other that push or pull.

    One that is `powered` is a chain of wires from what gives current to all that takes it. `links` are traits of the
    words of what is worked. `without_line` is told where the `line` is missing. Of `controls` the likeliest is first.
    """

    id: _Name
    what: str
    works: tuple[Worked, ...] = ()
    links: tuple[Literal["by_line", "by_signal", "by_pedals"], ...] = ()
    line: _Name | None = None
    without_line: str | None = None
    controls: tuple[Control, ...] = ()
    pull: Literal["brake", "shift"] | None = Field(
        default=None, description="what the lever pulls with; it pulls one line with each"
    )
    through: tuple[_Name, ...] = Field(default=(), description="positions that the force goes through; all are needed")
    powered: Powered | None = None
    source: str

    @model_validator(mode="after")
    def _whole(self) -> Self:
        chain = (self.works, self.links, self.line, self.without_line, self.controls, self.pull)
        if any(chain) != all(chain):
            raise ValueError("works, links, line, without_line, controls and pull stand together or not at all")
        if [bool(self.works or self.through), self.powered is not None].count(True) != 1:
            raise ValueError("a function works something, or goes through parts, or else it is powered")
        return self
