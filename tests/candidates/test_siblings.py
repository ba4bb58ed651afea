"""Near misses: the sibling that fits is named, is nearly the part that was asked for, and does fit."""

from __future__ import annotations

import pytest

from buildcheck.model.bikes import Change
from buildcheck.model.levels import Level, Verdict
from buildcheck.vetting import verdict_of
from command import run
from laws.bench import BIKES, bike, catalogue, vetting


def test_a_post_of_another_bore_names_the_one_that_fits() -> None:
    ran = run("swap", "city-rim", "--fit", "tolverne-lantern-100", "--exclude", "tolverne-shim-260-254")
    assert "The same in 25.4 mm fits: tolverne-lantern-80 (EUR 27.80)." in ran.out
    assert "Next: buildcheck swap city-rim --fit tolverne-lantern-80@stem" in ran.out
    ran = run("swap", "trail-hardtail", "--fit", "wexcombe-bittern-316-150")
    assert "The same in 30.9 mm fits: wexcombe-bittern-309-150 (EUR 159.50)." in ran.out


@pytest.mark.parametrize("name", ["city-rim", "trail-hardtail", "tourer-cable", "kids-20"])
@pytest.mark.parametrize("position", ["seatpost", "stem", "front-tyre", "bottom-bracket"])
def test_each_sibling_fits_and_is_of_the_same_kind(name: str, position: str) -> None:
    from buildcheck.candidates.siblings import siblings_of

    of, cat = vetting(bike(name)), catalogue()
    row = cat.standards.position(position)
    assert row is not None
    for part in list(cat.of_kinds(row.kinds))[::4]:
        change = Change(((part.id, position),))
        vetted = of.vetted(change)
        for sibling in siblings_of(of.vetter(frozenset({position})), change, vetted):
            assert vetted.blocking
            assert (sibling.asked, sibling.position) == (part.id, position)
            assert cat.part(sibling.id).kind == part.kind
            assert sibling.differs
            other = of.vetted(Change(((sibling.id, position),)))
            assert not any(finding.level is Level.BLOCKS for finding in other.findings)
            assert verdict_of(other.findings, changed=True) not in (Verdict.BLOCKED, Verdict.UNDECIDED)


def test_what_is_undecided_is_not_said_to_fit() -> None:
    ask = ("swap", "city-rim", "--fit", "dunreth-townley-47-622@rear-tyre")
    assert "fits: dunreth-townley-42-622" in run(*ask).out
    unknown = run(*ask, "--set", "rear-wheel.rim_inner_mm=unknown").out
    assert "BLOCKED" in unknown
    assert "fits: dunreth-townley-42-622" not in unknown


def test_what_fits_has_none() -> None:
    assert len(BIKES) > 10
    report = vetting(bike("city-rim")).swap(Change((("tolverne-lantern-80", "stem"),)))
    assert report.verdict is not Verdict.BLOCKED
    assert report.siblings == ()
    assert [part.id for part in report.asked_parts] == []
