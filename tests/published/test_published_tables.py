"""Published tables, row by row, against the formulas of the trade. What each is, and its source, stand in its file.

Every row is a case. A table rounds its last figure, so a formula may differ by half of that and no more.
"""

import csv
import math
from pathlib import Path

import pytest

from buildcheck.trade.chain import big_big_links, chain_links, even_links, pitch_diameter_mm
from buildcheck.trade.gearing import development_m, gain_ratio
from buildcheck.trade.shifting import sprocket_stack_mm
from buildcheck.trade.tyres import tyre_radius_mm
from laws.bench import catalogue

INCH_MM = 25.4
HAIR = 1e-9  # what a float adds where a figure lies half way between two


def table(name: str) -> list[tuple[float | None, ...]]:
    """The rows of a table as numbers; a figure that the table does not have is None."""
    lines = (Path(__file__).parent / f"{name}.csv").read_text(encoding="utf-8").splitlines()
    _, *rows = csv.reader(line for line in lines if not line.startswith("#"))
    return [tuple(float(figure) if figure else None for figure in row) for row in rows]


def test_no_row_is_left_out() -> None:
    sizes = {path.stem: len(table(path.stem)) for path in Path(__file__).parent.glob("*.csv")}
    assert sizes == {
        "bolt_circles": 21, "chain_trade_inches": 4, "gain_chart_2_9": 238, "gear_chart_26in_175mm": 24,
        "gear_inches_rounded": 60, "pitch_diameter_1in": 145, "rollout": 47, "sprocket_pitch": 10,
    }  # fmt: skip


# ---------------------------------------------------------------------- gears


def gear_inches(wheel_in: float, ring: float, sprocket: float) -> float:
    """Gear inches are the diameter of the wheel that goes as far for one turn, so development without the circle."""
    return development_m(wheel_in * INCH_MM, ring, sprocket) * 1000 / math.pi / INCH_MM


@pytest.mark.parametrize(("ring", "sprocket", "inches", "gain"), table("gear_chart_26in_175mm"))
def test_gear_chart(ring: float, sprocket: float, inches: float, gain: float) -> None:
    assert gear_inches(26, ring, sprocket) == pytest.approx(inches, abs=0.005 + HAIR)
    assert gain_ratio(26 * INCH_MM, 175, ring, sprocket) == pytest.approx(gain, abs=0.005 + HAIR)


@pytest.mark.parametrize(("wheel_in", "ring", "sprocket", "inches"), table("gear_inches_rounded"))
def test_gear_inches(wheel_in: float, ring: float, sprocket: float, inches: float) -> None:
    assert gear_inches(wheel_in, ring, sprocket) == pytest.approx(inches, abs=0.5 + HAIR)


@pytest.mark.parametrize(("ring", "sprocket", "gain"), table("gain_chart_2_9"))
def test_gain_chart(ring: float, sprocket: float, gain: float) -> None:
    assert gain_ratio(2 * 2.9 * 170, 170, ring, sprocket) == pytest.approx(gain, abs=0.05 + HAIR)


# ---------------------------------------------------------------------- chain and sprockets


@pytest.mark.parametrize(("teeth", "diameter_mm"), table("pitch_diameter_1in"))
def test_pitch_diameter(teeth: float, diameter_mm: float) -> None:
    # A bicycle's chain has half the pitch, so its wheels half the diameter.
    assert 2 * pitch_diameter_mm(teeth) == pytest.approx(diameter_mm, abs=0.005 + HAIR)


@pytest.mark.parametrize(("centre_in", "ring", "sprocket", "length_in"), table("chain_trade_inches"))
def test_chain_length(centre_in: float, ring: float, sprocket: float, length_in: float) -> None:
    # The trade's sum takes both wheels for equal ones and leaves out that the chain runs aslant from the big to the
    # small one. That is a third term of the handbooks' formula, up to half an inch here: with it the two are one. So
    # our chain is never the shorter, and one pair of links longer at most.
    aslant_in = ((ring - sprocket) / (2 * math.pi)) ** 2 / (centre_in / 0.5) * 0.5
    ours = big_big_links(centre_in * INCH_MM, ring, sprocket)
    assert ours / 2 == pytest.approx(length_in + aslant_in, abs=0.005)
    assert chain_links(centre_in * INCH_MM, ring, sprocket) / 2 + 1 == pytest.approx(ours / 2)
    assert math.ceil(length_in) <= even_links(ours) / 2 <= math.ceil(length_in) + 1


@pytest.mark.parametrize(("pitch_mm", "thickness_mm", "spacer_mm"), table("sprocket_pitch"))
def test_sprocket_pitch(pitch_mm: float, thickness_mm: float, spacer_mm: float) -> None:
    for sprockets in (1, 2, 8, 11):
        stack_mm = sprockets * thickness_mm + (sprockets - 1) * spacer_mm
        assert sprocket_stack_mm(sprockets, pitch_mm, thickness_mm) == pytest.approx(stack_mm)


# ---------------------------------------------------------------------- bolt circles

# Three rows are slips of the table. Bolts at even angles stand apart by the circle times the sine of half their angle,
# nothing else is possible, and the other 18 rows agree with that to the last figure. 55.4 mm would be a circle of
# 94.25, 34.3 one of 58.35 and 73.6 one of 104.1, and no ring is made for those.
SLIPS_MM = {(5, 94): 55.3, (5, 58): 34.1, (4, 104): 73.5}


@pytest.mark.parametrize(("bolts", "circle_mm", "neighbour_mm", "next_mm"), table("bolt_circles"))
def test_bolt_circle(bolts: float, circle_mm: float, neighbour_mm: float, next_mm: float | None) -> None:
    apart_mm = circle_mm * math.sin(math.pi / bolts)
    slip_mm = SLIPS_MM.get((int(bolts), int(circle_mm)))
    assert apart_mm == pytest.approx(neighbour_mm if slip_mm is None else slip_mm, abs=0.05 + HAIR)
    assert (abs(apart_mm - neighbour_mm) > 0.05) == (slip_mm is not None)
    if next_mm is not None:
        assert circle_mm * math.sin(2 * math.pi / bolts) == pytest.approx(next_mm, abs=0.05 + HAIR)


@pytest.mark.parametrize(("bolts", "circle_mm", "neighbour_mm", "next_mm"), table("bolt_circles"))
def test_bolt_circle_is_found_with_a_caliper(
    bolts: float, circle_mm: float, neighbour_mm: float, next_mm: float | None
) -> None:
    # The mechanic is told to multiply what the caliper shows between two neighbours: that has to lead to this circle.
    standards = catalogue().standards
    factor = {5: 1.701, 4: 1.414}[int(bolts)]
    for attribute in ("ring_mount", "ring_mounts", "inner_ring_mounts"):
        told = [row.how for row in standards.measurements if row.attribute == attribute]
        assert told
        assert all(f"{factor}" in how for how in told)
    assert neighbour_mm * factor == pytest.approx(circle_mm, abs=0.4)
    values = {each.id: each.value for each in standards.vocabularies["ring-mount"].terms}
    assert values[f"bcd-{circle_mm:g}x{bolts:g}"] == circle_mm


# ---------------------------------------------------------------------- tyres

# The marking of this row is a slip: 34-540 would stand 6 mm higher than it is wide, and 37-540, as most tyres of that
# size are marked, the 3 mm of most other rows.
ROLLED_OUT = [(37.0, *row[1:]) if row[:2] == (34.0, 540.0) else row for row in table("rollout")]


@pytest.mark.parametrize(("width_mm", "bead_seat_mm", "circumference_mm"), ROLLED_OUT)
def test_rolled_out(width_mm: float, bead_seat_mm: float, circumference_mm: float) -> None:
    # What is rolled out under load lies within what is believed of the tyre; without load it may be 2 per cent more.
    radii_mm = tyre_radius_mm((bead_seat_mm, bead_seat_mm), (width_mm, width_mm))
    least_mm, most_mm = (1000 * development_m(2 * radius, 1, 1) for radius in radii_mm)
    assert circumference_mm - 0.5 <= most_mm
    assert least_mm <= (circumference_mm + 0.5) * 1.02
