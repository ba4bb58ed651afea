"""Law: a part of the same group brings the same findings, whatever its name, maker, price and weight."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.alike import signature
from buildcheck.model.bikes import Bike, Change
from buildcheck.model.parts import Part
from laws.bench import findings_of
from laws.strategies import Job, jobs


def twin_of(part: Part) -> Part:
    """The same part under another name, with every attribute that it left out written as it is by default."""
    data = part.model_dump(mode="json", by_alias=True, exclude_unset=True)
    names = {"id": "twin", "maker": "Somebody", "name": "Twin", "note": "none", "weight_g": 1.0, "price_eur": 0.01}
    written = {name: getattr(part, name) for name in type(part).model_fields if name not in data}
    twin = type(part).model_validate({**written, **data, **names, "offers": []})
    assert twin.model_fields_set == type(twin).model_fields.keys()
    assert signature(twin.model_dump(mode="json", by_alias=True, exclude_unset=True)) == signature(data)
    return twin


def judged(of: Bike, asked: Change) -> list[tuple[Any, ...]]:
    """The findings without what names a part or the line that a fact was read in."""
    return sorted(
        (f.name, f.level.rank, f.positions, f.since.value, [(e.position, e.attribute, e.value) for e in f.evidence])
        for f in findings_of(of, asked)
    )


@given(jobs().filter(lambda job: bool(job.change.fit)), st.data())
def test_a_part_of_the_same_group_brings_the_same_findings(job: Job, data: st.DataObject) -> None:
    at = data.draw(st.integers(0, len(job.change.fit) - 1))
    part_id, position = job.change.fit[at]
    if job.bike.fitted.get(position) is not None and job.bike.fitted[position].part.id == part_id:
        return  # the part that is there already stays, with all that was measured on it
    twin = twin_of(job.bike.own_parts[part_id][0])
    fits = (*job.change.fit[:at], ("twin", position), *job.change.fit[at + 1 :])
    of = replace(job.bike, own_parts={**job.bike.own_parts, "twin": (twin, {})})
    assert judged(of, replace(job.change, fit=fits)) == judged(job.bike, job.change)
