"""Parts that no rule can tell apart, as groups: a search that looks at one part of each group misses nothing.

Made from the validated data as it comes out of the cache, so that no record is built for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cache
from typing import Any, NamedTuple

from buildcheck.library.records import fields_of
from buildcheck.model.blind import unseen
from buildcheck.model.parts import PART_KINDS


class Group(NamedTuple):
    """Parts of one kind that are equal in all that a rule can see: their ids, the cheapest first.

    A part without a price comes last; of parts at one price, the one whose id comes first. `price_eur` is that
    of the cheapest part, None if nobody has a price for any of them.
    """

    kind: str
    ids: tuple[str, ...]
    price_eur: float | None

    @property
    def rank(self) -> tuple[bool, float, str]:
        """The cheapest group comes first, one without a price last; at one price, by id."""
        return _rank(self.ids[0], self.price_eur)


def groups_of(kind: str, parts: Iterable[tuple[str, Mapping[str, Any]]]) -> tuple[Group, ...]:
    """The groups among these parts of one kind, each an id with its data; the cheapest group first."""
    priced = sorted(((part_id, best_price_eur(data), data) for part_id, data in parts), key=lambda row: _rank(*row[:2]))
    found: dict[tuple[object, ...], list[str]] = {}
    prices: list[float | None] = []
    for part_id, price, data in priced:
        group = found.setdefault(signature(data), [])
        if not group:
            prices.append(price)
        group.append(part_id)
    return tuple(Group(kind, tuple(ids), price) for ids, price in zip(found.values(), prices, strict=True))


def signature(data: Mapping[str, Any]) -> tuple[object, ...]:
    """All that a rule can see of a part; equal for two parts of one kind if and only if no rule can tell them apart.

    An attribute left out is the same as one written with its default. Not so inside passages, places, mounts and
    ports: a size left out there sets no limit, one written as unknown may be any.
    """
    return tuple(_frozen(data.get(name, default)) for name, default in _seen(data["kind"]))


def best_price_eur(data: Mapping[str, Any]) -> float | None:
    """The lowest price that anybody asks for a part, or None: as `Part.best_price_eur`, without the record."""
    prices: list[float] = [offer["price_eur"] for offer in data.get("offers", ())]
    own = data.get("price_eur")
    return min(prices if own is None else [*prices, own], default=None)


def _rank(part_id: str, price: float | None) -> tuple[bool, float, str]:
    return price is None, price or 0.0, part_id


@cache
def _seen(kind: str) -> tuple[tuple[str, Any], ...]:
    """The attributes of a kind that a rule can see, each with its default."""
    fields = fields_of(PART_KINDS[kind])
    return tuple((name, field.default) for name, field in fields.items() if name not in unseen(kind))


def _frozen(value: Any) -> object:
    if isinstance(value, dict):
        return tuple(sorted((name, _frozen(item)) for name, item in value.items()))
    return tuple(_frozen(item) for item in value) if isinstance(value, list) else value
