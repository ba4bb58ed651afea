"""Steering geometry: what another fork, tyre or wheel does to trail, head angle and wheelbase."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import Exact, Said, say
from buildcheck.rules.ends import FRONT, REAR, End
from buildcheck.rules.tyre_facts import bead_seat, tyre_on_wheel
from buildcheck.trade.geometry import (
    Geometry,
    mechanical_trail_mm,
    trail_mm,
    wheel_flop_mm,
    with_fork,
)
from buildcheck.trade.tyres import overall_diameter_mm

# A change of trail that every rider feels at once: our choice.
FELT_TRAIL_MM = 10.0


class _Steering(NamedTuple):
    """How a bike steers."""

    geometry: Geometry
    trail_mm: float
    mechanical_trail_mm: float
    flop_mm: float


def _radius(view: View, end: End) -> Amount | None:
    """Radius of a wheel with its tyre; None where it is not known."""
    if not tyre_on_wheel(view, end):
        return None
    seat, width = bead_seat(view, end.tyre), view.amount(end.tyre, "width_mm")
    if not (seat.known and width.known):
        return None
    radius = overall_diameter_mm(seat.middle, width.middle) / 2
    return Amount(radius, radius).resting_on(seat, width)


def _steering(view: View, raised_mm: float = 0.0) -> _Steering | None:
    """The steering of a bike as it stands; None where a fact is missing. Limits count by their middle.

    `raised_mm` is how much higher the lower half of the headset is than that with which the geometry is stated.
    """
    if not (view.has("frame", "wheelbase_mm") and view.has("fork", "axle_to_crown_mm", "offset_mm")):
        return None
    front, rear = _radius(view, FRONT), _radius(view, REAR)
    head, base = view.amount("frame", "head_angle_deg"), view.amount("frame", "wheelbase_mm")
    made_for = view.amount("frame", "fork_length_mm"), view.signed("frame", "fork_offset_mm")
    fork = view.amount("fork", "axle_to_crown_mm"), view.signed("fork", "offset_mm")
    sizes = (head, base, *made_for, *fork)
    if front is None or rear is None or not all(size.known for size in sizes) or not 0 < head.low <= head.high <= 90:
        return None
    longer, more = (new.middle - old.middle for new, old in zip(fork, made_for, strict=True))
    try:
        now = with_fork(Geometry(head.middle, base.middle), longer + raised_mm, more, front.middle - rear.middle)
        at = (front.middle, now.head_angle_deg, fork[1].middle)
        figures = trail_mm(*at), mechanical_trail_mm(*at), wheel_flop_mm(*at)
    except ValueError:
        return None  # no bicycle: a figure on record is wrong, and nothing can be told from it
    return _Steering(now, *figures)


_LOWER = "headset-lower"


def _raised_mm(before: View, context: Context) -> float | None:
    """How much the change raises the head tube over the crown by another lower half; None where that is not known.

    The geometry of a frame is taken to be stated with the half that was there: our choice.
    """
    if not (context.is_changed(_LOWER) and before.has(_LOWER, "stack_mm") and context.view.has(_LOWER, "stack_mm")):
        return 0.0
    old, new = before.amount(_LOWER, "stack_mm"), context.view.amount(_LOWER, "stack_mm")
    return new.middle - old.middle if old.known and new.known else None


@rule(
    Level.CAUTION,
    Level.NOTE,
    use_proves=Proof.NOTHING,
    source="geometry (CALC from head angle, wheelbase, fork and wheels); 10 mm of trail is our choice",
    rider=True,
    needs_change=True,
)
def steering_geometry_changes(self: Rule, context: Context) -> Iterator[Finding]:
    """The change makes the bike steer differently: another trail, head angle or wheelbase.

    Trail is what turns the front wheel back straight. A longer fork leans the head tube back and adds
    trail, and so does a lower half of the headset that builds higher; more offset takes trail away, and a larger
    wheel adds some. Head angle and wheelbase are worked
    out from the geometry that the frame is stated for, with unloaded tyres and without sag.
    10 mm of trail more or less is felt at once and is a caution, anything else a note.

    Cure: none needed if the rider wants it; a fork of the length and offset that the frame was made for if
    not. Let the rider try it at walking pace first.
    """
    if context.before is None:
        return
    raised = _raised_mm(context.before.view, context)
    if raised is None:
        return
    old, new = _steering(context.before.view), _steering(context.view, raised)
    if old is None or new is None:
        return
    trail = new.trail_mm - old.trail_mm
    angle = new.geometry.head_angle_deg - old.geometry.head_angle_deg
    base = new.geometry.wheelbase_mm - old.geometry.wheelbase_mm
    if abs(trail) < 0.5 and abs(angle) < 0.05 and abs(base) < 0.5:
        return
    level = Level.CAUTION if abs(trail) > FELT_TRAIL_MM else Level.NOTE
    yield self.tell(_from_old_to_new(old, new), context.changed_of(_STEERS), level=level)


# What the steering depends on.
_STEERS = ("fork", _LOWER, "front-wheel", "front-tyre", "frame", "rear-wheel", "rear-tyre")


def _from_old_to_new(old: _Steering, new: _Steering) -> Said:
    return say(
        "Trail goes from {old_trail} to {trail} mm; mechanical trail from {old_mechanical} to {mechanical} mm; wheel "
        "flop from {old_flop} to {flop} mm; head angle from {old_angle} to {angle} degrees; wheelbase from {old_base} "
        "to {base} mm.",
        old_trail=_tenths(old.trail_mm), trail=_tenths(new.trail_mm),
        old_mechanical=_tenths(old.mechanical_trail_mm), mechanical=_tenths(new.mechanical_trail_mm),
        old_flop=_tenths(old.flop_mm), flop=_tenths(new.flop_mm),
        old_angle=_tenths(old.geometry.head_angle_deg), angle=_tenths(new.geometry.head_angle_deg),
        old_base=_tenths(old.geometry.wheelbase_mm), base=_tenths(new.geometry.wheelbase_mm),
    )  # fmt: skip


def _tenths(figure: float) -> Exact:
    """With its tenths even where they are none: all of these figures are as exact as one another."""
    return Exact(figure, 1)
