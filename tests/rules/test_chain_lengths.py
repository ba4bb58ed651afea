"""The chain rules against the formulas they stand on: a size known within limits gives limits that hold every point."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.drivetrain import ring_positions, ring_teeth
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.trade.chain import big_big_links, capacity_needed_teeth, even_links
from laws.bench import bike, catalogue, findings_of, with_facts


def named(name: str, findings: tuple[Finding, ...]) -> list[Finding]:
    return [finding for finding in findings if finding.name == name]


@given(
    stay=st.integers(405, 480),
    ring=st.integers(28, 54),
    sprocket=st.integers(25, 52),
    growth=st.integers(0, 40),
    links=st.integers(94, 130),
)
def test_a_chain_is_too_short_just_when_the_formula_says_so(
    stay: int, ring: int, sprocket: int, growth: int, links: int
) -> None:
    of = with_facts(
        bike("trail-hardtail"),
        frame__chainstay_length_mm=stay,
        frame__chain_growth_mm=growth,
        chainring_AT_single__teeth=ring,
        cassette__largest_teeth=sprocket,
        chain__links=links,
    )
    found = named("chain-too-short", findings_of(of))
    needed = big_big_links(stay, ring, sprocket, growth)
    assert [finding.level for finding in found] == ([Level.BLOCKS] if links < needed else [])
    assert all(f"needs {even_links(needed)} links" in str(finding.message) for finding in found)


@given(low=st.integers(400, 440), spread=st.integers(0, 30), share=st.floats(0, 1), links=st.integers(100, 120))
def test_limits_hold_every_stay_between(low: int, spread: int, share: float, links: int) -> None:
    wide = with_facts(bike("allroad-wired"), chain__links=links, frame__chainstay_length_mm=f"{low}..{low + spread}")
    true = with_facts(bike("allroad-wired"), chain__links=links, frame__chainstay_length_mm=low + share * spread)
    told, comes = (named("chain-too-short", findings_of(of)) for of in (wide, true))
    if not told:
        assert not comes
    elif told[0].level is Level.BLOCKS:
        assert comes[0].level is Level.BLOCKS


@given(
    rings=st.tuples(st.integers(20, 54), st.integers(20, 54)),
    sprockets=st.tuples(st.integers(9, 20), st.integers(20, 52)),
    capacity=st.integers(10, 60),
)
def test_capacity_is_exceeded_just_when_the_formula_says_so(
    rings: tuple[int, int], sprockets: tuple[int, int], capacity: int
) -> None:
    of = with_facts(
        bike("allroad-wired"),
        chainring_AT_outer__teeth=rings[0],
        chainring_AT_inner__teeth=rings[1],
        cassette__smallest_teeth=sprockets[0],
        cassette__largest_teeth=sprockets[1],
        rear_AT_derailleur__capacity_teeth=capacity,
    )
    needed = capacity_needed_teeth(max(rings), min(rings), max(sprockets), min(sprockets))
    assert bool(named("derailleur-capacity-exceeded", findings_of(of))) is (needed > capacity)


def test_rings_come_from_their_positions_and_else_from_the_crank() -> None:
    of = bike("tourer-cable")
    view = View(of, catalogue().standards)
    assert ring_positions(view) == ("chainring-inner", "chainring-middle", "chainring-outer")
    assert [ring.low for ring in ring_teeth(view)] == [26, 36, 48]
    fixed = with_facts(of, crankset__largest_ring_teeth=48, crankset__smallest_ring_teeth=28)
    bare = fixed.with_fitted({n: s for n, s in fixed.fitted.items() if not n.startswith("chainring")})
    assert [ring.low for ring in ring_teeth(View(bare, catalogue().standards))] == [48, 28]
    none = bare.with_fitted({n: s for n, s in bare.fitted.items() if n != "crankset"})
    assert ring_teeth(View(none, catalogue().standards)) == ()


@pytest.mark.parametrize("left_out", ["chain", "cassette", "frame"])
def test_no_chain_no_length(left_out: str) -> None:
    of = bike("city-rim")
    names = ("chain-too-short", "chain-too-long", "chain-cannot-be-tensioned", "chain-too-wide-for-sprockets")
    found = findings_of(of.with_fitted({n: s for n, s in of.fitted.items() if n != left_out}))
    assert not [finding for finding in found if finding.name in names]
