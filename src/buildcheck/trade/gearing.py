"""What a gear does: the way for one turn of the cranks, and another measure of the same thing.

`hub` is the ratio of a gear hub in the gear that is in: turns of the wheel for one turn of the sprocket, 1 without.
"""

import math


def development_m(wheel_mm: float, ring_teeth: float, sprocket_teeth: float, hub: float = 1.0) -> float:
    """Metres that the bike goes for one turn of the cranks; wheel_mm is the outer diameter of the tyre.

    A tyre under load rolls 1 to 2 % less (common practice, from memory).
    Errors: ValueError unless all are above 0 and finite. Source: Wikipedia, Gear inches: pi times diameter times
    ring over sprocket.
    """
    return math.pi * _above_zero(wheel_mm, "wheel") / 1000 * _ratio(ring_teeth, sprocket_teeth, hub)


def gain_ratio(wheel_mm: float, arm_mm: float, ring_teeth: float, sprocket_teeth: float, hub: float = 1.0) -> float:
    """Way of the bike over the way of the pedal, no unit: it takes the length of the crank arm into account.

    Errors: as `development_m`. Source: Gain ratios (bicycle glossary): wheel radius over arm, times ring over sprocket.
    """
    radius = _above_zero(wheel_mm, "wheel") / 2
    return radius / _above_zero(arm_mm, "crank arm") * _ratio(ring_teeth, sprocket_teeth, hub)


def _ratio(ring_teeth: float, sprocket_teeth: float, hub: float) -> float:
    ring, sprocket = _above_zero(ring_teeth, "ring"), _above_zero(sprocket_teeth, "sprocket")
    return ring / sprocket * _above_zero(hub, "hub ratio")


def _above_zero(value: float, name: str) -> float:
    if not (math.isfinite(value) and value > 0):
        raise ValueError(f"{name} {value} must be a finite number above 0")
    return value
