"""Acts and operations of real changes: what has to come off, what is threaded, in which order."""

from __future__ import annotations

import pytest

from buildcheck.model.bikes import Change
from buildcheck.report.json_view import report_json
from buildcheck.work.activities import bare_and_rest, minutes_of, total_minutes
from buildcheck.work.disturbances import Verb, asked_disturbances
from buildcheck.work.line_disturbances import all_disturbances
from buildcheck.work.precedence import PHASES
from laws.bench import bike, change, context_of, usual_swap, vetting
from laws.test_work import work_of


def acts(name: str, *fits: str, off: tuple[str, ...] = ()) -> set[tuple[str, Verb]]:
    of = bike(name)
    return {(act.position, act.verb) for act in all_disturbances(context_of(of, change(of, *fits, take_off=off)))}


def test_no_change_no_acts() -> None:
    assert all_disturbances(context_of(bike("city-rim"))) == []


def test_the_bare_swap_is_what_was_asked_for() -> None:
    of = bike("allroad-wired")
    context = context_of(of, change(of, "tolverne-alder-110@stem"))
    assert {(act.position, act.verb) for act in asked_disturbances(context, ["stem"])} == {
        ("stem", Verb.TAKE_OFF),
        ("stem", Verb.FIT),
    }
    assert asked_disturbances(context, ["saddle"]) == []


def test_what_stands_above_in_the_stack_is_lifted() -> None:
    found = acts("allroad-wired", "ostmoor-round-15@spacer-1")
    for position in ("spacer-2", "spacer-3", "stem", "spacer-4"):
        assert (position, Verb.MOVE) in found
    assert ("saddle", Verb.MOVE) not in found


def test_what_rides_on_an_exchanged_bar_moves_and_the_wheel_does_not() -> None:
    found = acts("allroad-wired", "tolverne-hollin-440@handlebar")
    for position in ("lever-left", "lever-right", "bar-tape", "accessory-lamp"):
        assert (position, Verb.MOVE) in found
    assert not {position for position, _ in found} & {"front-wheel", "saddle", "chain"}


def test_a_rotor_calls_for_its_wheel() -> None:
    found = acts("tourer-cable", "brackwater-scar-rotor-180-six@front-rotor")
    assert ("front-wheel", Verb.MOVE) in found


def test_lines_along_an_open_way_follow_the_bar_and_those_in_bores_are_threaded() -> None:
    open_way = acts("allroad-wired", "tolverne-hollin-440@handlebar")
    assert ("front-brake-line", Verb.LOOK_OVER) in open_way
    assert ("front-brake-line", Verb.RELAY) not in open_way
    enclosed = acts("allroad-wired", "tolverne-lych-420-100@handlebar")
    assert ("front-brake-line", Verb.THREAD) in enclosed
    assert ("wire-rear-derailleur", Verb.THREAD) not in enclosed


def test_an_exchanged_line_is_neither_threaded_nor_laid_again() -> None:
    found = acts("allroad-wired", "merrowby-tarn-hose-rear@front-brake-line")
    verbs = {verb for position, verb in found if position == "front-brake-line"}
    assert verbs == {Verb.TAKE_OFF, Verb.FIT, Verb.LEAD_IN}


def test_taking_off_for_good_is_no_fitting() -> None:
    found = acts("city-rim", off=("accessory-bell",))
    assert found == {("accessory-bell", Verb.TAKE_OFF)}


def test_each_operation_knows_why_it_is_done() -> None:
    of = bike("allroad-wired")
    work = work_of(of, change(of, "wexcombe-veil-420-100@handlebar"))
    assert all(operation.why for operation in work.operations)
    assert {operation.phase for operation in work.operations} <= set(PHASES)


def test_asked_and_extra_minutes_are_told_apart() -> None:
    of = bike("allroad-wired")
    work = work_of(of, change(of, "wexcombe-veil-420-100@handlebar"))
    assert 0 < work.asked_minutes.likely < work.extra_minutes.likely
    assert work.extra_minutes.low <= work.extra_minutes.likely <= work.extra_minutes.high
    assert work.extra_minutes.mean <= work.extra_minutes.p80


def test_a_full_conversion_takes_about_a_day() -> None:
    work = usual_swap("allroad-wired", "wexcombe-veil-420-100@handlebar").work
    assert 5 * 60 <= work.asked_minutes.mean + work.extra_minutes.mean <= 9 * 60


def test_extra_minutes_agree_with_the_plan() -> None:
    of = bike("allroad-wired")
    asked = change(of, "tolverne-lych-420-100@handlebar")
    bench = vetting(of)
    vetted = bench._vet(asked)[0]
    homes = bench._pinned(vetted.context, frozenset({"handlebar"}))
    rest = bare_and_rest(vetted.context, vetted.findings, homes, {})[1]
    assert total_minutes(rest) == work_of(of, asked).extra_minutes


def test_brakes_are_bled_before_they_are_tested() -> None:
    of = bike("allroad-wired")
    ids = [operation.id for operation in work_of(of, change(of, "tolverne-lych-420-100@handlebar")).operations]
    phases = [operation.phase for operation in work_of(of, change(of, "tolverne-lych-420-100@handlebar")).operations]
    bleeds = [index for index, name in enumerate(ids) if name.startswith("bleed")]
    assert bleeds
    assert max(bleeds) < phases.index("test")


def test_no_operations_take_no_time() -> None:
    minutes = total_minutes([])
    assert (minutes.low, minutes.high, minutes.p80) == (0, 0, 0)


@pytest.mark.parametrize("name", ["allroad-wired", "city-rim", "tourer-cable", "trail-hardtail"])
def test_each_part_of_each_bike_can_be_taken_off(name: str) -> None:
    of = bike(name)
    for position in sorted(spot.position for spot in of.main_spots()):
        work = work_of(of, Change((), (position,)))
        assert any(operation.position == position for operation in work.operations), position


def test_the_work_stands_in_the_report() -> None:
    assert '"operations"' in report_json(usual_swap("city-rim", "tolverne-lantern-100@stem"))


def test_a_rotor_on_its_adapter_on_a_wheel_leaves_an_order() -> None:
    """The wheel holds the rotor, the rotor goes on the adapter, the adapter on the wheel: no ring, and no crash."""
    of = bike("allroad-wired")
    parts = (("brackwater-scar-rotor-160-six", "front-rotor"), ("merrowby-rotor-ring", "front-rotor-adapter"))
    work = vetting(of).swap(Change(fit=parts)).work
    order = [operation.id for operation in work.operations]
    assert order.index("fit-adapter@front-rotor-adapter") < order.index("fit-rotor@front-rotor")


def test_a_new_ring_behind_the_cassette_calls_for_cassette_and_wheel() -> None:
    work = work_of(bike("tourer-cable"), Change((("ostmoor-freehub-spacer-185", "freehub-spacer-1"),)))
    order = [operation.id for operation in work.operations]
    assert order.index("take-out-rear-wheel@rear-wheel") < order.index("take-off-cassette@cassette")
    assert order.index("fit-width-spacer@freehub-spacer-1") < order.index("fit-cassette@cassette")


def test_minutes_add_up_the_same_on_every_python() -> None:
    # Added one after the other, ten tenths are a little less than one; newer versions of `sum` make that good.
    added = minutes_of([(0.1, 0.1, 0.1)] * 10)
    assert (added.low, added.likely, added.high) == (1.0, 1.0, 1.0)
