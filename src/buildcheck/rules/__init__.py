"""All rules, in the order in which they run. A plain joint of two parts is a row in catalog/standards instead."""

from __future__ import annotations

from buildcheck.fit.engine import Rule
from buildcheck.rules import brakes, cockpit, completeness, electronic, hydraulics, line_lengths, lines, steering

RULES: tuple[Rule, ...] = (
    completeness.position_empty,
    completeness.part_in_wrong_position,
    completeness.not_compared_yet,
    brakes.brake_missing,
    brakes.brakes_share_a_lever,
    brakes.coaster_with_derailleur,
    steering.steerer_too_short,
    steering.steerer_too_long,
    steering.spacer_stack_too_high,
    steering.spacers_above_stem_too_high,
    steering.steering_turn_limited,
    cockpit.accessory_without_place,
    cockpit.place_too_full,
    cockpit.support_missing,
    cockpit.lever_on_wrong_side,
    cockpit.lever_without_duty,
    cockpit.bar_tape_disturbed,
    cockpit.bar_position_changes,
    lines.line_has_no_way,
    lines.bore_too_small,
    lines.bend_too_tight,
    line_lengths.line_end_too_large,
    line_lengths.line_too_short,
    line_lengths.line_too_long,
    line_lengths.line_can_stay,
    lines.line_end_missing,
    hydraulics.brake_line_opened,
    hydraulics.hose_end_used_up,
    electronic.wiring_not_connected,
    electronic.wiring_in_a_ring,
    electronic.power_source_wrong,
    electronic.charge_point_out_of_reach,
    electronic.sockets_exhausted,
    electronic.junction_without_place,
)
