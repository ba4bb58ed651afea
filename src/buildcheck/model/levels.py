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


class Origin(StrEnum):
    """Where a fact comes from, the most trusted first."""

    MEASURED = "measured"
    STATED = "stated"
    INFERRED = "inferred"
    ASSUMED = "assumed"
