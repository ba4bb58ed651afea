"""How many questions decide a request where nothing is known of a bike but what it is; prints its figures as JSON.

A bundled bike is the truth. Of the bike that is asked about only its outline is told; the answers are read off the
truth, as a mechanic reads names and sizes off the bike. `questions_median` and `questions_most` count the questions
until the verdict is decided, `questions_undecided` the requests of which it is not in the end, `questions_wrong` those
of which it is another one than on the bike of which all is known.
"""

from __future__ import annotations

import json
import sys
from pathlib import Path
from statistics import median
from typing import Any, NamedTuple

from buildcheck.answering import questions_for
from buildcheck.library.bikes import bike_of, load_bike, read_change
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.folders import Content, is_bundled
from buildcheck.measure.questions import PART
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.levels import Verdict
from buildcheck.model.quantities import Interval
from buildcheck.vetting import Vetting, verdict_of

# More nobody would answer: a request that needs more counts as one of so many.
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
    Request("pedals", "road-rim", ("merrowby-slab@pedals",)),
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


class Mechanic:
    """Somebody at a bundled bike who answers what is asked; one who does not `know_names` has to measure each part."""

    def __init__(self, request: Request, catalogue: Catalogue, know_names: bool) -> None:
        self.request, self.catalogue, self.know_names = request, catalogue, know_names
        self.truth = load_bike(Path(request.bike), catalogue)
        self.view = Vetting(self.truth, catalogue).before.view
        self.said: dict[str, Any] = as_told(self.truth)

    def change(self, bike: Bike) -> Change:
        """The change that is asked for."""
        return read_change(self.request.fit, self.request.take_off, bike, self.catalogue)

    def ask(self) -> Asked:
        """Ask until the verdict is decided, or nobody knows more."""
        asked: list[tuple[str, str]] = []
        while True:
            bike = bike_of(Content("told", json.dumps(self.said).encode(), "bikes"), self.catalogue)
            verdict, questions = questions_for(bike, self.change(bike), self.catalogue)
            slots = ((question.position, question.attribute) for question in questions)
            slot = next((slot for slot in slots if slot not in asked), None)
            if slot is None or len(asked) == _MOST:
                truth = Vetting(self.truth, self.catalogue).findings(self.change(self.truth))
                return Asked(tuple(asked), verdict, verdict_of(truth, changed=True))
            asked.append(slot)
            self.answer(*slot)

    def answer(self, position: str, attribute: str) -> None:
        """Write into the file what the bike tells."""
        parts = self.said["parts"]
        told = parts.setdefault(position, {})
        spot = self.truth.get(position)
        if attribute == PART:
            if spot is None:
                parts[position] = "none"
            elif self.know_names or not (isinstance(told, dict) and told):
                kept = told if isinstance(told, dict) else {}
                named = {"part": spot.part.id} if self.know_names else {"kind": spot.part.kind}
                parts[position] = {**{key: item for key, item in kept.items() if key != "kind"}, **named}
        elif spot is not None and (value := plain(self.view.fact(spot, attribute).held)) is not None:
            parts[position] = {**told, "measured": {**told.get("measured", {}), attribute: value}}


def plain(value: Any) -> Any:
    """A fact as a file has it; None for what is not known, and for lists of ways and places."""
    if isinstance(value, Interval):
        return value.low if value.low == value.high else str(value)
    if isinstance(value, tuple):
        return list(value) if all(isinstance(item, str) for item in value) else None
    return value if isinstance(value, (str, bool)) else None


def as_told(truth: Bike) -> dict[str, Any]:
    """The file of the bike of which somebody only says what it is, and that it is ridden.

    That is an outline, where there is one of its name; else what sits where, and where its lines lead.
    """
    said: dict[str, Any] = {"bike": "told", "name": "As it is told", "in_use": True, "parts": {}}
    outline = f"outline/{truth.id}"
    if is_bundled(outline):
        return {"like": outline, **said}
    for spot in truth.main_spots():
        ways = {"on": spot.on, "from": spot.start, "to": spot.end}
        told = {"kind": spot.part.kind} | {key: way for key, way in ways.items() if way is not None}
        said["parts"][spot.position] = told
    return {**said, "use": truth.use, "others": "none"}


def figures(only: str = "") -> dict[str, float]:
    """The figures, and on standard error the questions of each request."""
    catalogue = load()
    counts, undecided, wrong = [], 0, 0
    for request in (each for each in REQUESTS if only in f"{each.what}, {each.bike}"):
        asked = Mechanic(request, catalogue, know_names=True).ask()
        counts.append(len(asked.slots))
        undecided += asked.verdict is Verdict.UNDECIDED
        wrong += asked.verdict not in (Verdict.UNDECIDED, asked.truth)
        told = ", ".join(".".join(slot) for slot in asked.slots)
        print(f"{len(asked.slots):>3} {request.what}, {request.bike}: {asked.verdict} ({asked.truth}): {told}",
              file=sys.stderr, flush=True)  # fmt: skip
    return {
        "questions_median": median(counts), "questions_most": max(counts),
        "questions_undecided": undecided, "questions_wrong": wrong,
    }  # fmt: skip


if __name__ == "__main__":
    print(json.dumps(figures(*sys.argv[1:])))
