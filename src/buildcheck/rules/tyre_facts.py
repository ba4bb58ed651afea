"""What the rules on tyres share: the two ends of a bike, and how wide and high a tyre is there."""

from __future__ import annotations

from typing import NamedTuple

from buildcheck.fit.facts import Amount
from buildcheck.fit.view import View
from buildcheck.trade.tyres import Span, inflated_width_mm, tyre_radius_mm


class End(NamedTuple):
    """The positions at one end of a bike, and the attributes that tell the room of frame or fork there."""

    tyre: str
    wheel: str
    tube: str
    holder: str
    limit: str
    room: str
    radius: str


FRONT = End("front-tyre", "front-wheel", "front-tube", "fork", "tyre_max_mm", "tyre_room_mm", "tyre_radius_mm")
REAR = End(
    "rear-tyre", "rear-wheel", "rear-tube", "frame", "rear_tyre_max_mm", "rear_tyre_room_mm", "rear_tyre_radius_mm"
)
ENDS = (FRONT, REAR)


def span(amount: Amount) -> Span:
    """The two ends of an amount, for the formulas of buildcheck.trade.tyres."""
    return amount.low, amount.high


def bead_seat(view: View, position: str) -> Amount:
    """The bead seat of a tyre in mm as a number; the record has it as a word."""
    return view.size_of_word(position, "bead_seat_mm", "bead-seat")


def inflated_width(view: View, end: End) -> Amount:
    """The width of a tyre on the rim it sits on."""
    width, rim = view.amount(end.tyre, "width_mm"), view.amount(end.wheel, "rim_inner_mm")
    design = view.amount(end.tyre, "design_rim_mm")
    low, high = inflated_width_mm(span(width), span(rim), span(design))
    return Amount(low, high, (*width.facts, *rim.facts, *design.facts))


def tyre_radius(view: View, end: End) -> Amount:
    """Distance from the axle to the tread."""
    seat, width = bead_seat(view, end.tyre), view.amount(end.tyre, "width_mm")
    low, high = tyre_radius_mm(span(seat), span(width))
    return Amount(low, high, (*seat.facts, *width.facts))


def tyre_on_wheel(view: View, end: End) -> bool:
    """Is there a tyre on a wheel at this end?"""
    return view.has(end.tyre, "width_mm") and view.has(end.wheel, "rim_inner_mm")
