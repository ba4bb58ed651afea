"""What to measure first: enough, nothing needless, in the right order, and each name is taken by --set.

The vettings here go by the words of --set and through every rule; the values are those that the catalogue's parts have.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from math import inf
from typing import Any

from hypothesis import assume, given, note
from hypothesis import strategies as st

from buildcheck.library.bikes import set_facts
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Since, Verdict
from buildcheck.model.parts.base import Bore, Part, Passage
from buildcheck.model.quantities import Interval, parse_interval, plain_interval
from buildcheck.model.report import MeasureFirst
from buildcheck.model.slots import paths_of
from buildcheck.vetting import verdict_of
from laws.bench import NOTHING, catalogue, findings_of, vetting
from laws.strategies import Job, doubts, jobs, pool_of, set_slots

Told = dict[tuple[str, str], Any]


def words(value: Any) -> str:
    """A value as --set takes it."""
    if isinstance(value, Interval):
        return str(plain_interval(value))
    if isinstance(value, tuple):
        plain = (item if isinstance(item, str) else item.model_dump(mode="json", exclude_unset=True) for item in value)
        return json.dumps(list(plain))
    return json.dumps(value)


def told(job: Job, facts: Told) -> Job:
    settings = [f"{position}.{attribute}={words(value)}" for (position, attribute), value in facts.items()]
    return Job(set_facts(job.bike, job.change, settings, catalogue()), job.change)


def part_of(job: Job, position: str) -> Part:
    """The part that will sit in a position after the change."""
    return vetting(job.bike)._context(job.change).bike[position].part


def asked(job: Job) -> tuple[MeasureFirst, ...]:
    return vetting(job.bike).measure_first(job.change)


def found_in(job: Job) -> Sequence[Finding]:
    return findings_of(job.bike, job.change)


@st.composite
def undecided(draw: st.DrawFn) -> Job:
    """A bike or a change that facts are missing for, and nothing blocks."""
    true = draw(jobs())
    job = Job(set_slots(true.bike, draw(doubts(true.bike))), true.change)
    assume(open_facts(job, found_in(job)))
    return job


def slot_of(row: MeasureFirst) -> tuple[str, str]:
    return row.position, row.attribute


def pool(part: Part, slot: tuple[str, str], found: Sequence[Finding]) -> list[Any]:
    """What a fact could be: what the catalogue's parts have, and sizes between the limits that are known."""
    path = paths_of(part, slot[1])[0]
    known = [
        limits for finding in found for item in finding.undecided
        if (item.position, item.attribute) == slot and (limits := parse_interval(item.value, -inf, "")) is not None
    ]  # fmt: skip
    if known:
        low, high = known[0].low, known[0].high
        return [Interval(size, size) for size in (low, low + (high - low) * 0.3, (low + high) / 2, high)]
    said_by_nothing = [()] if path[0] in ("mounts", "ports") else []  # an empty list of these is no answer
    values = [value for value in pool_of(part, path) if value not in (None, *said_by_nothing) and all_known(value)]
    return values or [Interval(size, size) for size in (1.0, 3.0, 10.0, 30.0, 100.0, 300.0, 700.0, 1000.0)]


def all_known(value: Any) -> bool:
    """Is everything known of the ways, places or mounts that a list is made of?"""
    rows = value if isinstance(value, tuple) else ()
    return not any(isinstance(row, Passage) and (row.length_mm is None or None in sizes_of(row.bore)) for row in rows)


def sizes_of(bore: Bore) -> list[Interval | None]:
    names = {"round": ["diameter_mm"], "slot": ["width_mm", "height_mm"], "irregular": ["inscribed_mm", "area_mm2"]}
    return [getattr(bore, name) for name in names.get(bore.shape, [])]


def open_facts(job: Job, found: Sequence[Finding]) -> list[tuple[str, str]]:
    """The facts that still leave something undecided, if nothing blocks."""
    changed = job.change != NOTHING
    if verdict_of(found, changed=changed) is not Verdict.UNDECIDED:
        return []
    counting = [finding for finding in found if not changed or finding.since is Since.CHANGE]
    return [(item.position, item.attribute) for finding in counting for item in finding.undecided]


def puts_in_doubt(job: Job, after: Job) -> bool:
    """Does an answer contradict a record, of which something then counts as not known?"""
    parts = ((spot.part, after.bike[name].part) for name, spot in job.bike.fitted.items() if name in after.bike)
    return any(
        getattr(old, attribute) is not None and getattr(new, attribute) is None
        for old, new in parts for attribute in type(old).model_fields
    )  # fmt: skip


@given(data=st.data())
def test_with_every_answer_the_verdict_is_decided(data: st.DataObject) -> None:
    job = data.draw(undecided(), label="job")
    slots = [slot_of(row) for row in asked(job)]
    note(f"{slots}")
    found = found_in(job)
    pools = {slot: pool(part_of(job, slot[0]), slot, found) for slot in slots}
    for _ in range(3):
        facts = {slot: data.draw(st.sampled_from(values)) for slot, values in pools.items()}
        note(f"{facts}")
        after = told(job, facts)
        if not puts_in_doubt(job, after):
            assert open_facts(after, found_in(after)) == []
