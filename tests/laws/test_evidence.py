"""Law 5: the evidence that a blocking finding names is enough by itself to bring the finding about.

`rules/test_cases.py` holds every firing case to it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.model.bikes import Bike, Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from laws.bench import bike, catalogue, change, findings_of, vetting
from laws.strategies import Job, facts_in, jobs

# Lists of a part: None where nobody knows them, empty where the part has none.
_LISTS: dict[str, Any] = {"passages": None, "places": (), "mounts": (), "ports": ()}


def _only(part: Part, named: set[str]) -> Part:
    """The part with nothing known but the attributes that are named."""
    gone: dict[str, Any] = {str(name): None for (name,) in facts_in(part, nested=False) if name not in named}
    if "code" in type(part).model_fields and not {"code", "seat", "fits_mm", "threaded"} & named:
        gone["code"] = None
    gone |= {name: nothing for name, nothing in _LISTS.items() if name not in named and getattr(part, name)}
    return part.model_copy(update=gone)


def with_evidence_only(job: Job, finding: Finding) -> Job:
    named: dict[str, set[str]] = {}
    for item in finding.evidence:
        named.setdefault(item.position, set()).add(item.attribute.partition(".")[0])
    fitted = {
        name: replace(spot, part=_only(spot.part, named.get(spot.home, set())))
        for name, spot in job.bike.fitted.items()
    }
    of_new: dict[str, set[str]] = {}
    for part_id, position in job.change.fit:
        of_new.setdefault(part_id, set()).update(named.get(position, set()))
    own = {name: (_only(part, of_new.get(name, set())), where) for name, (part, where) in job.bike.own_parts.items()}
    parts = {spot.home: spot.part for spot in fitted.values() if spot.is_main}
    fitted = {name: replace(spot, part=parts[spot.home]) for name, spot in fitted.items()}
    return Job(replace(job.bike, fitted=fitted, own_parts=own), job.change)


def hold_to_the_law(job: Job, found: Iterable[Finding]) -> int:
    """Every blocking finding of those found comes again from its own evidence; the number of them."""
    blocking = [finding for finding in found if finding.level is Level.BLOCKS]
    for finding in blocking:
        bare = with_evidence_only(job, finding)
        named = vetting(bare.bike).findings_named(bare.change, finding.name)
        again = {other.key for other in named if other.level is Level.BLOCKS}
        assert finding.key in again, (
            f"{finding.key} needs more than {[(e.position, e.attribute) for e in finding.evidence]}"
        )
    return len(blocking)


def with_own_parts(of: Bike, asked: Change) -> Job:
    """The same job with the parts that are asked for as parts of the bike's file, which can be made unknown."""
    own = {part_id: (catalogue().part(part_id), catalogue().where(part_id)) for part_id, _ in asked.fit
           if part_id not in of.own_parts}  # fmt: skip
    return Job(replace(of, own_parts={**own, **of.own_parts}), asked)


@given(data=st.data())
def test_the_evidence_named_is_enough(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    hold_to_the_law(job, findings_of(job.bike, job.change))


def test_the_evidence_of_a_ring_of_wires_is_enough() -> None:
    of = bike("allroad-wired")
    spare = replace(of["wire-frame"], position="wire-spare", home="wire-spare")
    ring = of.with_fitted({**of.fitted, "wire-spare": spare})
    assert hold_to_the_law(Job(ring), findings_of(ring))


@pytest.mark.parametrize(
    ("name", "part"),
    [
        ("allroad-wired", "wexcombe-veil-420-100@handlebar"),
        ("allroad-wired", "tolverne-lych-420-100@handlebar"),
        ("allroad-wired", "skarnfell-naze-inside-a@junction-front"),
        ("trail-hardtail", "merrowby-sill-780-50@handlebar"),
        ("city-rim", "tolverne-hollin-420@handlebar"),
    ],
)
def test_the_evidence_of_usual_swaps_is_enough(name: str, part: str) -> None:
    of: Bike = bike(name)
    asked = change(of, part)
    assert hold_to_the_law(with_own_parts(of, asked), findings_of(of, asked))
