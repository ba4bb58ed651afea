"""The words for outcomes: levels, verdicts, origins of facts. One place, one order."""

from __future__ import annotations

from enum import StrEnum


class Level(StrEnum):
    """How serious a finding is; the order of the members is the order of seriousness."""

    BLOCKS = "blocks"
    UNKNOWN = "unknown"
    EXTRA = "extra"
    CAUTION = "caution"
    NOTE = "note"

    @property
    def rank(self) -> int:
        """0 for the most serious."""
        return _RANK[self]


_RANK = {level: rank for rank, level in enumerate(Level)}


class Verdict(StrEnum):
    """The outcome for the whole bike."""

    BLOCKED = "blocked"
    UNDECIDED = "undecided"
    FITS_WITH_EXTRA_WORK = "fits-with-extra-work"
    FITS = "fits"


class Since(StrEnum):
    """Whether a finding was there before the change or comes with it."""

    CHANGE = "change"
    BEFORE = "before"


class Proof(StrEnum):
    """What it proves of a fault that a bike is ridden today.

    `assembled`: with it the parts would not go together. `ridden`: with it the bike would have failed at once.
    `nothing`: it can be there for years, as a wrong fluid, a post drawn out too far or a crack can.
    """

    ASSEMBLED = "assembled"
    RIDDEN = "ridden"
    NOTHING = "nothing"


class Origin(StrEnum):
    """Where a fact comes from, the most trusted first. `in-use`: with another value the bike could not be ridden."""

    MEASURED = "measured"
    STATED = "stated"
    IN_USE = "in-use"
    INFERRED = "inferred"
    ASSUMED = "assumed"
