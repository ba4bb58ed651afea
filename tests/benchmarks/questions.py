"""How many questions decide a request where nothing is known of a bike but what it is; prints its figures as JSON.

A bundled bike is the truth. What is asked about stands on a bike with the same positions and no size; the answers are
read off the truth, as a mechanic reads them off the bike. `questions_median` and `questions_most` count the questions
until the verdict is decided, `questions_undecided` the requests of which it is not in the end, `questions_wrong` those
of which it is another one than on the bike of which all is known.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

from buildcheck.answering import questions_for
from buildcheck.library.bikes import load_bike, newly_filled, read_change, with_told
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.folders import is_bundled
from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.levels import Verdict
from buildcheck.model.parts import Part
from buildcheck.model.quantities import is_fact
from buildcheck.model.slots import with_value
from buildcheck.vetting import Vetting, verdict_of

# More questions nobody would answer: a request that needs more counts as one of so many.
_MOST = 60


class Request(NamedTuple):
    """What a customer asks for, and the bundled bike that it is asked for."""

    what: str
    bike: str
    fit: tuple[str, ...]
    take_off: tuple[str, ...] = ()


REQUESTS = (
    Request("longer stem", "tourer-cable", ("tolverne-carrow-100@stem",)),
    Request("higher stem", "tourer-cable", ("tolverne-carrow-upright-90@stem",)),
    Request("longer stem", "road-rim", ("tolverne-alder-120@stem",)),
    Request("wider bar", "trail-hardtail", ("wexcombe-ridge-800-35@handlebar",)),
    Request("narrower bar", "road-rim", ("tolverne-sedge-400@handlebar",)),
    Request("bar with enclosed lines", "allroad-wired", ("wexcombe-veil-420-100@handlebar",)),
    Request("flat to drop", "city-rim", ("tolverne-brae-420@handlebar",)),
    Request("wider tyres", "road-disc", ("dunreth-sippet-32-622@front-tyre", "dunreth-sippet-32-622@rear-tyre")),
    Request("wider tyres", "road-rim", ("dunreth-wheatear-28-622@front-tyre", "dunreth-wheatear-28-622@rear-tyre")),
    Request(
        "wider tyres under mudguards", "tourer-cable",
        ("dunreth-townley-47-622@front-tyre", "dunreth-townley-47-622@rear-tyre"),
    ),
    Request("bigger sprockets", "road-rim", ("merrowby-leat-11-32-11@cassette",)),
    Request("bigger sprockets", "tourer-cable", ("merrowby-beck-11-36-9@cassette",)),
    Request("fewer rings", "tourer-cable", (), ("chainring-inner",)),
    Request("11 to 12 speeds", "road-rim", ("merrowby-linn-11-34-12@cassette",)),
    Request("cable to wired shifting", "road-rim", ("merrowby-linn-rear-12@rear-derailleur",)),
    Request("rim to disc", "road-rim", ("merrowby-linn-flat-front@front-caliper",)),
    Request("cable to hydraulic disc", "tourer-cable", ("merrowby-tarn-flat-front@front-caliper",)),
    Request("bigger rotor", "trail-hardtail", ("brackwater-scar-rotor-203-six@front-rotor",)),
    Request("other pads", "tourer-cable", ("brackwater-drystone-pads-resin@front-pads",)),
    Request("bottom bracket", "tourer-cable", ("ostmoor-bb-square-122@bottom-bracket",)),
    Request("crank length", "road-rim", ("merrowby-leat-crank-165@crankset",)),
    Request("pedals", "road-rim", ("merrowby-slab@pedals",), ("cleats",)),
    Request("saddle on other rails", "road-rim", ("wexcombe-thrift-carbon@saddle",)),
    Request("dropper post", "tourer-cable", ("wexcombe-hazel-272-350@seatpost",)),
    Request("dropper post", "trail-hardtail", ("wexcombe-bittern-309-125@seatpost",)),
    Request("suspension fork", "trail-hardtail", ("skarnfell-tumble-120@fork",)),
    Request("rigid for suspension", "trail-hardtail", ("harrowdene-fell-carbon@fork",)),
    Request("wheel with another body", "road-rim", ("quillbeck-fen-rear-spline9@rear-wheel",)),
    Request(
        "hub dynamo with a lamp", "city-rim",
        ("quillbeck-lane-front-dynamo@front-wheel", "quillbeck-wisp-30-crown@accessory-lamp"),
    ),
    Request("mudguards", "allroad-wired", ("dunreth-eaves-mudguards-622-60@accessory-mudguards",)),
    Request("rack", "city-rim", ("dunreth-drey-rack@accessory-rack",)),
    Request("child's bigger tyres", "kids-20", ("dunreth-puddle-50-406@front-tyre", "dunreth-puddle-50-406@rear-tyre")),
    Request("worn chain", "road-rim", ("dunreth-chain-11@chain",)),
)  # fmt: skip


class Asked(NamedTuple):
    """What came of asking."""

    slots: tuple[tuple[str, str], ...]
    verdict: Verdict
    truth: Verdict


def ask(request: Request, catalogue: Catalogue) -> Asked:
    """Ask what decides a request, with answers read off the bundled bike."""
    truth = load_bike(Path(request.bike), catalogue)
    change = read_change(request.fit, request.take_off, truth, catalogue)
    view = Vetting(truth, catalogue).before.view
    new = newly_filled(truth, change, catalogue)
    bike, skipped, asked = as_told(request, truth, catalogue), set[tuple[str, str]](), []
    while len(asked) < _MOST:
        verdict, questions = questions_for(bike, change, catalogue)
        slots = ((question.position, question.attribute) for question in questions)
        slot = next((slot for slot in slots if slot not in skipped), None)
        if slot is None:
            break
        asked.append(slot)
        skipped.add(slot)
        position, attribute = slot
        spot = truth.get(position)
        value = view.fact(spot, attribute).held if spot is not None and position not in new else None
        if value is not None:
            bike = with_told(bike, change, position, partial(told, attribute, value), catalogue)
    return Asked(tuple(asked), verdict, verdict_of(Vetting(truth, catalogue).findings(change), changed=True))


def told(attribute: str, value: Any, spot: Fitted) -> Fitted:
    """The part with one fact measured."""
    return replace(spot, part=with_value(spot.part, attribute, value), measured=spot.measured | {attribute})


def as_told(request: Request, truth: Bike, catalogue: Catalogue) -> Bike:
    """The bike of which somebody only says what it is, and that it is ridden: an outline, where there is one."""
    outline = f"outline/{request.bike}"
    bike = load_bike(Path(outline), catalogue) if is_bundled(outline) else blank(truth)
    return replace(bike, in_use=True)


def blank(bike: Bike) -> Bike:
    """The bike with the same things in the same positions, and nothing known of them."""
    parts = {spot.home: without_facts(spot.part) for spot in bike.main_spots()}
    fitted = {name: replace(spot, part=parts[spot.home], measured=frozenset()) for name, spot in bike.fitted.items()}
    return replace(bike, fitted=fitted)


def without_facts(part: Part) -> Part:
    """The part of which only the kind is known."""
    fields = type(part).model_fields
    unknown = {name: None for name in fields if is_fact(fields[name].metadata) and can_be_unknown(fields[name])}
    return part.model_copy(update=unknown)


def can_be_unknown(field: Any) -> bool:
    """May a field hold nothing?"""
    return type(None) in getattr(field.annotation, "__args__", ())


def all_asked(catalogue: Catalogue, only: str) -> Iterator[tuple[Request, Asked]]:
    """Every request with what came of it."""
    for request in (each for each in REQUESTS if only in each.what):
        yield request, ask(request, catalogue)


def figures(only: str = "") -> dict[str, float]:
    """The figures, and on standard error the questions of each request."""
    counts, undecided, wrong = [], 0, 0
    for request, asked in all_asked(load(), only):
        counts.append(len(asked.slots))
        undecided += asked.verdict is Verdict.UNDECIDED
        wrong += asked.verdict not in (Verdict.UNDECIDED, asked.truth)
        told_as = ", ".join(".".join(slot) for slot in asked.slots)
        print(f"{len(asked.slots):>3} {request.what}, {request.bike}: {asked.verdict} ({asked.truth}): {told_as}",
              file=sys.stderr, flush=True)  # fmt: skip
    return {
        "questions_median": median(counts), "questions_most": max(counts),
        "questions_undecided": undecided, "questions_wrong": wrong,
    }  # fmt: skip


if __name__ == "__main__":
    print(json.dumps(figures(*sys.argv[1:])))
