"""Law: every attribute of every part decides something, or stands in a table with the reason why it does not.

Each fact of each bundled bike is set to half, double, nothing, the next size both ways, each other word and unknown.
Where that never brings or takes away a finding of at least a caution, what no rule reads could be anything.
Some attributes decide only where a part is exchanged, or with parts that no bundled bike has: these are tried on what
the cases of a finding tell of. The whole sweep takes minutes; `make prove` does it, every run a part of it.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from random import Random
from zlib import crc32

import pytest

from buildcheck.model.blind import decides_nothing
from laws.bench import BIKES
from single_facts import Trial, all_names, benches, bundled, decides, facts_of, singles

PROVES = os.environ.get("HYPOTHESIS_PROFILE") == "prove"
# One attribute in so many is looked at in every run, one change of each that decides nothing.
ONE_IN = 1 if PROVES else 10
# The finding whose cases have the bench on which an attribute decides that decides nothing on any bundled bike.
ON_A_BENCH: dict[str, str] = {
    "accessory.bead_seat_mm": "mudguards-of-another-size",
    "accessory.child_seat_max_kg": "child-seat-not-allowed",
    "accessory.load_kg": "rack-overloaded",
    "accessory.passes_derailleur": "stabilisers-hit-derailleur",
    "accessory.post_strap": "strap-on-dropper",
    "accessory.ring_max_teeth": "chain-case-too-small",
    "accessory.stays": "mudguard-stays-loose",
    "adapter.bolt_length_mm": "brake-bolt-too-short",
    "adapter.bolt_reach_mm": "brake-bolt-too-short",
    "adapter.bolt_room_mm": "brake-bolt-too-short",
    "adapter.eccentricity_mm": "chain-cannot-be-tensioned",
    "adapter.end_caps": "axle-end-caps-mismatch",
    "adapter.hub_shift_mm": "axle-end-caps-mismatch",
    "adapter.interface": "axle-end-caps-mismatch",
    "adapter.lockring": "rotor-lockring-mismatch",
    "adapter.post_mm": "quill-adapter-post-short",
    "adapter.pull_in_mm": "shift-step-inexact",
    "adapter.pull_out_mm": "shift-step-inexact",
    "adapter.quill_insertion_min_mm": "quill-adapter-post-short",
    "adapter.race_angle_deg": "crown-seat-mismatch",
    "adapter.race_shoulder_mm": "crown-seat-mismatch",
    "adapter.rotor_step_mm": "brake-bolt-too-short",
    "adapter.side_a": "axle-end-caps-mismatch",
    "adapter.side_a_mm": "bar-clamp-mismatch",
    "adapter.side_b": "axle-end-caps-mismatch",
    "adapter.side_b_mm": "bar-clamp-mismatch",
    "adapter.thickness_mm": "brake-bolt-too-short",
    "axle.hitch_allowed": "trailer-not-allowed",
    "bar-stem.angle_deg": "line-can-stay",
    "bar-stem.bar_type": "accessory-without-place",
    "bar-stem.base_section": "accessory-without-place",
    "bar-stem.clamps_allowed": "clamp-not-allowed",
    "bar-stem.extensions_allowed": "extensions-not-allowed",
    "bar-stem.grip_mm": "accessory-without-place",
    "bar-stem.grip_torque_max_nm": "accessory-without-place",
    "bar-stem.inner_mm": "bar-bore-mismatch",
    "bar-stem.length_mm": "line-can-stay",
    "bar-stem.stack_mm": "accessory-without-place",
    "bar-stem.steerer_clamp_mm": "accessory-without-place",
    "bar-stem.steerer_clamp_torque_min_nm": "accessory-without-place",
    "bar-stem.steerer_section": "accessory-without-place",
    "bar-stem.steering_angle_deg": "accessory-without-place",
    "bar-stem.width_mm": "accessory-without-place",
    "battery.charge_port": "accessory-without-place",
    "belt.belt_profile": "belt-profile-mismatch",
    "belt.belt_teeth": "belt-cannot-be-tensioned",
    "belt-ring.belt_profile": "belt-profile-mismatch",
    "belt-ring.belt_teeth": "belt-cannot-be-tensioned",
    "belt-ring.ring_mount": "ring-mount-mismatch",
    "belt-sprocket.belt_profile": "belt-profile-mismatch",
    "belt-sprocket.belt_teeth": "belt-cannot-be-tensioned",
    "belt-sprocket.freehub": "freehub-mismatch",
    "bottom-bracket.eccentricity_mm": "chain-cannot-be-tensioned",
    "bottom-bracket.material": "brake-line-opened",
    "chain-tensioner.capacity_teeth": "chain-tensioner-too-small",
    "chain-tensioner.mount": "chain-tensioner-mount-mismatch",
    "chain-tensioner.thickness_mm": "chain-too-narrow-for-tensioner",
    "chain.half_link": "chain-links-odd",
    "crank-arm.arm_length_mm": "crank-arms-differ",
    "crank-arm.pedal_thread": "pedal-thread-mismatch",
    "crank-arm.spindle": "crank-arm-spindle-mismatch",
    "crank-arm.thread_hand": "thread-of-wrong-hand",
    "crankset.arms": "thread-of-wrong-hand",
    "crankset.largest_ring_teeth": "chainring-hits-stay",
    "crankset.material": "cleat-mismatch",
    "crankset.smallest_ring_teeth": "chainring-hits-stay",
    "fork.cable_stop": "cable-hanger-missing",
    "fork.clamps_allowed": "clamp-not-allowed",
    "fork.fork_leg_outer_mm": "clamp-not-allowed",
    "fork.material": "brake-line-opened",
    "frame.built_kg": "bike-overloaded",
    "frame.chainstay_outer_mm": "accessory-without-place",
    "frame.child_seat_max_kg": "child-seat-not-allowed",
    "frame.clamps_allowed": "clamp-not-allowed",
    "frame.down_tube_outer_mm": "accessory-without-place",
    "frame.fork_length_mm": "steering-geometry-changes",
    "frame.head_angle_deg": "steering-geometry-changes",
    "frame.material": "brake-line-opened",
    "frame.opens_for_belt": "frame-closed-to-belt",
    "frame.permitted_total_kg": "bike-overloaded",
    "frame.rider_kg": "bike-overloaded",
    "frame.seat_mast_mm": "seat-mast-mismatch",
    "frame.rear_cable_stop": "cable-hanger-missing",
    "frame.seat_stay_outer_mm": "accessory-without-place",
    "frame.top_tube_outer_mm": "accessory-without-place",
    "frame.trailer_max_kg": "trailer-not-allowed",
    "frame.wheelbase_mm": "fork-longer-than-allowed",
    "freehub-spacer.bore_mm": "spacer-bore-mismatch",
    "freehub-spacer.thickness_mm": "cassette-stack-too-long",
    "front-derailleur.charge_port": "accessory-without-place",
    "front-wheel.end_caps": "axle-end-caps-mismatch",
    "handlebar.clamps_allowed": "clamp-not-allowed",
    "handlebar.extensions_allowed": "extensions-not-allowed",
    "handlebar.inner_mm": "bar-bore-mismatch",
    "handlebar.material": "torque-limits-apart",
    "headset.material": "brake-line-opened",
    "hose.end_cuttable": "line-too-short",
    "hose.end_fitting_mm": "accessory-without-place",
    "hose.start_cuttable": "line-too-short",
    "hose.start_fitting_mm": "accessory-without-place",
    "housing.end_cuttable": "line-end-too-large",
    "housing.end_fitting_mm": "line-end-too-large",
    "housing.start_cuttable": "line-end-too-large",
    "housing.start_fitting_mm": "line-end-too-large",
    "housing.cable_max_mm": "inner-cable-too-thick",
    "inner-cable.cable_head": "inner-cable-head-mismatch",
    "inner-cable.diameter_mm": "inner-cable-too-thick",
    "inner-cable.length_mm": "inner-cable-too-short",
    "inner-cable.use": "inner-cable-use-mismatch",
    "lever.charge_port": "accessory-without-place",
    "mounts.tubes": "accessory-without-place",
    "passages.bore.area_mm2": "bore-too-small",
    "passages.straight": "bend-too-tight",
    "pedal.cleat": "cleat-mismatch",
    "pedal.pedal_thread": "pedal-thread-mismatch",
    "pedal.thread_hand": "thread-of-wrong-hand",
    "rear-derailleur.charge_port": "accessory-without-place",
    "rear-wheel.end_caps": "end-caps-hub-mismatch",
    "rear-wheel.hub_brake_pull": "hub-brake-pull-mismatch",
    "saddle.material": "torque-limits-apart",
    "seatpost.clamps_allowed": "clamp-not-allowed",
    "seatpost.mast_mm": "seat-mast-mismatch",
    "seatpost.material": "brake-line-opened",
    "seatpost.rails_least_mm": "seat-mast-too-long",
    "seatpost.rails_most_mm": "mast-cap-too-high",
    "stem.angle_deg": "bar-position-changes",
    "stem.length_mm": "bar-position-changes",
    "tyre.bead": "rim-holds-other-tyres",
    "tyre.design_rim_mm": "tyre-swells-past-limit",
    "tyre.straight_side_ok": "brake-missing",
    "wire.bend_radius_min_mm": "bend-too-tight",
    "wire.end_cuttable": "line-end-too-large",
    "wire.end_fitting_mm": "line-end-too-large",
    "wire.start_cuttable": "line-end-too-large",
    "wire.start_fitting_mm": "line-end-too-large",
}
NAMES = sorted(name for name in all_names() if crc32(name.encode()) % ONE_IN == 0)
DECIDING = [name for name in NAMES if decides_nothing(name) is None]
BLIND = [name for name in NAMES if decides_nothing(name) is not None]


def _trials(name: str) -> Iterator[Trial]:
    """Where to try an attribute: the bench that is known to have it first."""
    yield from benches(ON_A_BENCH[name]) if name in ON_A_BENCH else ()
    order = sorted(BIKES)
    Random(name).shuffle(order)
    yield from map(bundled, order)


def _deciding(name: str) -> bool:
    for trial in _trials(name):
        tried = singles(trial, facts_of(trial).get(name, ()))
        Random(name).shuffle(tried)
        if any(decides(trial, single) for single in tried):
            return True
    return False


@pytest.mark.parametrize("name", DECIDING)
def test_every_attribute_decides_something(name: str) -> None:
    assert _deciding(name), f"{name} decides nothing: give it a rule, or a reason in model/blind.py"


@pytest.mark.parametrize("bike", BIKES)
def test_what_is_said_to_decide_nothing_does_not(bike: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Every change of every fact of a bike is tried where laws are proven."""
    trial, tried = bundled(bike), 0
    for name, facts in facts_of(trial).items():
        blind = decides_nothing(name) is not None
        changes = singles(trial, facts) if PROVES or name in BLIND else []
        for single in changes if PROVES else Random(bike).sample(changes, min(1, len(changes))):
            tried += 1
            assert not (decides(trial, single) and blind), (name, single)
    assert tried > (2_000 if PROVES else 5)
    if PROVES:
        with capsys.disabled():
            print(f"\n{bike}: {tried:,} changes of single facts")


def test_a_bench_is_named_for_what_has_none_on_the_bikes_alone() -> None:
    assert not {name for name in ON_A_BENCH if name not in all_names() or decides_nothing(name) is not None}
