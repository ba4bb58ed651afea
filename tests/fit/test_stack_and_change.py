"""The stack on the steerer, and what a change does to it and to the things that ride along."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.change import apply_change
from buildcheck.fit.functions import ends_named, name_of_wire
from buildcheck.fit.support import build_support, carried_by, spacers_above_stem, spacers_below_stem, steerer_stack
from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.parts import Part
from fit.make import fitted, part, view
from laws.bench import bike, catalogue, change
from laws.strategies import changes


def look_up(part_id: str) -> tuple[Part, Mapping[str, str]]:
    return catalogue().part(part_id), catalogue().where(part_id)


def after(of: Bike, asked: Change) -> View:
    return View(apply_change(of, asked, look_up, catalogue().standards), catalogue().standards)


def stack_of(of: Bike) -> list[str]:
    return steerer_stack(View(of, catalogue().standards))


ALLROAD = ["headset-upper", "headset-cover", "spacer-1", "spacer-2", "spacer-3", "stem", "spacer-4"]


def test_the_stack_runs_from_the_bearing_up() -> None:
    assert stack_of(bike("allroad-wired")) == ALLROAD


@given(order=st.permutations(ALLROAD))
def test_the_stack_does_not_depend_on_the_order_of_the_file(order: list[str]) -> None:
    of = bike("allroad-wired")
    rest = [name for name in of.fitted if name not in order]
    assert stack_of(of.with_fitted({name: of[name] for name in [*order, *rest]})) == ALLROAD


def test_spacers_below_and_above_the_stem() -> None:
    of = View(bike("allroad-wired"), catalogue().standards)
    assert spacers_below_stem(of) == ["spacer-1", "spacer-2", "spacer-3"]
    assert spacers_above_stem(of) == ["spacer-4"]


def test_without_a_stem_all_spacers_are_below() -> None:
    of = view([fitted("spacer-1", part("spacer", height_mm=5))])
    assert spacers_below_stem(of) == ["spacer-1"]
    assert spacers_above_stem(of) == []


@given(gone=st.sets(st.sampled_from(["spacer-1", "spacer-2", "spacer-3", "spacer-4"])))
def test_what_stood_on_a_spacer_comes_to_stand_on_what_was_below(gone: set[str]) -> None:
    of = bike("allroad-wired")
    assert steerer_stack(after(of, Change((), tuple(sorted(gone))))) == [name for name in ALLROAD if name not in gone]


def test_a_new_spacer_goes_straight_under_the_stem() -> None:
    of = bike("allroad-wired")
    assert spacers_below_stem(after(of, change(of, "ostmoor-round-5@spacer-9")))[-1] == "spacer-9"


def test_a_one_piece_bar_fills_the_stems_place_and_gives_it_up_again() -> None:
    of = bike("allroad-wired")
    there = after(of, change(of, "wexcombe-veil-420-100@handlebar"))
    assert there.bike["stem"].home == "handlebar"
    assert there.bike["stem"].on == "spacer-3"
    back = after(there.bike, Change((("tolverne-alder-100", "stem"),)))
    assert back.bike["stem"].part.id == "tolverne-alder-100"
    assert "handlebar" not in back.bike, "the one-piece part is gone from both positions"


def test_a_one_piece_bar_is_taken_off_from_both_positions() -> None:
    of = bike("allroad-wired")
    there = after(of, change(of, "wexcombe-veil-420-100@handlebar"))
    gone = after(there.bike, Change((), ("handlebar",)))
    assert "stem" not in gone.bike
    assert gone.bike["spacer-4"].on == "spacer-3"


def test_fitting_the_same_part_keeps_what_was_measured() -> None:
    of = bike("allroad-wired")
    same = after(of, Change((("merrowby-tarn-hose-front", "front-brake-line"),)))
    assert same.bike["front-brake-line"] is of["front-brake-line"]


def test_a_new_line_runs_where_the_old_one_did() -> None:
    of = bike("allroad-wired")
    new = after(of, change(of, "merrowby-tarn-hose-rear@front-brake-line")).bike["front-brake-line"]
    assert (new.start, new.end, new.measured) == ("lever-left", "front-caliper", frozenset())


def test_a_junction_of_another_kind_finds_a_free_place() -> None:
    of = bike("allroad-wired")
    new = after(of, change(of, "skarnfell-naze-bar-end-a@junction-front")).bike["junction-front"]
    assert (new.on, new.place) == ("handlebar", "end-left")


def test_a_second_junction_does_not_take_the_same_place() -> None:
    of = bike("allroad-wired")
    both = Change((("skarnfell-naze-bar-end-a", "junction-front"), ("skarnfell-naze-bar-end-a", "junction-rear")))
    there = after(of, both).bike
    assert {there["junction-front"].place, there["junction-rear"].place} == {"end-left", "end-right"}


@pytest.mark.parametrize(
    "asked", [Change((("no-such-part", "stem"),)), Change((("tolverne-alder-100", "no-such-place"),))]
)
def test_what_is_not_known_is_refused(asked: Change) -> None:
    with pytest.raises(KeyError):
        after(bike("city-rim"), asked)


def test_taking_off_what_is_not_there_changes_nothing() -> None:
    of = bike("city-rim")
    assert after(of, Change((), ("front-derailleur",))).bike.fitted == of.fitted


def test_support_is_listed_in_one_order() -> None:
    graph = build_support(View(bike("city-rim"), catalogue().standards))
    assert carried_by(graph, "accessory-rack") == ["accessory-lamp-rear"]
    assert carried_by(graph, "no-such-place") == []


def test_a_cover_fitted_where_none_was_goes_under_the_spacers() -> None:
    of = bike("allroad-wired")
    bare = {name: spot for name, spot in of.fitted.items() if name != "headset-cover"}
    without = of.with_fitted({**bare, "spacer-1": replace(of["spacer-1"], on="headset-upper")})
    there = after(without, Change((("ostmoor-plain-cover-is52", "headset-cover"),))).bike
    assert (there["headset-cover"].on, there["spacer-1"].on) == ("headset-upper", "headset-cover")


def test_a_stem_fitted_where_none_was_goes_on_top() -> None:
    of = bike("allroad-wired")
    bare = {name: spot for name, spot in of.fitted.items() if name != "stem"}
    without = of.with_fitted({**bare, "spacer-4": replace(of["spacer-4"], on="spacer-3")})
    both = Change((("tolverne-alder-110", "stem"), ("ostmoor-round-5", "spacer-9")))
    for asked in (both, Change(both.fit[::-1])):
        assert stack_of(after(without, asked).bike)[-3:] == ["spacer-4", "spacer-9", "stem"]


def test_the_quill_stays_in_the_fork() -> None:
    of = bike("city-rim")
    there = after(of, Change((("tolverne-lantern-80", "stem"), ("ostmoor-cover-ec34", "headset-cover")), ("stem",)))
    assert (there.bike["stem"].on, there.bike["headset-cover"].on) == ("fork", "headset-upper")


@given(asked=changes(bike("allroad-wired"), most=4))
def test_the_stack_never_forks(asked: Change) -> None:
    there = after(bike("allroad-wired"), asked)
    ons = [spot.on for name, spot in there.bike.fitted.items() if there.row(name).stacked]
    assert len(set(ons)) == len(ons)


def test_a_line_taken_off_and_another_fitted_runs_where_the_old_one_did() -> None:
    new = after(
        bike("allroad-wired"), Change((("merrowby-tarn-hose-rear", "front-brake-line"),), ("front-brake-line",))
    ).bike["front-brake-line"]
    assert (new.start, new.end, new.measured) == ("lever-left", "front-caliper", frozenset())


def test_a_bar_fitted_before_its_stem_is_mounted_on_it() -> None:
    of = bike("city-rim")
    bare = of.with_fitted({name: spot for name, spot in of.fitted.items() if name not in ("stem", "handlebar")})
    there = after(bare, Change((("wexcombe-linden-600", "handlebar"), ("tolverne-lantern-80", "stem")))).bike
    assert there["handlebar"].on == "stem"


@pytest.mark.parametrize("line", ["front-brake-line", "rear-brake-line"])
def test_a_line_that_is_fitted_where_none_was_leads_from_a_lever_to_what_it_works(line: str) -> None:
    of = bike("allroad-wired")
    bare = of.with_fitted({name: spot for name, spot in of.fitted.items() if name != line})
    again = after(bare, Change(((of[line].part.id, line),), ())).bike[line]
    assert (again.start, again.end) == (of[line].start, of[line].end)


def test_what_is_known_of_a_part_that_took_the_place_of_another_stands_where_it_is_written() -> None:
    of = bike("allroad-wired")
    asked = change(of, "tolverne-lych-420-100@handlebar")
    assert after(of, asked).bike["handlebar"].where == look_up("tolverne-lych-420-100")[1]


NAMES = sorted({*catalogue().standards.positions, "accessory-lamp", "accessory-2", "junction-front", "spacer-1"})


@given(st.sampled_from(NAMES), st.sampled_from(NAMES))
def test_the_position_of_a_wire_tells_where_it_leads(start: str, end: str) -> None:
    name = name_of_wire(start, end)
    row = catalogue().standards.position(name)
    assert row is not None
    assert row.id == "wire"
    assert ends_named(catalogue().standards, name) == (start, end)


@pytest.mark.parametrize("name", ["wire-lamp", "wire-1", "stem", "wire-somewhere-to-accessory-lamp"])
def test_other_positions_tell_no_ends(name: str) -> None:
    assert ends_named(catalogue().standards, name) is None


def test_a_thing_that_looked_for_a_place_comes_back_to_the_same_place() -> None:
    standards = catalogue().standards

    def step(of: Bike, asked: Change) -> Bike:
        return apply_change(of, asked, look_up, standards)

    bell = Change((("dunreth-chime-bell", "accessory-bag"),))
    fitted = step(bike("allroad-wired"), bell)
    again = step(step(fitted, Change((), ("accessory-bag",))), bell)
    assert again.fitted == fitted.fitted
    assert fitted["accessory-bag"].place != bike("allroad-wired")["accessory-bag"].place


@pytest.mark.parametrize(
    ("onto", "ends"),
    [
        ("wire-junction-rear-to-lever-left", ("lever-left", "junction-rear")),
        ("wire-lever-left-to-junction-front", ("junction-front", "lever-left")),
        ("wire-lever-left-to-battery", ("lever-left", "battery")),
    ],
)
def test_a_wire_that_is_moved_leads_where_a_name_says_and_keeps_its_way_round(
    onto: str, ends: tuple[str, str]
) -> None:
    of = bike("allroad-wired")
    lay = of["wire-frame"]
    assert (lay.start, lay.end) == ("junction-front", "junction-rear")
    done = apply_change(of, Change(move=(("wire-frame", onto),)), look_up, catalogue().standards)
    assert (done["wire-frame"].start, done["wire-frame"].end) == ends
    assert done["wire-frame"].part is lay.part


def test_a_wire_is_moved_to_no_position_that_tells_no_ends() -> None:
    with pytest.raises(KeyError):
        apply_change(bike("allroad-wired"), Change(move=(("wire-frame", "stem"),)), look_up, catalogue().standards)
