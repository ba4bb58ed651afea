"""Amounts as the drawings have them."""

from __future__ import annotations

from math import isfinite

from buildcheck.fit.facts import Amount
from buildcheck.fit.view import View
from buildcheck.model.pictures import Span

UNKNOWN = Span(None, None)


def span_of(amount: Amount, least: float | None = 0.0) -> Span:
    """An amount in mm. Its low end says nothing where it is `least`, which the size cannot be below anyway."""
    high = amount.high if isfinite(amount.high) else None
    low = amount.low if isfinite(amount.low) else None
    return Span(None if high is None and low == least else low, high)


def size_at(view: View, position: str, attribute: str) -> Span:
    """The size of a part in mm; unknown where the part has no such size."""
    return span_of(view.amount(position, attribute)) if view.has(position, attribute) else UNKNOWN
