"""Chains and gears against published figures."""

import math

import pytest

from buildcheck.trade.chain import (
    PITCH_MM,
    capacity_needed_teeth,
    centre_for_links_mm,
    chain_links,
    handbook_links,
    pitch_diameter_mm,
)
from buildcheck.trade.gearing import development_m, gain_ratio

INCH_MM = 25.4


def test_pitch() -> None:
    # BikeGremlin, "Bicycle drive chain standard dimensions"; Wikibooks, "Chain sizes": 1/2 in = 12.7 mm.
    assert PITCH_MM == INCH_MM / 2


def test_worked_example_of_a_roller_chain() -> None:
    # Paper excerpt (quoting its Ref. [8]): wheels of 20 and 63 teeth, length by the standard formula 114.8 pitches,
    # taken as 114; distance for 114 is 35.6 pitches. The 36 pitches at the start are inferred from the length.
    assert handbook_links(36 * PITCH_MM, 63, 20) == pytest.approx(114.80, abs=0.005)
    assert chain_links(36 * PITCH_MM, 63, 20) == pytest.approx(114.8, abs=0.01)
    assert centre_for_links_mm(114, 63, 20) / PITCH_MM == pytest.approx(35.6, abs=0.05)


# Unit-pitch factors of the ISO 606 and ANSI B29.1 tables (d = p / sin(180 deg / N): mechanical design handbook);
# diameters worked out from them.
@pytest.mark.parametrize(
    ("teeth", "factor", "diameter_mm"),
    [
        (11, 3.5495, 45.078),
        (13, 4.1786, 53.068),
        (17, 5.4422, 69.116),
        (21, 6.7095, 85.211),
        (25, 7.9787, 101.330),
        (32, 10.2023, 129.569),
        (34, 10.8380, 137.642),
        (44, 14.0175, 178.023),
        (53, 16.8803, 214.380),
    ],
)
def test_pitch_diameter(teeth: int, factor: float, diameter_mm: float) -> None:
    assert pitch_diameter_mm(teeth) / PITCH_MM == pytest.approx(factor, abs=6e-5)
    assert pitch_diameter_mm(teeth) == pytest.approx(diameter_mm, abs=6e-4)


# No published table was found: worked out by hand from the geometry in the reference notes (roller chain).
@pytest.mark.parametrize(
    ("centre_pitches", "one", "other", "handbook", "exact"),
    [
        (32.283, 50, 34, 106.7669, 106.7670),
        (32.283, 53, 11, 97.9501, 97.9551),
        (32.283, 44, 17, 95.6380, 95.6388),
        (33.858, 51, 34, 110.4322, 110.4323),
    ],
)
def test_lengths(centre_pitches: float, one: int, other: int, handbook: float, exact: float) -> None:
    centre_mm = centre_pitches * PITCH_MM  # about 410 and 430 mm
    assert handbook_links(centre_mm, one, other) == pytest.approx(handbook, abs=1e-4)
    assert chain_links(centre_mm, one, other) == pytest.approx(exact, abs=1e-4)


# Jitetan, "Total capacity": 44-32-24 with 12-34 is 42. Inputs from Bike Forums: 53-39 with 11-28. tkacz.pro: 50-34
# with 12-25 is 29, a derailleur for 33 has 4 to spare. One ring leaves the sprockets alone: 11-38 is 27.
@pytest.mark.parametrize(
    ("rings", "sprockets", "needed"),
    [((44, 32, 24), (12, 34), 42), ((53, 39), (11, 28), 31), ((50, 34), (12, 25), 29), ((40,), (11, 38), 27)],
)
def test_capacity(rings: tuple[int, ...], sprockets: tuple[int, ...], needed: int) -> None:
    assert capacity_needed_teeth(max(rings), min(rings), max(sprockets), min(sprockets)) == needed


# Wikipedia, "Gear inches": development is pi times the diameter times the ratio; worked out by hand. 20 gear inches
# are 1.6 m, 70 are 5.6 m, 125 are 10 m (the same page).
@pytest.mark.parametrize(
    ("wheel_mm", "ring", "sprocket", "metres"),
    [(26 * INCH_MM, 48, 24, 4.149), (672, 50, 11, 9.596), (672, 50, 25, 4.222)],
)
def test_development(wheel_mm: float, ring: int, sprocket: int, metres: float) -> None:
    assert development_m(wheel_mm, ring, sprocket) == pytest.approx(metres, abs=5e-4)


@pytest.mark.parametrize(("inches", "metres"), [(20, 1.6), (70, 5.6), (125, 10.0)])
def test_inches_and_metres(inches: float, metres: float) -> None:
    assert development_m(inches * INCH_MM, 1, 1) == pytest.approx(metres, abs=0.05)
    assert math.pi * inches * 0.0254 == pytest.approx(development_m(inches * INCH_MM, 30, 30))


def test_gain_ratio() -> None:
    # "Gain ratios" (bicycle glossary): 26 in wheel on 175 mm arms: radius ratio 1.89. The gears worked out by hand.
    assert gain_ratio(26 * INCH_MM, 175, 1, 1) == pytest.approx(1.89, abs=0.005)
    assert gain_ratio(26 * INCH_MM, 175, 48, 24) == pytest.approx(3.774, abs=5e-4)
    assert gain_ratio(672, 170, 50, 11) == pytest.approx(8.984, abs=5e-4)
