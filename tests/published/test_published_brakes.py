"""Mounts, cable pull and bolts of brakes against figures from outside."""

import math

import pytest

from buildcheck.library.bikes import load_bike, set_facts
from buildcheck.library.folders import bundled_bike
from buildcheck.model.bikes import Change
from buildcheck.model.parts.frame_and_steering import Fork, Frame
from buildcheck.model.quantities import Interval
from buildcheck.vetting import Vetting
from laws.bench import catalogue


def _names(bike_name: str, *settings: str) -> set[tuple[str, str]]:
    bike = load_bike(bundled_bike(bike_name), catalogue())
    told = set_facts(bike, Change(), settings, catalogue())
    return {(finding.name, finding.level) for finding in Vetting(told, catalogue()).check().findings}


def test_tabs_in_front_and_behind_serve_rotors_20_mm_apart() -> None:
    # "Disc brake adapters" (dealer blog): the same bracket serves a rotor 20 mm larger in front than behind.
    fronts, rears = set(), set()
    for part in catalogue().of_kinds(["fork", "frame"]):
        if isinstance(part, Fork) and part.brake_mount == ("is-51",):
            fronts.add(part.rotor_native_mm)
        if isinstance(part, Frame) and part.rear_brake_mount == ("is-51",):
            rears.add(part.rear_rotor_native_mm)
    assert len(fronts) == len(rears) == 1
    front, rear = fronts.pop(), rears.pop()
    assert isinstance(front, Interval)
    assert isinstance(rear, Interval)
    assert front.low - rear.low == 20


def test_cable_pull_of_the_two_classes() -> None:
    # Public question and answer on rim brakes, 2020: 14 mm from pivot to cable on a road lever; 29, 33 and 38 mm on
    # levers for linear-pull brakes. Worked out over 20 degrees. "MTB brake levers" (dealer article): the long pull is
    # about twice the short one.
    short, long = (
        next(term.value for term in catalogue().standards.vocabularies["cable-pull"].terms if term.id == word)
        for word in ("short", "long")
    )
    assert short is not None
    assert long is not None
    assert 14 <= short / math.radians(20) < 28
    assert 29 <= long / math.radians(20) <= 38
    assert 1.5 * short < long < 2.5 * short


@pytest.mark.parametrize(("out_mm", "too_far"), [(15.0, False), (15.1, True)])
def test_a_screw_end_stands_out_by_its_major_diameter_at_most(out_mm: float, too_far: bool) -> None:
    # ISO 4210-2 cl. 4.5, read in TBIS 4210: the end of a screw protrudes by one major diameter at most, which is 5 mm
    # for M5. The thread of this caliper asks for 10 mm, and the stay is 25 mm thick.
    found = _names("allroad-wired", f"rear-caliper.bolt_length_mm={25 + out_mm}", "rear-caliper.bolt_room_mm=40")
    assert (("brake-bolt-too-long", "caution") in found) is too_far
