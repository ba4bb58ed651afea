"""How serious it is that something was seen on a part of some kind: a column of the table of kinds."""

from __future__ import annotations

from functools import cached_property
from typing import Self

from pydantic import Field, model_validator

from buildcheck.model.levels import Level
from buildcheck.model.parts.base import Record


class BlocksIf(Record):
    """Words that block on some parts of a kind: those of which an attribute has a word, another word, or a trait.

    Exactly one of `words`, `other_than` and `traits` is stated; one of its entries is enough. The words of a flag are
    yes and no.
    """

    seen: tuple[str, ...]
    attribute: str
    words: tuple[str, ...] = ()
    other_than: tuple[str, ...] = ()
    traits: tuple[str, ...] = ()

    @model_validator(mode="after")
    def _one_way_to_tell(self) -> Self:
        if sum(map(bool, (self.words, self.other_than, self.traits))) != 1:
            raise ValueError("one of words, other_than and traits is expected, with what it names")
        return self


class SeenLevels(Record):
    """Every word of the vocabulary `condition` once, under its level on a part of this kind or under `no_sense`.

    No level has a default: a new word is refused until each kind says what it means there.
    """

    blocks: tuple[str, ...]
    caution: tuple[str, ...]
    note: tuple[str, ...]
    no_sense: tuple[str, ...] = Field(description="nobody can see it on such a part: it is refused in a bike's file")
    blocks_if: tuple[BlocksIf, ...] = Field(default=(), description="cautions and notes that block on some parts")

    @cached_property
    def levels(self) -> dict[str, Level]:
        """The level of each word that makes sense, where nothing makes it block."""
        listed = ((Level.BLOCKS, self.blocks), (Level.CAUTION, self.caution), (Level.NOTE, self.note))
        return {word: level for level, words in listed for word in words}
