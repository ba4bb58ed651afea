"""Law: a size that cannot be, a tenth or ten times of what it is, is found out, or stands here with the reason.

Each size of each part of the bundled bikes is changed so, one at a time, and the verdict is no `fits`.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from fnmatch import fnmatchcase

import pytest

from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Bike
from buildcheck.model.levels import Verdict
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval
from laws.bench import BIKES, bike, catalogue, verdict
from laws.test_one_fact_unknown import with_value

# All bikes take a minute; `make prove` does it all, every run two of them.
PROVE = os.environ.get("HYPOTHESIS_PROFILE") == "prove"
TRIED = BIKES if PROVE else ("city-rim", "allroad-wired")
SMALLER, LARGER = "/10", "x10"
TIMES = {SMALLER: 0.1, LARGER: 10.0}

# What may be so, by the reason why it decides nothing: `attribute/10`, `attributex10`, `*` for anything; of one kind of
# part where a kind stands before the dot.
MAY_BE = {
    "what a maker allows: one who allows more forbids nothing": """
        *_max*x10 *_min*/10 capacity_teethx10 steering_angle_degx10""",
    "more room than is needed, or a smaller thing in it: that it is large enough is asked by a row of its own": """
        *tyre_room_mmx10 *tyre_radius_mmx10 arch_mmx10 arch_width_mmx10 arm_room_mmx10 crank_room_mm/10 rim_outer_mm/10
        bolt_room_mmx10 bolt_reach_mm/10 outer_mm/10 rear_slot_width_mmx10 rear_axle_slot_mmx10 chain_growth_mm/10
        inner_width_mmx10 outer_width_mm/10 sprocket_thickness_mm/10 chainring.thickness_mm/10 valve_length_mmx10
        eccentricity_mmx10 rim_depth_mm/10 head_mm/10 lowest_mm* saddle.height_mm/10""",
    "the length that is left over: told as work where it is in the way, else it is cut or tied": """
        axle.length_mmx10 hose.length_mmx10 housing.length_mmx10 wire.length_mmx10""",
    "it counts with other parts than those that are fitted: another spindle, steerer, axle, bar or number of rings": """
        axle_length_mm/10 rear_axle_length_mm/10 bearing_span_mm* spindle_length_mm* crankset.chainline_mm*
        lever.clamp_mm* depth_mm* front-hanger.height_mm/10 cable_max_mm/10
        axle_flats_mm/10 rear_slot_width_mm/10 rear_axle_slot_mm/10 ring_max_*_teeth/10 spacers_*_max_mm/10 speeds*
        plate_flip_mm* crown_hole_mm* bridge_hole_mm* bore_mm* outer_mmx10 outer_width_mmx10 lever.twist_mm*""",
    "a caution that has no limit: why not is told in rules/test_limits.py": """
        bend_radius_min_mmx10 cable_per_shift_mm* shift_ratio* sprocket_pitch_mmx10 ring_spacing_mm* piston_mm*
        pistons_per_side* front_centre_mm* offset_mm* fork_offset_mm*""",
    "no load, no child, no weighed rider and no clamp round the tube is on the bike that would ask for it": """
        load_kg* load_max_kg/10 child_seat_max_kg/10 trailer_max_kg/10 *_tube_outer_mm* *_stay_outer_mm*
        permitted_total_kg*
        chainstay_outer_mm* fork_leg_outer_mm*""",
    "the mark is a caution; whether a tyre is flat is told by its width": """
        pressure_min_barx10""",
    "a caution on metal, which dents before it breaks; on carbon it blocks": """
        *torque_max_nm/10 *torque_min_nmx10""",
    "how the rider sits and how the bike steers: no two parts meet in it": """
        stem.angle_deg* stem.length_mm/10 reach_mm* drop_mm* rise_mm* setback_mm* q_factor_mm*
        wheelbase_mm* fork_length_mm* axle_to_crown_mm/10 *travel_mm*""",
    "how bright a lamp is: another is held to it that takes its place": """
        light_lux*""",
    "pads of one shape go into one caliper: what is too thick for it has another shape": """
        brake-pads.thickness_mmx10""",
    "a record that contradicts itself: no other part is asked": """
        largest_teeth/10 smallest_teethx10 ringsx10 rim_inner_mm/10""",
    "a bearing in a cup of its own set, which comes with it": """
        bearing_outer_* stack_mm*""",
    "it tells what a thing weighs, how thick it feels or how many are in the box": """
        weight_g* pieces* bar-tape.* grips.* design_rim_mm* handlebar.inner_mm*
        battery.diameter_mm* start_fitting_mm* end_fitting_mm*""",
}  # fmt: skip


def absurd(of: Bike) -> Iterator[tuple[str, str, Bike]]:
    """Each size of a bike, by itself a tenth and ten times of what it is: its name, its position and the bike."""
    for spot in of.main_spots():
        for attribute in sorted(fields_of(type(spot.part))):
            size = getattr(spot.part, attribute)
            if isinstance(size, Interval) and size.low > 0:
                for sign, times in TIMES.items():
                    other = Interval(size.low * times, size.high * times)
                    yield f"{spot.part.kind}.{attribute}{sign}", spot.position, with_value(of, spot, attribute, other)


def fits(of: Bike, changed: str) -> bool:
    """Does a bike fit, and would the record of the part that was changed be taken as one of a bicycle?"""
    return verdict(of) is Verdict.FITS and not refused(of[changed].part)


def refused(part: Part) -> bool:
    """Does a record hold a size that no bicycle has? That its facts contradict each other is another matter."""
    table = catalogue().constraints
    rows = [row for row in table.of(part.kind) if any(side.number is not None for side in row.sides())]
    broken = [found.text for found in table.broken_by(part, type(part).model_fields)]
    return any(text.endswith(row.why) for text in broken for row in rows)


def patterns() -> list[str]:
    every = (pattern for of_reason in MAY_BE.values() for pattern in of_reason.split())
    return [pattern if "." in pattern else f"*.{pattern}" for pattern in every]


@pytest.mark.parametrize("name", TRIED)
def test_an_absurd_size_is_found_out(name: str) -> None:
    tried = 0
    for change, changed, of in absurd(bike(name)):
        if not any(fnmatchcase(change, pattern) for pattern in patterns()):
            tried += 1
            assert not fits(of, changed), change
    assert tried > 100


@pytest.mark.skipif(not PROVE, reason="all bikes are tried by `make prove`")
def test_what_may_be_so_is_so_on_some_bike() -> None:
    fitting = {change for name in BIKES for change, changed, of in absurd(bike(name)) if fits(of, changed)}
    idle = [pattern for pattern in patterns() if not any(fnmatchcase(change, pattern) for change in fitting)]
    assert not idle, "these never fit: take them out of the table"
