"""The chain rules against the formulas they stand on: a size known within limits gives limits that hold every point."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.drivetrain import ring_positions, ring_teeth
from buildcheck.fit.view import View
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.trade.chain import BIG_BIG_RESERVE_LINKS, big_big_links, capacity_needed_teeth, even_links
from laws.bench import bike, catalogue, findings_of, with_facts

HAIR_LINKS = 0.05  # links are told to a tenth


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
    half_inch = BIG_BIG_RESERVE_LINKS / 2
    expected = Level.BLOCKS if links < needed - half_inch else Level.CAUTION
    assert [finding.level for finding in found] == ([expected] if links < needed - HAIR_LINKS else [])
    says = f"needs {even_links(needed)} links" if expected is Level.BLOCKS else "are worked out"
    assert all(says in str(finding.message) for finding in found)


@pytest.mark.parametrize(
    ("centre_in", "ring", "sprocket", "links"),
    [(16, 50, 20, 102), (17, 52, 18, 106), (16, 44, 12, 94), (18, 50, 18, 108)],
)
def test_no_chain_that_the_trade_cuts_is_refused(centre_in: float, ring: int, sprocket: int, links: int) -> None:
    # Two public pages of worked examples: 50.5, 52.5, 47 and 54 in, joined at the next whole inch.
    of = with_facts(
        bike("trail-hardtail"),
        frame__chainstay_length_mm=centre_in * 25.4,
        frame__chain_growth_mm=0,
        chainring_AT_single__teeth=ring,
        cassette__largest_teeth=sprocket,
        chain__links=links,
    )
    assert all(found.level is Level.CAUTION for found in named("chain-too-short", findings_of(of)))


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
