"""What a shop says about the remedies that it wants to see, and knows of its own times."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True)
class InStock:
    """So many pieces of a part lie in the shop, and a piece is charged with this price."""

    quantity: int
    price_eur: float


@dataclass(frozen=True, slots=True)
class Terms:
    """The rate of an hour at the bench, positions that stay as they are, parts that are not wanted, parts in stock.

    `taken_min` are the minutes that operations really took at this shop, by operation.
    """

    rate_eur_per_hour: float
    keep: frozenset[str] = frozenset()
    exclude: frozenset[str] = frozenset()
    stock: Mapping[str, InStock] = field(default_factory=dict)
    taken_min: Mapping[str, Sequence[float]] = field(default_factory=dict)
