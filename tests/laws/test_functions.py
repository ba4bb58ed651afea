"""A bike that lacks a link of what it must do never fits: every link of every chain is taken away from every bike.

The chains are those of catalog/standards/functions.yaml. Where the catalogue has what is missing, a remedy is found.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from dataclasses import replace

import pytest

from buildcheck.fit.change import apply_change
from buildcheck.fit.functions import controls, ends_of_new, there, works
from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike, Change, Fitted
from buildcheck.model.functions import FunctionRow
from buildcheck.model.levels import Level
from buildcheck.model.report import Outcome
from buildcheck.model.slots import with_value
from laws.bench import BIKES, bike, blocking, catalogue, change, findings_of, verdict, vetting

# `make prove` has all bikes, every run those with wires and a lamp, with a gear hub, and with cables.
SAMPLE = ("allroad-wired", "city-hub-gear", "trail-hardtail")
SWEPT = BIKES if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else SAMPLE
STANDARDS = catalogue().standards


def view_of(of: Bike) -> View:
    return vetting(of).before.view


def without(of: Bike, *positions: str) -> Bike:
    """The bike as its file would be without these positions."""
    homes = {of[position].home for position in positions}
    return of.with_fitted({name: spot for name, spot in of.fitted.items() if spot.home not in homes})


def with_spot(of: Bike, spot: Fitted) -> Bike:
    homes = {name: replace(old, part=spot.part) for name, old in of.fitted.items() if old.home == spot.home}
    return of.with_fitted({**of.fitted, **homes, spot.position: spot})


def does(view: View, row: FunctionRow, lever: str) -> bool:
    """Does a lever do something for a function on this bike?"""
    return any(each.at == lever and (each.by is None or view.word(lever, each.by).value != "none")
               for each in controls(view, row))  # fmt: skip


def links(of: Bike) -> Iterator[tuple[str, ...]]:
    """The links of each chain that works on this bike: what is taken off together."""
    view = view_of(of)
    for row in STANDARDS.chains:
        worked = [each.at for each in there(view, row) if works(view, row, each).is_yes]
        line = of.get(row.line)
        if not worked:
            continue
        yield from ((name,) for name in worked)
        if line is not None and line.start is not None:
            yield from ((line.position,), (line.start,))
        else:
            yield from ((each.at,) for each in controls(view, row) if does(view, row, each.at))
    for row in STANDARDS.functions.values():
        yield from (tuple(view.of_row(name)) for name in row.through if any(view.of_row(name)))


@pytest.mark.parametrize("name", SWEPT)
def test_no_bike_fits_without_a_link(name: str) -> None:
    of = bike(name)
    taken = sorted(set(links(of)))
    assert len(taken) > 15
    for positions in taken:
        assert not verdict(of, Change((), positions)).startswith("fits"), positions
        assert not verdict(without(of, *positions)).startswith("fits"), positions


@pytest.mark.parametrize("name", SWEPT)
def test_no_bike_fits_with_a_lever_that_does_nothing(name: str) -> None:
    of = bike(name)
    view, tried = view_of(of), 0
    for row in STANDARDS.chains:
        for control in controls(view, row):
            if control.by is not None and does(view, row, control.at):
                spot = of[control.at]
                idle = replace(spot, part=with_value(spot.part, control.by, "none"))
                assert not verdict(with_spot(of, idle)).startswith("fits"), control
                tried += 1
    assert tried


@pytest.mark.parametrize("name", SWEPT)
def test_no_bike_fits_with_a_line_led_elsewhere(name: str) -> None:
    of, tried = bike(name), 0
    for row in STANDARDS.chains:
        line = of.get(row.line)
        if line is None:
            continue
        ends = STANDARDS.positions[line.position].ends
        moved = [replace(line, start=other) for other in ends["from"] if other != line.start and other in of]
        moved += [replace(line, end=other) for other in ends["to"] if other != line.end and other in of]
        for each in moved:
            assert not verdict(with_spot(of, each)).startswith("fits"), each
        tried += len(moved)
    assert tried


@pytest.mark.parametrize("name", SWEPT)
def test_no_bike_fits_without_what_powers_it(name: str) -> None:
    of = bike(name)
    for spot in of.main_spots():
        if spot.part.power is not None:
            dead = replace(spot, part=spot.part.model_copy(update={"power": None}))
            assert not verdict(with_spot(of, dead)).startswith("fits"), spot.position
            wires = [wire.position for wire in of.main_spots() if spot.position in (wire.start, wire.end)]
            assert not verdict(without(of, *wires)).startswith("fits"), wires


# ---------------------------------------------------------------- what is missing is found


def without_dynamo() -> Bike:
    """The tourer as its file would be with a front wheel without dynamo."""
    of = bike("tourer-cable")
    bench = vetting(of)
    return replace(
        apply_change(of, change(of, "quillbeck-fold-front@front-wheel"), bench._look_up, STANDARDS), layout={}, first={}
    )


@pytest.mark.parametrize(
    ("of", "fault", "cures"),
    [
        (without(bike("city-rim"), "rear-shift-line"), "line-missing", {"rear-shift-line"}),
        (without(bike("cargo"), "rear-shift-line", "shifter-right"), "line-missing",
         {"rear-shift-line", "shifter-right"}),
        (without(bike("road-disc"), "lever-right", "rear-brake-line"), "line-missing",
         {"lever-right", "rear-brake-line"}),
        (without_dynamo(), "power-source-wrong", {"accessory-lamp", "wire-lamp"}),
        (without_dynamo(), "power-source-wrong", {"front-wheel"}),
        (without(bike("tourer-cable"), "front-rotor"), "position-empty", {"front-rotor"}),
        (without(bike("road-rim"), "front-derailleur", "front-shift-line"), "derailleur-missing",
         {"front-derailleur", "front-shift-line"}),
    ],
)  # fmt: skip
def test_a_remedy_fills_the_gap(of: Bike, fault: str, cures: set[str]) -> None:
    report = vetting(of).swap(change(of, "merrowby-slab-city@pedals"))
    assert fault in {finding.name for finding in report.findings if finding.level is Level.BLOCKS}
    assert report.search is not None
    assert report.search.outcome is Outcome.CHEAPEST
    # Also what is passed over, as a lamp that gives less light is.
    offered = [each for remedy in report.remedies for each in (remedy, *remedy.passed_over)]
    assert cures in [{part.position for part in each.parts} for each in offered]


def test_a_lamp_that_is_cut_off_gets_a_wire_again() -> None:
    of = bike("tourer-cable")
    report = vetting(of).swap(Change((), ("wire-lamp",)))
    assert [part.id for part in report.remedies[0].parts] == ["quillbeck-hub-wire-500"]


# ---------------------------------------------------------------- where a new line leads


@pytest.mark.parametrize(
    ("name", "line", "ends"),
    [
        ("city-rim", "rear-shift-line", ("shifter-right", "rear-derailleur")),
        ("road-rim", "rear-shift-line", ("lever-right", "rear-derailleur")),
        ("road-rim", "front-brake-line", ("lever-left", "front-caliper")),
        ("city-hub-gear", "rear-shift-line", ("shifter-right", "rear-wheel")),
        ("city-hub-gear", "front-brake-line", ("lever-right", "front-wheel")),
        ("city-hub-gear", "rear-brake-line", ("lever-left", "rear-caliper")),  # the right lever works the front brake
        ("track", "rear-shift-line", ("shifter-right", "rear-derailleur")),  # its levers shift nothing
        ("trail-hardtail", "dropper-line", ("dropper-remote", "seatpost")),
        ("tourer-cable", "wire-lamp", (None, None)),
    ],
)
def test_a_new_line_leads_where_its_chain_does(name: str, line: str, ends: tuple[str | None, str | None]) -> None:
    of = bike(name)
    bare = without(of, line) if line in of else of
    assert ends_of_new(STANDARDS, line, bare.fitted) == ends


def test_a_new_line_keeps_its_ends_when_more_is_fitted() -> None:
    of = without(bike("city-rim"), "rear-shift-line")
    cable = ("pellhurst-shift-2000", "rear-shift-line")
    both = apply_change(of, Change((cable, ("merrowby-corrie-thumb-left", "shifter-left"))),
                        vetting(of)._look_up, STANDARDS)  # fmt: skip
    assert (both["rear-shift-line"].start, both["rear-shift-line"].end) == ("shifter-right", "rear-derailleur")
    assert not blocking(findings_of(of, Change((cable,))))
