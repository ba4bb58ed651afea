"""The bundled tables of fasteners, wrenches and advice: whole, in step with one another, nothing senseless in them."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from buildcheck.bench.wrenches import setting_for
from buildcheck.fit.reading import has_attribute
from buildcheck.library.standards import cross_problems
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.workshop import AdviceRow, Fastener, Opened, Wrench
from buildcheck.trade.bolts import NUT_FACTOR_AS_RECEIVED, NUT_FACTOR_GREASED, over_proof
from laws.bench import catalogue

STANDARDS = catalogue().standards
BOLT = {"id": "f", "what": "w", "at": ("stem",), "operations": ("fit-stem",), "compound_why": "w", "source": "s"}
NOTE = {"id": "a", "what": "w", "at": ("stem",), "elsewhere": ("fit-stem",), "why": "w", "source": "s"}


def kinds_at(row: Opened) -> set[str]:
    return {kind for at in row.at for kind in STANDARDS.positions[at].kinds}


@pytest.mark.parametrize("row", [*STANDARDS.fasteners, *STANDARDS.advice], ids=lambda row: row.id)
def test_what_a_row_asks_of_its_part_exists(row: Opened) -> None:
    records = [PART_KINDS[kind] for kind in kinds_at(row)]
    assert any(all(has_attribute(record, name) for name in row.where) for record in records)
    assert row.source


@pytest.mark.parametrize("row", [*STANDARDS.fasteners, *STANDARDS.advice], ids=lambda row: row.id)
def test_its_own_operations_are_done_at_its_position_or_for_the_job(row: Opened) -> None:
    kinds = kinds_at(row)
    for name in row.operations:
        operation = STANDARDS.operations[name]
        handled = {*operation.takes_off, *operation.fits, *operation.moves, *operation.threads, *operation.relays,
                   *operation.sets}
        assert operation.per == "job" or operation.on_finding or handled & kinds, name


@pytest.mark.parametrize("kind", sorted(PART_KINDS))
def test_there_is_work_to_take_each_kind_off_and_to_fit_it(kind: str) -> None:
    operations = STANDARDS.operations.values()
    assert any(kind in row.takes_off for row in operations)
    assert any(kind in row.fits for row in operations)


@pytest.mark.parametrize("row", STANDARDS.fasteners, ids=lambda row: row.id)
def test_the_limits_that_a_fastener_names_exist(row: Fastener) -> None:
    for name in (*row.least, *row.most):
        other, _, attribute = name.rpartition(".")
        kinds = STANDARDS.positions[other].kinds if other else kinds_at(row)
        assert any(has_attribute(PART_KINDS[kind], attribute) for kind in kinds), name


@pytest.mark.parametrize("row", [row for row in STANDARDS.fasteners if row.property_class], ids=lambda row: row.id)
def test_a_usual_range_does_not_stretch_the_bolt(row: Fastener) -> None:
    assert row.high_nm is not None
    factor = NUT_FACTOR_GREASED if row.compound == "grease" else NUT_FACTOR_AS_RECEIVED
    assert not over_proof(row.high_nm, row.thread, row.property_class or "", factor)


@pytest.mark.parametrize("row", [row for row in STANDARDS.fasteners if not row.by_hand], ids=lambda row: row.id)
def test_the_shop_has_a_wrench_for_each_usual_range(row: Fastener) -> None:
    if row.low_nm is not None and row.high_nm is not None:
        assert setting_for(STANDARDS, row, (row.low_nm, row.high_nm)).wrench


def test_the_wrenches_that_operations_ask_for_are_those_of_the_shop() -> None:
    rows = STANDARDS.operations.values()
    asked = {
        tool for row in rows for some in (row, *row.tools_where) for tool in some.tools if tool.startswith("torque")
    }  # fmt: skip
    assert asked <= {wrench.what for wrench in STANDARDS.wrenches}


@pytest.mark.parametrize("row", STANDARDS.advice, ids=lambda row: row.id)
def test_another_day_costs_the_opening_too(row: AdviceRow) -> None:
    opening = min(STANDARDS.operations[name].low_min for name in (*row.operations, *row.elsewhere))
    assert row.later_min >= row.now_min + opening


def test_left_hand_threads_are_those_of_the_trade() -> None:
    left = {row.id for row in STANDARDS.fasteners if row.hand == "left"}
    cups = {"bb-cup-left-hand", "bb-cartridge-left-hand"}
    assert left == {"pedal-left", "track-lockring", "crank-one-piece-locknut", *cups}


@pytest.mark.parametrize(
    "wrong",
    [
        {"operations": ()}, {"low_nm": 5}, {"low_nm": 6, "high_nm": 5}, {"property_class": "8.8", "thread": "9/16 in"},
        {"hand": "both"},
    ],
)  # fmt: skip
def test_a_senseless_fastener_is_refused(wrong: dict[str, object]) -> None:
    assert Fastener.model_validate(BOLT)
    with pytest.raises(ValidationError):
        Fastener.model_validate({**BOLT, **wrong})


def test_a_senseless_wrench_or_advice_is_refused() -> None:
    with pytest.raises(ValidationError):
        Wrench(id="w", what="w", low_nm=5, high_nm=5, drive="d", length_mm=200, source="s")
    assert AdviceRow.model_validate({**NOTE, "now_min": 1, "later_min": 2})
    with pytest.raises(ValidationError):
        AdviceRow.model_validate({**NOTE, "now_min": 2, "later_min": 2})


def test_a_name_that_no_table_has_is_found() -> None:
    row = {**BOLT, "at": ["stem"], "operations": ["fit-stem"], "contacts": ["bar-on-stem"], "crowfoot": "crowfoot-9"}
    tables = {
        "positions": [{"row": {"id": "stem"}, "where": "here:1", "root": 0}],
        "operations": [{"row": {"id": "fit-stem"}, "where": "here:1", "root": 0}],
        "fasteners": [{"row": row, "where": "here:2", "root": 0}] * 2,
    }
    problems = "\n".join(cross_problems(tables))
    for text in ("no contact 'bar-on-stem'", "no crowfoot 'crowfoot-9'", "the fasteners row 'f' stands there twice"):
        assert text in problems
