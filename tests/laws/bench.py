"""What tests of the vetting stand on: the bundled catalogue and bikes, and findings without the search for remedies."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from buildcheck.fit.context import Context
from buildcheck.fit.facts import Fact
from buildcheck.library.bikes import load_bike, read_change, set_facts
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.report import Report
from buildcheck.vetting import Vetting, verdict_of

BIKES = (
    "allroad-wired",
    "cargo",
    "city-hub-gear",
    "city-rim",
    "folding-small-wheel",
    "kids-20",
    "long-tandem-lines",
    "road-disc",
    "road-rim",
    "tourer-cable",
    "track",
    "trail-full-suspension",
    "trail-hardtail",
    "vintage-quill",
)
NOTHING = Change()


@cache
def catalogue() -> Catalogue:
    return load()


@cache
def bike(name: str) -> Bike:
    return load_bike(Path(name), catalogue())


def vetting(of: Bike) -> Vetting:
    return Vetting(of, catalogue())


@cache
def usual_vetting(name: str) -> Vetting:
    """Of a bundled bike as it stands: what was tried on it is known to every test that asks."""
    return vetting(bike(name))


@cache
def usual_swap(name: str, *fits: str) -> Report:
    """The report of a change to a bundled bike, searched for once."""
    return usual_vetting(name).swap(change(bike(name), *fits))


def change(of: Bike, *fits: str, take_off: tuple[str, ...] = ()) -> Change:
    return read_change(fits, take_off, of, catalogue())


def with_facts(of: Bike, asked: Change = NOTHING, **facts: object) -> Bike:
    """The bike with facts set; `stem__length_mm=90` stands for stem.length_mm."""
    settings = [f"{name.replace('__', '.').replace('_AT_', '-')}={value}" for name, value in facts.items()]
    return set_facts(of, asked, settings, catalogue())


def known_all_the_same(of: Bike) -> dict[tuple[str, str], Fact]:
    """What no record says and is known: read off a fitted part, or told by the rest of the part's own record."""
    view = vetting(of).before.view
    facts = (
        view.fact(spot, name) for spot in of.main_spots() for name in type(spot.part).model_fields
        if getattr(spot.part, name) is None
    )  # fmt: skip
    return {(fact.position, fact.attribute): fact for fact in facts if fact.held is not None}


def context_of(of: Bike, asked: Change = NOTHING) -> Context:
    """The bike after a change, as rules see it."""
    bench = vetting(of)
    return bench._context(asked) if asked != NOTHING else Context(bench.before.view)


def findings_of(of: Bike, asked: Change = NOTHING) -> tuple[Finding, ...]:
    """Vetted as it stands, or after a change; without the search for what to measure first, too."""
    return found_by(vetting(of), asked)


def found_by(bench: Vetting, asked: Change = NOTHING) -> tuple[Finding, ...]:
    """The same for a vetting that is there already."""
    if asked != NOTHING:
        return bench.vetted(asked).findings
    return bench.standing


def verdict(of: Bike, asked: Change = NOTHING) -> Verdict:
    return verdict_of(findings_of(of, asked), changed=asked != NOTHING)


def blocking(findings: tuple[Finding, ...]) -> set[tuple[str, str]]:
    return {finding.key for finding in findings if finding.level is Level.BLOCKS}
