"""What the side view draws of this very bike: the form of its frame, its wheels, brakes and what it carries."""

from __future__ import annotations

from typing import Literal

from buildcheck.fit.view import View
from buildcheck.model.pictures import FrameForm, Outline
from buildcheck.trade.tyres import overall_diameter_mm

# A child's bike has smaller wheels than these, and one for loads carries them between the wheels: our choice.
_CHILD_WHEEL_MM = 570.0


def outline_of(view: View) -> Outline:
    """The outline of a bike, as far as its records tell. Sizes in mm."""
    front, rear = wheel_mm(view, "front"), wheel_mm(view, "rear")
    return Outline(
        form=_form(view, rear),
        front_wheel_mm=front,
        rear_wheel_mm=rear,
        front_brake=_brake(view, "front"),
        rear_brake=_brake(view, "rear"),
        chain="derailleur" if "rear-derailleur" in view.bike or "chain-tensioner" in view.bike else "straight",
        suspended_fork=_above_zero(view, "fork", "travel_mm"),
        bar=_word(view, "handlebar", "bar_type"),
        carries=tuple(
            (use, view.bike[name].on) for name in view.of_row("accessory") if (use := _word(view, name, "use"))
        ),
    )


def wheel_mm(view: View, end: str) -> float | None:
    """A wheel over the tread of its tyre in mm, None where seat or width is not known."""
    tyre = f"{end}-tyre"
    if not view.has(tyre, "bead_seat_mm", "width_mm"):
        return None
    seat = view.size_of_word(tyre, "bead_seat_mm", "bead-seat")
    width = view.amount(tyre, "width_mm")
    return overall_diameter_mm(seat.middle, width.middle) if seat.known and width.known else None


def _form(view: View, rear_mm: float | None) -> FrameForm:
    bike = view.bike
    if "front-crankset" in bike:
        return "tandem"
    if bike.use == "delivery":
        return "carrier"
    if _word(view, "frame", "hinge") not in (None, "none"):
        return "folding"
    if _above_zero(view, "frame", "rear_travel_mm"):
        return "full-suspension"
    return "child" if rear_mm is not None and rear_mm < _CHILD_WHEEL_MM else "diamond"


def _brake(view: View, end: str) -> Literal["disc", "rim", "hub"] | None:
    kind = _word(view, f"{end}-caliper", "brake_type")
    if kind == "disc":
        return "disc"
    if kind == "rim":
        return "rim"
    return "hub" if _word(view, f"{end}-wheel", "hub_brake") not in (None, "none") else None


def _word(view: View, position: str, attribute: str) -> str | None:
    word = view.word(position, attribute).value if view.has(position, attribute) else None
    return word if isinstance(word, str) else None


def _above_zero(view: View, position: str, attribute: str) -> bool:
    return view.has(position, attribute) and view.amount(position, attribute).at_most(0.0).is_no
