"""Where the bar is, and how far a change moves it: what several rules need to know."""

from __future__ import annotations

from collections.abc import Collection
from math import dist, fsum, hypot, inf

from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount
from buildcheck.fit.support import spacers_below_stem
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
    rise = view.added("handlebar", "rise_mm", -inf)
    if below is None:
        return None
    sizes = (below, length, angle, head, clamp, rise)
    if not all(size.known for size in sizes):
        return None
    if not _possible(angle, head):
        return None  # no steering axis or stem leans like that; the figures cannot be trusted
    column = below - view.amount("headset-lower", "stack_mm") - view.amount("frame", "head_tube_length_mm")
    up = column.middle + clamp.middle / 2
    lift, back = spacer_move_mm(up, head.middle)
    height = lift + stem_rise_mm(length.middle, angle.middle, head.middle) + rise.middle
    reach = back + stem_reach_mm(length.middle, angle.middle, head.middle)
    return Amount(height, height).resting_on(*sizes), Amount(reach, reach).resting_on(*sizes)


def _possible(angle: Amount, head: Amount) -> bool:
    """Are these angles that a stem and a steering axis can have?"""
    return 0 < head.low <= head.high <= 90 and -90 <= angle.low <= angle.high <= 90


# What stands between the head tube and the spacers on the steerer.
_COLUMN = (("headset-upper", "stack_mm"), ("headset-cover", "height_mm"))
# Seen square to the steerer, so that the angle of the head tube does not matter.
_UPRIGHT_DEG = 90.0


def bar_stretch(context: Context, spacers_told: bool) -> Amount:
    """How much more line the change asks for between bar and frame, for lines that run in the open, in mm.

    The passages on record hold for the stack and the stem that were fitted. Moving the bar by a distance
    can take up at most that much line, and takes up at least what it puts between the bar and the top of
    the head tube; between the two it depends on how the line is laid. `spacers_told` is for passages that
    count the spacers under the stem themselves. Nothing where the bar stays, anything where a size that
    changes is not known.
    """
    return context.view.once(("bar-stretch", spacers_told), lambda: _bar_stretch(context, spacers_told))


def _bar_stretch(context: Context, spacers_told: bool) -> Amount:
    before = context.before
    if before is None or "stem" not in before.bike or "stem" not in context.bike:
        return Amount(0.0, 0.0)
    changing = set(context.changed_of(position for position, _ in _COLUMN))
    other_stem = context.is_changed("stem")
    spacers = {name for view in (before.view, context.view) for name in spacers_below_stem(view)}
    touched = [name for name in sorted(spacers) if context.is_touched(name)]
    other_spacers = not spacers_told and (bool(touched) or other_stem)
    if not (changing or other_stem or other_spacers):
        return Amount(0.0, 0.0)
    old, new = (_column(view, changing, other_spacers) for view in (before.view, context.view))
    shared = _column(context.view, {position for position, _ in _COLUMN} - changing, not other_spacers)
    stems = _stem(before.view), _stem(context.view)
    moving = (old, new, *stems[0], *stems[1]) if other_stem else (old, new)
    if not all(size.known for size in moving) or (other_stem and not all(map(_leans, stems))):
        return Amount(-inf, inf).resting_on(*moving)
    staying = (shared,) if other_stem else (shared, *stems[1])
    # Where the bar is may be unknown though how far it moves is known: then it is taken to be anywhere.
    placed = all(size.known for size in staying) and _leans(stems[1])
    ends = [
        _place(stem if placed or other_stem else None, column.middle + (shared.middle if placed else 0.0))
        for stem, column in zip(stems, (old, new), strict=True)
    ]
    doubt = fsum(map(_half_width, moving))
    moved = dist(*ends) + doubt
    if not placed:
        return Amount(-moved, moved).resting_on(*moving)
    further = hypot(*ends[1]) - hypot(*ends[0])
    return Amount(further - doubt - 2 * fsum(map(_half_width, staying)), moved).resting_on(*moving, *staying)


_Stem = tuple[Amount, Amount, Amount]


def _stem(view: View) -> _Stem:
    """Length, angle and height of the clamp."""
    return view.amount("stem", "length_mm"), view.signed("stem", "angle_deg"), view.amount("stem", "stack_mm")


def _leans(stem: _Stem) -> bool:
    """Is this an angle that a stem can have?"""
    return -90 <= stem[1].low <= stem[1].high <= 90


def _half_width(size: Amount) -> float:
    """What the middle of an amount may be wrong by; a degree of a stem of up to 180 mm moves the bar by 3.2 mm."""
    in_degrees = any(fact.unit != "mm" for fact in size.facts)
    return (size.high - size.low) / 2 * (3.2 if in_degrees else 1.0)


def _column(view: View, positions: Collection[str], spacers: bool) -> Amount:
    """Height of these parts of the stack, with the spacers under the stem or without them."""
    parts = (view.added(position, attribute) for position, attribute in _COLUMN if position in positions)
    return sum(parts, view.total(spacers_below_stem(view) if spacers else (), "height_mm"))


def _place(stem: _Stem | None, column_mm: float) -> tuple[float, float]:
    """Where the bar is, ahead of the top of the head tube and above it, square to the steerer and along it."""
    if stem is None:
        return 0.0, column_mm
    length, angle, clamp = (size.middle for size in stem)
    up = column_mm + clamp / 2 + stem_rise_mm(length, angle, _UPRIGHT_DEG)
    return stem_reach_mm(length, angle, _UPRIGHT_DEG), up
