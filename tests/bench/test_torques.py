"""The torque sheet of real changes: whose limit counts, which hand, what goes on the thread, which wrench."""

from __future__ import annotations

from typing import NamedTuple

import pytest

from buildcheck.bench.torques import CARBON, torque_rows
from buildcheck.fit.context import Context
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.job import Step, TorqueRow
from buildcheck.model.report import PlannedOperation
from buildcheck.model.sentences import NOTHING
from laws.bench import bike, catalogue, change, context_of, with_facts
from laws.test_work import work_of


class Operation(NamedTuple):
    """As much of an operation as the sheet looks at."""

    id: str
    position: str | None


def job(of: Bike, asked: Change) -> tuple[Context, tuple[PlannedOperation, ...]]:
    return context_of(of, asked), work_of(of, asked).operations


def sheet(of: Bike, *fits: str, off: tuple[str, ...] = ()) -> dict[tuple[str, str], TorqueRow]:
    rows = torque_rows(*job(of, change(of, *fits, take_off=off)))
    found = {(row.fastener, row.position): row for row in rows}
    assert len(found) == len(rows), "a fastener stands there twice"
    return found


def test_the_demo_has_every_bolt_of_the_front_end() -> None:
    rows = sheet(bike("allroad-wired"), "wexcombe-veil-420-100@handlebar")
    assert {
        ("stem-steerer-clamp", "stem"), ("top-cap", "steerer-plug"),
        ("lever-clamp-drop", "lever-left"), ("lever-clamp-drop", "lever-right"),
        ("hose-nut-lever", "front-brake-line"), ("hose-nut-lever", "rear-brake-line"),
        ("bleed-screw", "front-brake-line"), ("pad-pin", "rear-pads"),
        ("thru-axle", "front-axle"), ("thru-axle", "rear-axle"), ("accessory-clamp", "accessory-computer"),
    } <= set(rows)  # fmt: skip
    assert ("stem-faceplate", "stem") not in rows, "a one-piece bar has no faceplate"
    others = {"cassette-lockring", "pedal-left", "saddle-clamp-two-bolts", "bottle-cage-bolts", "lever-clamp-flat"}
    assert not {name for name, _ in rows} & others


def test_the_demo_says_whose_limit_counts_and_what_carbon_needs() -> None:
    row = sheet(bike("allroad-wired"), "wexcombe-veil-420-100@handlebar")["stem-steerer-clamp", "stem"]
    assert (row.low_nm, row.high_nm) == (5, 6)
    assert "bar-stem" in str(row.limited_by)
    assert str(row.source).startswith("the makers' figures")
    assert "carbon assembly paste" in str(row.compound)
    assert CARBON in row.cautions
    assert str(row.wrench) == "torque wrench 2–20 N·m"
    assert row.set_nm is None, "no adapter, so the torque itself is set"


def test_where_no_figure_was_found_published_the_maker_is_asked() -> None:
    row = sheet(bike("allroad-wired"), "wexcombe-veil-420-100@handlebar")["hose-nut-lever", "front-brake-line"]
    assert (row.low_nm, row.high_nm, row.set_nm) == (None, None, None)
    assert "No figure on record: take that of the maker." in map(str, row.cautions)


def test_top_cap_and_small_clamps_are_done_by_hand() -> None:
    rows = sheet(bike("allroad-wired"), "wexcombe-veil-420-100@handlebar")
    for name in (
        ("top-cap", "steerer-plug"),
        ("accessory-clamp", "accessory-lamp"),
        ("bleed-screw", "rear-brake-line"),
    ):
        assert rows[name].by_hand
        assert (rows[name].wrench, rows[name].set_nm) == (NOTHING, None)


def test_the_lower_limit_of_bar_and_stem_wins() -> None:
    of = bike("allroad-wired")
    of = with_facts(
        of, stem__bar_clamp_torque_min_nm=3, stem__bar_clamp_torque_max_nm=7, handlebar__clamp_torque_max_nm=4.5
    )
    row = sheet(of, "tolverne-hollin-440@handlebar")["stem-faceplate", "stem"]
    low = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert (low.low_nm, low.high_nm) == (3, 4.5)
    assert "handlebar" in str(low.limited_by)
    assert row.high_nm is not None
    assert row.high_nm <= 7


def test_of_limits_that_are_told_roughly_the_one_counts_that_may_be_the_lowest() -> None:
    of = with_facts(
        bike("allroad-wired"),
        stem__bar_clamp_torque_min_nm=3,
        stem__bar_clamp_torque_max_nm="5..6",
        handlebar__clamp_torque_max_nm="4..8",
    )
    row = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert (row.low_nm, row.high_nm) == (3, 4)
    assert "handlebar" in str(row.limited_by)


def test_limits_that_lie_apart_leave_no_torque_and_no_wrench() -> None:
    of = with_facts(bike("allroad-wired"), stem__bar_clamp_torque_min_nm=6, handlebar__clamp_torque_max_nm=4)
    row = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert row.low_nm == 6
    assert row.high_nm == 4
    assert str(row.cautions[0]).startswith("No torque is right")
    assert (row.wrench, row.set_nm) == (NOTHING, None)


def test_what_nobody_states_is_said_and_the_usual_range_is_taken() -> None:
    unknown = {f"stem__bar_clamp_torque_{end}_nm": "unknown" for end in ("min", "max")}
    of = with_facts(bike("allroad-wired"), handlebar__clamp_torque_max_nm="unknown", **unknown)
    row = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert (row.low_nm, row.high_nm, row.limited_by) == (4, 6, NOTHING)
    assert sum("on record; look it up" in text for text in map(str, row.cautions)) == 3
    assert not str(row.source).startswith("the makers' figures")


def test_a_limit_below_what_is_usual_leaves_the_least_open() -> None:
    of = with_facts(
        bike("allroad-wired"),
        stem__bar_clamp_torque_min_nm="unknown",
        stem__bar_clamp_torque_max_nm=3,
        handlebar__clamp_torque_max_nm=8,
    )
    row = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert (row.low_nm, row.high_nm) == (None, 3)
    assert any("usual 4 N·m is more than is allowed" in text for text in map(str, row.cautions))
    assert row.wrench


def test_a_least_above_what_is_usual_leaves_the_greatest_open() -> None:
    of = with_facts(
        bike("allroad-wired"),
        stem__bar_clamp_torque_min_nm=9,
        stem__bar_clamp_torque_max_nm="unknown",
        handlebar__clamp_torque_max_nm="unknown",
    )
    row = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert (row.low_nm, row.high_nm) == (9, None)
    assert any("No greatest torque on record" in text for text in map(str, row.cautions))


def test_a_torque_above_the_proof_load_of_an_ordinary_bolt_is_cautioned() -> None:
    of = with_facts(bike("allroad-wired"), stem__bar_clamp_torque_max_nm=9, handlebar__clamp_torque_max_nm=9)
    row = sheet(of, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert any("proof load of 8230 N" in text for text in map(str, row.cautions))
    assert row.high_nm == 6.1, "8230 N x 0.15 x 5 mm are 6.17 N m: the range ends there"
    asked = with_facts(of, stem__bar_clamp_torque_min_nm=7)
    row = sheet(asked, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert (row.low_nm, row.high_nm) == (7, 9), "what its maker asks for is told as it is"
    assert any("keep the bolts that came with the part" in text for text in map(str, row.cautions))
    calm = with_facts(bike("allroad-wired"), stem__bar_clamp_torque_max_nm=6, handlebar__clamp_torque_max_nm=6)
    row = sheet(calm, "ostmoor-round-15@spacer-1")["stem-faceplate", "stem"]
    assert not any("proof load" in text for text in map(str, row.cautions))


def test_pedals_cassette_and_bottom_bracket() -> None:
    rows = sheet(
        bike("allroad-wired"),
        "merrowby-slab@pedals",
        "dunreth-bb-english-24@bottom-bracket",
        "merrowby-tarn-11-36@cassette",
    )
    assert rows["pedal-left", "pedals"].hand == "left"
    assert rows["pedal-right", "pedals"].hand == "right"
    assert rows["bb-cup-left-hand", "bottom-bracket"].hand == "left"
    assert rows["bb-cup-left", "bottom-bracket"].hand == "right"
    lockring = rows["cassette-lockring", "cassette"]
    assert (lockring.low_nm, lockring.high_nm, str(lockring.wrench)) == (40, 40, "torque wrench 20–60 N·m")
    assert "table A" in str(lockring.source)
    pedal = rows["pedal-left", "pedals"]
    assert pedal.set_nm == pytest.approx(37.5 * 380 / 420, abs=0.05)
    assert str(pedal.compound) == "grease on the thread"
    assert ("crank-pinch", "crankset") in rows, "the cranks come off for the bottom bracket"


def test_an_italian_shell_has_right_hand_threads_on_both_sides() -> None:
    rows = sheet(bike("allroad-wired"), "merrowby-leat-bb-italian-24@bottom-bracket")
    assert rows["bb-cup-right-hand", "bottom-bracket"].hand == "right"
    old = rows["bb-cup-left-hand", "bottom-bracket"]
    assert str(old.what).endswith("old part")
    assert (old.low_nm, old.high_nm, old.wrench) == (None, None, NOTHING)


def test_pedals_that_come_off_for_good_tell_only_their_left_hand_thread() -> None:
    rows = sheet(bike("allroad-wired"), off=("pedals",))
    assert set(rows) == {("pedal-left", "pedals")}
    assert "clockwise" in str(rows["pedal-left", "pedals"].cautions[0])


def test_titanium_wants_anti_seize_and_carbon_paste() -> None:
    of = with_facts(bike("allroad-wired"), frame__material="titanium", seatpost__material="carbon")
    rows = sheet(of, "dunreth-bb-english-24@bottom-bracket", "wexcombe-birch-272-400@seatpost")
    assert str(rows["bb-cup-left", "bottom-bracket"].compound) == "anti-seize on the thread"
    unknown = with_facts(bike("allroad-wired"), frame__material="unknown")
    row = sheet(unknown, "dunreth-bb-english-24@bottom-bracket")["bb-cup-left", "bottom-bracket"]
    assert any("if it is titanium" in text for text in map(str, row.cautions))


@pytest.mark.parametrize(("material", "word"), [("aluminium", "grease between"), ("carbon", "carbon assembly paste")])
def test_post_and_seat_tube_get_grease_or_paste_by_their_materials(material: str, word: str) -> None:
    of = with_facts(bike("allroad-wired"), frame__material=material, seatpost__material="aluminium")
    (row,) = torque_rows(context_of(of), [Operation("fit-seat-clamp", "seat-clamp")])
    assert word in str(row.compound)
    assert (CARBON in row.cautions) is (material == "carbon")


def test_an_unknown_material_in_a_clamp_is_said() -> None:
    of = with_facts(bike("allroad-wired"), frame__material="unknown", seatpost__material="aluminium")
    (row,) = torque_rows(context_of(of), [Operation("fit-seat-clamp", "seat-clamp")])
    assert any("if it is carbon" in text for text in map(str, row.cautions))


def test_a_cable_brake_opens_its_own_anchor_and_not_the_other() -> None:
    of = bike("tourer-cable")
    line = of["front-brake-line"]
    assert line.part.kind == "housing"
    rows = torque_rows(context_of(of), [Operation("set-cable", "front-brake-line")])
    assert {(row.fastener, row.position) for row in rows} >= {("brake-cable-anchor", "front-caliper")}
    assert not {row.position for row in rows} & {"rear-caliper", "rear-derailleur", "front-derailleur"}
    lever = torque_rows(context_of(of), [Operation("set-new-brake-cable", line.start or "")])
    assert [row.position for row in lever] == ["front-caliper"]


def test_an_inner_cable_opens_the_anchor_of_its_own_line() -> None:
    of = bike("tourer-cable")
    for fit, anchor in (
        ("pellhurst-inner-shift-2100@rear-shift-line-cable", ("rear-derailleur-anchor", "rear-derailleur")),
        ("pellhurst-inner-brake-pear-1700@front-brake-line-cable", ("brake-cable-anchor", "front-caliper")),
    ):
        assert {key for key in sheet(of, fit) if "anchor" in key[0]} == {anchor}


def test_without_operations_nothing_is_touched() -> None:
    assert torque_rows(context_of(bike("city-rim")), []) == ()


def test_an_attribute_that_nobody_knows_is_said() -> None:
    # Not at accessory-bell, which says what it is.
    asked = change(bike("city-rim"), "dunreth-chime-bell@accessory-thing")
    of = with_facts(bike("city-rim"), asked, accessory_AT_thing__use="unknown")
    rows = torque_rows(context_of(of, asked), [Operation("fit-accessory", "accessory-thing")])
    assert {row.fastener for row in rows} == {
        row.id for row in catalogue().standards.fasteners if row.at == ("accessory",)
    }
    assert all(any("the record does not say" in text for text in map(str, row.cautions)) for row in rows)


def test_the_steps_of_a_job_card_will_do_as_well() -> None:
    context, operations = job(bike("city-rim"), change(bike("city-rim"), "tolverne-lantern-100@stem"))
    steps = [
        Step(number, one.id, one.id.partition("@")[0], one.what, one.position, one.phase, one.minutes, one.after,
             one.why, False, one.tools, one.consumables)
        for number, one in enumerate(operations, 1)
    ]  # fmt: skip
    assert torque_rows(context, steps) == torque_rows(context, operations)
    assert torque_rows(context, steps)
