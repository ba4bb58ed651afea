"""Every gear of a bike: ring, sprocket and gear of the hub, and what one turn of the cranks does in it."""

from __future__ import annotations

from math import inf, isfinite

from buildcheck.fit.drivetrain import ring_teeth
from buildcheck.fit.facts import Amount
from buildcheck.fit.view import View
from buildcheck.model.quantities import Interval
from buildcheck.model.report import Gear
from buildcheck.trade.gearing import development_m, gain_ratio
from buildcheck.trade.tyres import overall_diameters_mm

_NOBODY_KNOWS = Amount(0.0, inf)


def gears_of(view: View) -> tuple[Gear, ...]:
    """The gears, the biggest ring first and the smallest sprocket first; none where there is no ring or sprocket."""
    wheel, arm = _wheel_mm(view), _size(view, "crankset", "arm_length_mm")
    return tuple(
        Gear(_limits(ring), _limits(sprocket), hub_gear, *_does(wheel, arm, ring, sprocket, ratio))
        for ring in _rings(view)
        for sprocket in _sprockets(view)
        for hub_gear, ratio in _hub_gears(view)
    )


def _does(
    wheel: Amount, arm: Amount, ring: Amount, sprocket: Amount, hub: Amount
) -> tuple[Interval | None, Interval | None]:
    """Development and gain ratio; None where a size is not known."""
    if not all(_sized(size) for size in (wheel, ring, sprocket, hub)):
        return None, None
    metres = Interval(
        development_m(wheel.low, ring.low, sprocket.high, hub.low),
        development_m(wheel.high, ring.high, sprocket.low, hub.high),
    )
    if not _sized(arm):
        return metres, None
    return metres, Interval(
        gain_ratio(wheel.low, arm.high, ring.low, sprocket.high, hub.low),
        gain_ratio(wheel.high, arm.low, ring.high, sprocket.low, hub.high),
    )


def _sized(size: Amount) -> bool:
    return size.low > 0 and isfinite(size.high)


def _limits(size: Amount) -> Interval | None:
    return Interval(size.low, size.high) if _sized(size) else None


def _size(view: View, position: str, attribute: str) -> Amount:
    return view.amount(position, attribute) if view.has(position, attribute) else _NOBODY_KNOWS


def _wheel_mm(view: View) -> Amount:
    """Over the rear tyre as it is marked. How far its true height is off shifts all gears alike and is left out."""
    if not view.has("rear-tyre", "bead_seat_mm", "width_mm"):
        return _NOBODY_KNOWS
    seat = view.size_of_word("rear-tyre", "bead_seat_mm", "bead-seat")
    width = view.amount("rear-tyre", "width_mm")
    return Amount(*overall_diameters_mm((seat.low, seat.high), (width.low, width.high)))


def _rings(view: View) -> list[Amount]:
    """Each size of ring once; two of one size are one gear."""
    sizes = {(ring.low, ring.high): ring for ring in ring_teeth(view)}
    return sorted(sizes.values(), key=lambda ring: (ring.high, ring.low), reverse=True)


def _sprockets(view: View) -> list[Amount]:
    """The sprockets from the cassette's list if it agrees with what else is known of them, else the two at its ends."""
    if not view.has("cassette", "sprockets"):
        return []
    ends = [view.amount("cassette", name) for name in ("smallest_teeth", "largest_teeth")]
    teeth = view.word("cassette", "sprockets").value or ()
    listed = [Amount(float(count), float(count)) for count in teeth]
    if listed and not (ends[0].within(listed[0], 0.0).no or ends[1].within(listed[-1], 0.0).no):
        return listed
    speeds = view.amount("cassette", "speeds", 1.0)
    return ends[:1] if speeds.high == 1 else ends


def _hub_gears(view: View) -> list[tuple[int | None, Amount]]:
    """Number and ratio of each gear of the rear hub; a hub without gears has the ratio 1."""
    if not view.has("rear-wheel", "gear_ratios"):
        return [(None, _NOBODY_KNOWS)]
    ratios = view.word("rear-wheel", "gear_ratios").value
    if ratios:
        return [(number, Amount(ratio, ratio)) for number, ratio in enumerate(ratios, 1)]
    plain = view.word("rear-wheel", "hub_shift_system").value == "none"
    return [(None, Amount(1.0, 1.0) if plain else _NOBODY_KNOWS)]
