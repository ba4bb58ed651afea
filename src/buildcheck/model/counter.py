"""Rows of catalog/standards/counter.yaml: what follows from what, trade words, sizes and sorts, for a short answer."""

from __future__ import annotations

from typing import Annotated, Self

from pydantic import Field, model_validator

from buildcheck.model.parts.base import IDENTIFIER, Record

Name = Annotated[str, Field(pattern=IDENTIFIER)]


class FollowUp(Record):
    """A finding that is no cause of its own where one of the findings in `follows_from` concerns the same place."""

    id: Name = Field(description="the name of a finding")
    follows_from: tuple[Name, ...] = Field(description="names of findings, the likeliest root first")
    source: str


class TradeWord(Record):
    """A word of the trade for kinds of parts, or for positions of a bike, where no vocabulary has it.

    `where` tells which parts of the kinds are meant: the words that an attribute may have, `*` for anything, `!none`
    for any word but none.
    """

    id: str = Field(min_length=2, description="as people say it")
    also_called: tuple[str, ...] = ()
    kinds: tuple[Name, ...] = ()
    where: dict[str, tuple[str, ...]] = Field(default_factory=dict)
    positions: tuple[Name, ...] = ()
    source: str

    @model_validator(mode="after")
    def _means_something(self) -> Self:
        if not self.kinds and not self.positions:
            raise ValueError("a trade word names kinds or positions")
        return self

    @property
    def names(self) -> tuple[str, ...]:
        """Every form of it."""
        return (self.id, *self.also_called)


class KeySizes(Record):
    """The attributes by which one part of a kind is told from the next at the counter, the most telling first."""

    id: Name = Field(description="a kind of part")
    shows: tuple[str, ...]
    source: str


class Sort(Record):
    """What belongs at positions of many that are called so: `accessory-lamp` takes front lamps, and no bell."""

    id: Name = Field(description="a position, or the beginning of its name")
    takes: dict[str, tuple[str, ...]] = Field(description="for an attribute the words that a part there may have")
    source: str
