"""Where the bar is, and how far another stem moves it: what several rules need to know."""

from __future__ import annotations

from math import hypot, inf

from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount
from buildcheck.fit.view import View
from buildcheck.rules.steering import stack_below_stem
from buildcheck.trade.steering import spacer_move_mm, stem_reach_mm, stem_rise_mm


def bar_position(view: View) -> tuple[Amount, Amount] | None:
    """Height of the bar centre above the head tube and its reach from the head tube's top, in mm.

    Measured square to the ground and along it, by the geometry of buildcheck.trade.steering; None where a
    part is missing. The steering axis leans back, so spacers raise the bar and bring it nearer.
    """
    needed = (("stem", "length_mm"), ("stem", "angle_deg"), ("stem", "stack_mm"), ("frame", "head_angle_deg"))
    if not all(view.has(position, attribute) for position, attribute in needed):
        return None
    below = stack_below_stem(view)
    length, angle = view.amount("stem", "length_mm"), view.signed("stem", "angle_deg")
    head, clamp = view.amount("frame", "head_angle_deg"), view.amount("stem", "stack_mm")
    rise = view.signed("handlebar", "rise_mm") if view.has("handlebar", "rise_mm") else Amount(0.0, 0.0)
    if below is None or not all(size.known for size in (below, length, angle, head, clamp, rise)):
        return None
    if not _possible(angle, head):
        return None  # no steering axis or stem leans like that; the figures cannot be trusted
    column = below - view.amount("headset-lower", "stack_mm") - view.amount("frame", "head_tube_length_mm")
    up = column.middle + clamp.middle / 2
    lift, back = spacer_move_mm(up, head.middle)
    facts = (*below.facts, *length.facts, *angle.facts, *head.facts, *clamp.facts, *rise.facts)
    height = lift + stem_rise_mm(length.middle, angle.middle, head.middle) + rise.middle
    reach = back + stem_reach_mm(length.middle, angle.middle, head.middle)
    return Amount(height, height, facts), Amount(reach, reach, facts)


def _possible(angle: Amount, head: Amount) -> bool:
    """Are these angles that a stem and a steering axis can have?"""
    return 0 < head.low <= head.high <= 90 and -90 <= angle.low <= angle.high <= 90


def stem_stretch(context: Context) -> Amount:
    """How much more line a new stem asks for between bar and frame, for lines that run in the open, in mm.

    The passages on record hold for the stem that was fitted. Moving the bar by a distance can take up at
    most that much line, and takes up at least what it puts between the bar and the top of the head tube;
    between the two it depends on how the line is laid. Nothing without another stem; anything from
    nothing up where a size of a stem is not known.
    """
    before = context.before
    if before is None or "stem" not in context.changed or "stem" not in before.bike or "stem" not in context.bike:
        return Amount(0.0, 0.0)
    old, new, head = _stem(before.view), _stem(context.view), _head_angle(context.view)
    facts = (*old[0].facts, *old[1].facts, *new[0].facts, *new[1].facts, *head.facts)
    known = all(size.known for size in (*old, *new, head))
    if not known or not _possible(old[1], head) or not _possible(new[1], head):
        return Amount(-inf, inf, facts)
    from_old, to_new = (_vector(*sizes, head) for sizes in (old, new))
    lift, back = spacer_move_mm(_column_mm(context.view), head.middle)
    nearer = hypot(back + from_old[0], lift + from_old[1])
    further = hypot(back + to_new[0], lift + to_new[1])
    return Amount(further - nearer, hypot(to_new[0] - from_old[0], to_new[1] - from_old[1]), facts)


def _stem(view: View) -> tuple[Amount, Amount]:
    return view.amount("stem", "length_mm"), view.signed("stem", "angle_deg")


def _head_angle(view: View) -> Amount:
    return view.amount("frame", "head_angle_deg") if "frame" in view.bike else Amount(0.0, inf)


def _vector(length: Amount, angle: Amount, head: Amount) -> tuple[float, float]:
    sizes = length.middle, angle.middle, head.middle
    return stem_reach_mm(*sizes), stem_rise_mm(*sizes)


def _column_mm(view: View) -> float:
    """Height of the stem above the head tube along the steerer; 0 where it is not known."""
    below = stack_below_stem(view)
    if below is None or not below.known:
        return 0.0
    column = below - view.amount("headset-lower", "stack_mm") - view.amount("frame", "head_tube_length_mm")
    return max(0.0, column.middle)
