"""The laws of torque sheet and advice, on any job: nothing touched is left out, and nobody's limit is passed."""

from __future__ import annotations

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.bench.advice import advice_for
from buildcheck.bench.opened import opened_places, suits
from buildcheck.bench.torques import limits_of, torque_rows
from buildcheck.bench.wrenches import setting_for
from buildcheck.fit.view import View
from buildcheck.model.bikes import Bike
from buildcheck.model.standards import Standards
from buildcheck.model.workshop import Crowfoot, Fastener, Opened, Wrench
from laws.bench import BIKES, bike, catalogue, context_of
from laws.strategies import Job, jobs
from laws.test_work import work_of

STANDARDS = catalogue().standards
TABLE = {row.id: row for row in STANDARDS.fasteners}
TORQUES = st.floats(0.5, 100)


@dataclass(frozen=True)
class Operation:
    """As much of an operation as sheet and advice look at."""

    id: str
    position: str | None


def _operations(row: Opened, position: str) -> list[Operation]:
    """The operations that are named for a row, each at the row's own position."""
    per_job = {name: STANDARDS.operations[name].per == "job" for name in row.operations}
    return [
        Operation(name, None) if job else Operation(f"{name}@{position}", position) for name, job in per_job.items()
    ]


def _fits(of: Bike, row: Opened, position: str) -> bool:
    view = context_of(of).view
    return all(suits(view, of[position], name, words).yes for name, words in row.where.items())


@pytest.mark.parametrize("name", BIKES)
def test_every_fastener_that_an_operation_opens_appears(name: str) -> None:
    of = bike(name)
    context = context_of(of)
    for row in STANDARDS.fasteners:
        for position in (spot for at in row.at for spot in context.view.of_row(at) if _fits(of, row, spot)):
            for operation in _operations(row, position):
                found = {(made.fastener, made.position) for made in torque_rows(context, [operation])}
                assert (row.id, position) in found, operation


@given(data=st.data())
def test_what_is_fitted_and_has_fasteners_is_on_the_sheet(data: st.DataObject) -> None:
    job: Job = data.draw(jobs(), label="job")
    context, operations = context_of(job.bike, job.change), work_of(job.bike, job.change).operations
    rows = {row.position for row in torque_rows(context, operations)}
    for operation in operations:
        position = operation.position
        if operation.phase == "strip" or position is None or position not in context.bike:
            continue
        if operation.phase == "fit" and _has_fasteners(context.view, position, operation.id.partition("@")[0]):
            assert position in rows, operation.id


def _has_fasteners(view: View, position: str, operation: str) -> bool:
    """Is this an operation that fits the part here, and has the part a fastener of its own?"""
    spot, named = view.bike[position], view.row(position).id
    rows = [row for row in STANDARDS.fasteners if named in row.at and row.operations]
    found = any(all(suits(view, spot, *item).yes for item in row.where.items()) for row in rows)
    return found and spot.part.kind in STANDARDS.operations[operation].fits


@given(data=st.data())
def test_no_torque_passes_a_limit_that_a_maker_states(data: st.DataObject) -> None:
    job: Job = data.draw(jobs(), label="job")
    context, operations = context_of(job.bike, job.change), work_of(job.bike, job.change).operations
    for row in torque_rows(context, operations):
        if str(row.what).endswith("old part"):
            continue
        fastener = TABLE[row.fastener]
        limits = limits_of(context.view, context.bike[row.position], fastener)
        for limit in (limit for limit in limits if limit.stated):
            if limit.least:
                assert row.low_nm is not None
                assert row.low_nm >= limit.amount.high
            else:
                assert row.high_nm is not None
                assert row.high_nm <= limit.amount.low
        if row.low_nm is not None and row.high_nm is not None and row.low_nm > row.high_nm:
            assert (str(row.wrench), row.set_nm) == ("", None)
            assert row.cautions
        assert not (row.by_hand and row.wrench)
        assert row.wrench or row.by_hand or row.cautions


@given(data=st.data())
def test_advice_is_about_what_stays_and_saves_time(data: st.DataObject) -> None:
    job: Job = data.draw(jobs(), label="job")
    context, operations = context_of(job.bike, job.change), work_of(job.bike, job.change).operations
    found = advice_for(context, operations)
    assert len({(note.id, note.position) for note in found}) == len(found)
    for note in found:
        assert note.later_min > note.now_min
        assert not context.changed & context.bike.with_whole_parts([note.position])
        assert note.position in context.bike
    opened = {(place.row.id, place.spot.position) for place in opened_places(context, operations, STANDARDS.advice)}
    assert {(note.id, note.position) for note in found} <= opened


@given(st.lists(st.tuples(TORQUES, st.floats(1, 80), st.floats(60, 600)), max_size=4), TORQUES, TORQUES, st.booleans())
def test_the_wrench_always_reaches_its_target(
    scales: list[tuple[float, float, float]], one: float, other: float, adapter: bool
) -> None:
    wrenches = [
        Wrench(id=f"w-{index}", what=f"wrench {index}", low_nm=low, high_nm=low + span,
               drive="1/4 in", length_mm=length, source="a test")
        for index, (low, span, length) in enumerate(scales)
    ]  # fmt: skip
    crowfoot = Crowfoot(id="c", what="crow-foot", offset_mm=30, source="a test")
    standards = Standards(lambda name: {"wrenches": wrenches, "crowfeet": [crowfoot]}.get(name, []))
    row = Fastener(id="f", what="a bolt", at=("stem",), operations=("fit-stem",), compound_why="a test",
                   source="a test", crowfoot="c" if adapter else None)  # fmt: skip
    low, high = sorted((one, other))
    setting = setting_for(standards, row, (low, high))
    target = (low + high) / 2
    factors = {wrench.what: wrench.length_mm / (wrench.length_mm + 30) if adapter else 1.0 for wrench in wrenches}
    reaching = [w for w in wrenches if w.low_nm <= target * factors[w.what] <= w.high_nm]
    whole = [w for w in reaching if w.low_nm <= low * factors[w.what] and high * factors[w.what] <= w.high_nm]
    chosen = [w for w in reaching if str(setting.wrench).removesuffix(" with crow-foot") == w.what]
    assert bool(chosen) == bool(reaching)
    if whole:
        assert chosen[0] in whole
    elif chosen:
        assert any("only a part" in str(text) for text in setting.cautions)
    else:
        assert (str(setting.wrench), setting.set_nm) == ("", None)
        assert setting.cautions
    assert (setting.set_nm is not None) == bool(chosen and adapter)
    if setting.set_nm is not None:
        assert setting.set_nm <= target + 0.05
