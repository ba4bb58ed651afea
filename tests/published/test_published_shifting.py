"""Cassettes, cable pull and chain lines against published figures."""

import pytest

from buildcheck.trade.crank import CHAIN_LINE_MOST_MM, bearing_span_mm, chain_angle_deg, widest_offset_mm
from buildcheck.trade.shifting import added_error_mm, body_left_mm, shift_step_mm, sprocket_stack_mm, step_error
from laws.bench import catalogue


# Crib sheet of sprocket pitches, quoted in "Nine over eight gearing" and in "Chainline", two blogs: pitch, thickness,
# and the width of the whole set, which the second prints as 37.2 for 10.
@pytest.mark.parametrize(
    ("sprockets", "pitch_mm", "thickness_mm", "stack_mm"),
    [(6, 5.5, 2.0, 29.5), (8, 4.8, 1.8, 35.4), (9, 4.34, 1.78, 36.5), (10, 3.95, 1.6, 37.15)],
)
def test_width_of_a_set_of_sprockets(sprockets: int, pitch_mm: float, thickness_mm: float, stack_mm: float) -> None:
    assert sprocket_stack_mm(sprockets, pitch_mm, thickness_mm) == pytest.approx(stack_mm, abs=5e-3)


# Rookie Journal, "11-speed hubs": the body is 1.85 mm longer, and cassettes for 8 to 10 speeds need a ring of 1.85.
# BikeRadar forum, "Cassette compatibility": 4.5 mm for 7 speeds on a body for 8. The ring of 1.0 mm: from memory.
@pytest.mark.parametrize(
    ("body_mm", "filled_mm", "spacers_mm"),
    [(35 + 1.85, 35, 1.85), (35, 35 - 4.5, 4.5), (35, 34, 1.0), (35 + 1.85, 34, 1.85 + 1.0)],
)
def test_rings_that_fill_a_body(body_mm: float, filled_mm: float, spacers_mm: float) -> None:
    assert body_left_mm(body_mm, filled_mm, 0) == pytest.approx(spacers_mm)
    assert body_left_mm(body_mm, filled_mm, spacers_mm) == pytest.approx(0)


# Wikibooks, "Gear-changing dimensions": pull times ratio is the sprocket's distance. Read in weak sources: the pull of
# 2.7 and 3.6 mm and the ratios 1.7 and 1.2; the other factors are from memory.
@pytest.mark.parametrize(
    ("pull_mm", "ratio", "step_mm"),
    [(2.7, 1.4, 3.78), (2.3, 1.7, 3.91), (2.5, 1.7, 4.25), (2.8, 1.7, 4.76), (3.4, 1.2, 4.08), (3.6, 1.1, 3.96)],
)
def test_shift_equation(pull_mm: float, ratio: float, step_mm: float) -> None:
    assert shift_step_mm(pull_mm, ratio) == pytest.approx(step_mm)


def test_nine_over_eight() -> None:
    # Worked out by hand from Published pitches of 8 and 9 speeds, 4.8 and 4.34 mm (quoted in a blog): a click is
    # 0.46 mm too long, and eight of them 3.68.
    assert added_error_mm(9, 4.8, 4.34) == pytest.approx(3.68)
    assert step_error(4.8, 4.34) == pytest.approx(0.106, abs=5e-4)


def test_chain_lines_of_hubs() -> None:
    # Radavist, "55 mm chainline": 49, 52 and 55 mm. A hub of 148 mm is 6 wider than one of 142, 3 mm on each side, and
    # so is the line. A crank for one is 3 mm off at the other, more than a derailleur should have to take.
    assert 49 + (148 - 142) / 2 == 52
    assert CHAIN_LINE_MOST_MM < 52 - 49
    for part in catalogue().of_kinds(["rear-wheel"]):
        if part.over_locknut_mm.low == 148:  # type: ignore[attr-defined]
            assert abs(part.chainline_mm.low - 52) <= CHAIN_LINE_MOST_MM  # type: ignore[attr-defined]


def test_spacers_of_a_shell() -> None:
    # From memory, no publication was found: an English shell of 68 mm with outboard cups spans 86.5 mm, and a mountain
    # crank takes three rings of 2.5 mm there and one in a shell of 73.
    assert bearing_span_mm(86.5, 68, 68, 3 * 2.5) == bearing_span_mm(86.5, 68, 73, 2.5) == 94


# Worked out by hand: twelve sprockets 3.6 mm apart lie 19.8 mm to each side, two rings 7 mm apart 3.5; 25.3 of 425 mm.
def test_worst_gear() -> None:
    offset_mm = widest_offset_mm(2, 7, 39.6)
    assert offset_mm == pytest.approx(25.3)
    assert chain_angle_deg(offset_mm, 425) == pytest.approx(3.407, abs=5e-4)
    assert chain_angle_deg(100, 100) == pytest.approx(45)
