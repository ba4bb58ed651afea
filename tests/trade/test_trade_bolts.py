"""Adapters only ever lower the setting, the pull rises with the torque, and a stronger class bears more."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.bolts import (
    NUT_FACTOR_AS_RECEIVED,
    NUT_FACTOR_GREASED,
    NUT_FACTOR_RUSTY,
    NUT_FACTOR_WAXED,
    PROOF_LOAD_N,
    STRESS_AREA_MM2,
    adapter_setting_nm,
    over_proof,
    preload_n,
    proof_load_n,
    stress_area_mm2,
    thread_mm,
)

TORQUES = st.floats(0, 200)
LENGTHS = st.floats(100, 600)
OFFSETS = st.floats(0, 80)
ANGLES = st.floats(-90, 90)
THREADS = st.sampled_from(sorted(STRESS_AREA_MM2))
CLASSES = ("8.8", "10.9", "12.9")
FACTORS = st.floats(NUT_FACTOR_WAXED, NUT_FACTOR_RUSTY)


@given(TORQUES, LENGTHS, OFFSETS, ANGLES)
def test_an_adapter_that_makes_the_wrench_longer_lowers_the_setting(
    torque: float, wrench: float, adapter: float, angle: float
) -> None:
    setting = adapter_setting_nm(torque, wrench, adapter, angle)
    assert 0 <= setting <= torque * (1 + 1e-9)
    assert setting == pytest.approx(adapter_setting_nm(torque, wrench, adapter, -angle))


@given(TORQUES, LENGTHS, OFFSETS)
def test_across_it_changes_nothing_and_backwards_it_raises(torque: float, wrench: float, adapter: float) -> None:
    assert adapter_setting_nm(torque, wrench, adapter, 90) == pytest.approx(torque)
    assert adapter_setting_nm(torque, wrench, adapter, 180) >= torque * (1 - 1e-9)


@given(TORQUES, LENGTHS, OFFSETS, ANGLES)
def test_the_hand_pulls_as_hard_with_and_without_the_wrench_set(
    torque: float, wrench: float, adapter: float, angle: float
) -> None:
    """The force at the grip is the setting over L; the bolt gets that force over the whole reach."""
    force = adapter_setting_nm(torque, wrench, adapter, angle) / wrench
    reach = torque / force if force else wrench
    assert force * reach == pytest.approx(torque)
    assert reach >= wrench * (1 - 1e-9)


@pytest.mark.parametrize(
    ("torque", "wrench", "adapter", "angle"), [(-1, 200, 10, 0), (5, 0, 10, 0), (5, 200, -1, 0), (5, 20, 30, 180)]
)
def test_what_cannot_be_is_refused(torque: float, wrench: float, adapter: float, angle: float) -> None:
    with pytest.raises(ValueError, match=r"must be|reaches back"):
        adapter_setting_nm(torque, wrench, adapter, angle)


@given(TORQUES, TORQUES, THREADS, FACTORS)
def test_more_torque_pulls_harder(one: float, other: float, thread: str, factor: float) -> None:
    diameter = thread_mm(thread)[0]
    low, high = sorted((one, other))
    assert preload_n(low, diameter, factor) <= preload_n(high, diameter, factor)


@given(TORQUES, THREADS)
def test_what_is_too_much_for_a_strong_bolt_is_too_much_for_a_weak_one(torque: float, thread: str) -> None:
    over = [over_proof(torque, thread, name) for name in CLASSES]
    assert over == sorted(over, reverse=True)


@given(TORQUES, THREADS, st.sampled_from(CLASSES))
def test_grease_never_makes_a_torque_safer(torque: float, thread: str, name: str) -> None:
    if over_proof(torque, thread, name, NUT_FACTOR_AS_RECEIVED):
        assert over_proof(torque, thread, name, NUT_FACTOR_GREASED)


@pytest.mark.parametrize("name", CLASSES)
def test_thicker_bolts_bear_more_and_fine_threads_more_than_coarse_ones(name: str) -> None:
    loads = list(PROOF_LOAD_N[name].values())
    assert loads == sorted(loads)
    assert proof_load_n("M8x1", name) > proof_load_n("M8x1.25", name)


def test_threads_that_the_table_is_not_about() -> None:
    with pytest.raises(ValueError, match="metric"):
        thread_mm("9/16 in x 20 tpi")
    with pytest.raises(ValueError, match="thicker"):
        proof_load_n("M20x1.5", "8.8")
    with pytest.raises(KeyError):
        proof_load_n("M5x0.8", "A2-70")
    with pytest.raises(ValueError, match="pitch"):
        stress_area_mm2(1.0, 2.0)
    with pytest.raises(ValueError, match="above 0"):
        preload_n(5, 0, 0.2)
