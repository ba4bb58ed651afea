"""What `buildcheck parts fits` returns: the parts of the catalogue for one position of a bike, judged one by one."""

from __future__ import annotations

from dataclasses import dataclass

from buildcheck.model.levels import Level, Verdict


@dataclass(frozen=True, slots=True)
class Choice:
    """One part, and what comes of fitting it; `names` are the findings that it brings, the most serious first.

    `sizes` are those by which parts of its kind are told apart, in words; `in_stock` how many pieces lie in the shop,
    at whose price it is then, or None where nobody said what is in stock.
    """

    id: str
    name: str
    price: float | None
    verdict: Verdict
    names: tuple[str, ...]
    sizes: str = ""
    in_stock: int | None = None


@dataclass(frozen=True, slots=True)
class CauseCount:
    """How many of the parts one finding keeps out or leaves undecided, and what it says of the first of them."""

    name: str
    level: Level
    count: int
    example_id: str
    example: str


@dataclass(frozen=True, slots=True)
class Choices:
    """Every part of the right kinds: those that fit, the cheapest first, those that are undecided, and why the
    rest does not fit. Only what the part itself brings counts, not what was wrong with the bike before."""

    bike: str
    bike_name: str
    position: str
    fitted_now: str | None
    fits: tuple[Choice, ...]
    undecided: tuple[Choice, ...]
    blocked: tuple[Choice, ...]
    causes: tuple[CauseCount, ...]
