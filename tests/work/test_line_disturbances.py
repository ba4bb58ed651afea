"""What lines call for: looked over, laid, hooked up, opened at one end, and what stands in front of their plugs."""

from __future__ import annotations

from dataclasses import replace

from buildcheck.model.bikes import Bike
from buildcheck.model.report import Work
from buildcheck.work.disturbances import Verb
from laws.bench import bike, change
from laws.test_work import work_of
from work.test_activities import acts


def work(name: str, *fits: str) -> Work:
    of = bike(name)
    return work_of(of, change(of, *fits))


def operations(made: Work) -> list[str]:
    return [operation.id for operation in made.operations]


def with_condition(of: Bike, position: str, *words: str) -> Bike:
    return of.with_fitted({**of.fitted, position: replace(of.fitted[position], condition=words)})


def test_lines_that_follow_a_stem_are_looked_over_once_and_no_cable_is_set() -> None:
    done = operations(work("road-rim", "tolverne-alder-100@stem"))
    assert done.count("look-over-lines") == 1
    assert not {name.partition("@")[0] for name in done} & {"relay-line", "set-cable", "test-brake-cables"}


def test_a_line_along_a_new_fork_is_laid_again() -> None:
    assert ("front-brake-line", Verb.RELAY) in acts("trail-hardtail", "skarnfell-tumble-120@fork")


def test_the_cable_of_a_new_brake_is_hooked_up_clamped_and_set() -> None:
    done = operations(work("city-rim", "brackwater-lath-linear@rear-caliper", "brackwater-minnow-linear@front-caliper"))
    order = [done.index(f"{name}@{at}") for name, at in (
        ("fit-caliper", "front-caliper"), ("hook-up-cable", "front-brake-line"), ("set-cable", "front-brake-line"),
        ("set-brake-cable", "front-caliper"),
    )]  # fmt: skip
    assert order == sorted(order)
    assert "hook-up-cable@rear-brake-line" not in done  # the same brake as before: nothing is done


def test_a_new_derailleur_is_hooked_up_and_a_new_lever_takes_a_new_cable() -> None:
    assert ("rear-shift-line", Verb.HOOK_UP) in acts("kids-20", "merrowby-twill-rear-8@rear-derailleur")
    lever = acts("road-rim", "merrowby-leat-right-2x11@lever-left")
    assert ("front-brake-line", Verb.RENEW_INNER) in lever
    assert ("front-caliper", Verb.UNDONE) in lever


def test_a_hose_is_filled_from_the_brake_only_where_it_is_open_there() -> None:
    at_the_brake = operations(work("trail-hardtail", "brackwater-rift-2@front-caliper"))
    assert "fill-from-brake@front-brake-line" in at_the_brake
    at_the_lever = operations(work("trail-hardtail", "brackwater-rift-lever-left@lever-left"))
    assert "bleed-brake@front-brake-line" in at_the_lever
    assert "fill-from-brake@front-brake-line" not in at_the_lever


def test_pads_come_out_once_of_a_brake_that_is_replaced() -> None:
    done = operations(work("trail-hardtail", "brackwater-rift-2@front-caliper"))
    assert sum("pads" in name for name in done) == 2
    assert "take-off-brake-pads@rear-pads" not in done


def test_the_bottom_bracket_stands_in_front_of_a_junction_in_the_shell() -> None:
    done = operations(work("allroad-wired", "skarnfell-bus-a-1000@wire-frame"))
    order = [done.index(name) for name in (
        "take-off-crankset@crankset", "take-off-bottom-bracket@bottom-bracket", "take-off-wire@wire-frame",
        "fit-wire@wire-frame", "fit-bottom-bracket@bottom-bracket", "fit-crankset@crankset",
    )]  # fmt: skip
    assert order == sorted(order)
    assert "take-off-bottom-bracket@bottom-bracket" not in operations(work("allroad-wired", "tolverne-alder-110@stem"))


def test_the_front_derailleur_is_set_after_a_bottom_bracket() -> None:
    assert "adjust-front-derailleur" in operations(work("allroad-wired", "dunreth-bb-english-24@bottom-bracket"))
    assert "adjust-front-derailleur" not in operations(work("kids-20", "ostmoor-bb-square-113@bottom-bracket"))


def test_a_new_fork_takes_its_race_a_star_nut_and_its_sag() -> None:
    names = {name.partition("@")[0] for name in operations(work("trail-hardtail", "skarnfell-tumble-120@fork"))}
    assert {"seat-crown-race", "fit-star-nut", "set-suspension-fork"} <= names
    rigid = {name.partition("@")[0] for name in operations(work("road-rim", "harrowdene-causeway-alloy@fork"))}
    assert not {"fit-star-nut", "set-suspension-fork"} & rigid


def test_a_wireless_lever_is_paired_and_a_wired_derailleur_made_known_and_tried() -> None:
    paired = {name.partition("@")[0] for name in operations(work("road-disc", "merrowby-linn-right@lever-left"))}
    assert {"pair-device", "test-device"} <= paired
    of = bike("allroad-wired")
    rear = of["rear-derailleur"]
    other = rear.part.model_copy(update={"id": "own-derailleur"})
    mine = replace(of, own_parts={**of.own_parts, "own-derailleur": (other, {})})
    done = operations(work_of(mine, change(mine, "own-derailleur@rear-derailleur")))
    known = {name.partition("@")[0] for name in done}
    assert {"match-software", "test-device"} <= known
    assert "set-up-electronic-shifting" not in known


def test_a_bearing_that_lifts_out_needs_no_press() -> None:
    made = work("allroad-wired", "ostmoor-hollow-is52-upper@headset-upper")
    assert not any("press" in tool for operation in made.operations for tool in operation.tools)


def test_a_bad_part_that_stays_is_mended_while_it_is_in_the_hand() -> None:
    of = with_condition(bike("road-rim"), "rear-wheel", "loose-spokes", "bearing-play")
    done = operations(work_of(of, change(of, "dunreth-wheatear-23-622@rear-tyre")))
    assert {"tension-spokes@rear-wheel", "set-bearings@rear-wheel"} <= set(done)
    assert done.index("tension-spokes@rear-wheel") < done.index("put-in-rear-wheel@rear-wheel")
    elsewhere = operations(work_of(of, change(of, "dunreth-wheatear-23-622@front-tyre")))
    assert "tension-spokes@rear-wheel" not in elsewhere
    frayed = with_condition(bike("kids-20"), "rear-shift-line", "frayed")
    handled = operations(work_of(frayed, change(frayed, "merrowby-twill-rear-8@rear-derailleur")))
    assert "renew-bad-cable@rear-shift-line" in handled
