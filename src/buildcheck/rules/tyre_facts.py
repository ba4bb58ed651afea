"""What the rules on tyres share: where there is a tyre on a wheel, and how wide and high it is."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.fit.facts import Amount, spanned
from buildcheck.fit.tape import each
from buildcheck.fit.view import View
from buildcheck.rules.ends import ENDS, End
from buildcheck.trade.tyres import inflated_width_mm, tyre_radius_mm


def bead_seat(view: View, position: str) -> Amount:
    """The bead seat of a tyre or a rim in mm as a number; the record has it as a word."""
    return view.size_of_word(position, "bead_seat_mm", "bead-seat")


def _tokens(view: View, *positions: str) -> Iterator[tuple[str, object]]:
    return ((spot.home, spot.token) for spot in map(view.bike.__getitem__, positions))


def inflated_width(view: View, end: End) -> Amount:
    """The width of a tyre on the rim it sits on."""
    return view.memo.recall(("inflated-width", *_tokens(view, end.tyre, end.wheel)), lambda: _inflated_width(view, end))


def _inflated_width(view: View, end: End) -> Amount:
    width, rim = view.amount(end.tyre, "width_mm"), view.amount(end.wheel, "rim_inner_mm")
    return spanned(inflated_width_mm, width, rim, view.amount(end.tyre, "design_rim_mm"))


def tyre_radius(view: View, end: End) -> Amount:
    """Distance from the axle to the tread."""
    return view.memo.recall(("tyre-radius", *_tokens(view, end.tyre)), lambda: _tyre_radius(view, end))


def _tyre_radius(view: View, end: End) -> Amount:
    return spanned(tyre_radius_mm, bead_seat(view, end.tyre), view.amount(end.tyre, "width_mm"))


def tyre_on_wheel(view: View, end: End) -> bool:
    """Is there a tyre on a wheel at this end?"""
    return view.has(end.tyre, "width_mm") and view.has(end.wheel, "rim_inner_mm")


def ends_with_tyre(view: View) -> Iterator[End]:
    """The ends where a tyre is on a wheel, one by one."""
    return each(view.layout.recall("ends-with-tyre", lambda: [end for end in ENDS if tyre_on_wheel(view, end)]))
