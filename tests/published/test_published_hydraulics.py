"""Pistons against textbook examples."""

import math

import pytest

from buildcheck.rules.hydraulics import fluid_grades_mixed
from buildcheck.trade.hydraulics import clamp_ratio


def test_textbook_brake() -> None:
    # OpenStax College Physics 11.5, example: 500 N on a 0.500 cm master, 2.50 cm slaves: 1.25e4 N at each.
    assert 500 * clamp_ratio(5, 25) == pytest.approx(1.25e4)


def test_textbook_areas() -> None:
    # algebra.com, question 1013301: 500 N on 5 cm2 are 5000 N on a slave of 50 cm2.
    small, large = (math.sqrt(4 * area_mm2 / math.pi) for area_mm2 in (500, 5000))
    assert 500 * clamp_ratio(small, large) == pytest.approx(5000)


def test_boiling_points_of_the_grades_that_mix() -> None:
    # 49 CFR 571.116 S5.1.1: at least 205 degrees Celsius for DOT 3, 230 for DOT 4, 260 for DOT 5 and DOT 5.1.
    assert "205, 230 and 260 degrees Celsius" in fluid_grades_mixed.page
    assert "S5.1.1" in fluid_grades_mixed.source


def test_opposed_pistons() -> None:
    # Worked out: 10 mm master, 22 mm pistons: 4.84 for one side, and 9.68 only where both pistons push one pad.
    assert clamp_ratio(10, 22) == pytest.approx(4.84)
    assert clamp_ratio(10, 22, per_side=2) == pytest.approx(9.68)
