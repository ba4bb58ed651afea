"""`swap` without `--fit`: on a terminal it asks what changes; elsewhere it is a mistake."""

from __future__ import annotations

import pytest

from command import run


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("buildcheck.cli.on_terminal", lambda: True)


def test_without_a_terminal_it_is_a_mistake() -> None:
    ran = run("swap", "city-rim", stdin="saddle\n1\n")
    assert (ran.code, ran.out) == (2, "")
    assert "say what changes" in ran.err


@pytest.mark.usefixtures("terminal")
def test_a_number_is_the_part_beside_it() -> None:
    ran = run("swap", "city-rim", stdin="saddle\n2\n")
    assert "wexcombe-heather" in ran.err
    assert ran.err.index("1    EUR 16.00  wexcombe-daisy") < ran.err.index("2    EUR 32.00  wexcombe-clover")
    assert "Asked: buildcheck swap city-rim --fit wexcombe-clover@saddle" in ran.err
    assert (ran.code, ran.out) == (0, run("swap", "city-rim", "--fit", "wexcombe-clover@saddle").out)


@pytest.mark.usefixtures("terminal")
def test_a_part_that_does_not_fit_can_be_asked_for_by_its_id() -> None:
    ran = run("swap", "city-rim", stdin="saddle\nwexcombe-heather-carbon\n")
    assert (ran.code, ran.out) == (1, run("swap", "city-rim", "--fit", "wexcombe-heather-carbon@saddle").out)


@pytest.mark.usefixtures("terminal")
def test_a_mistake_is_told_and_asked_again() -> None:
    ran = run("swap", "city-rim", stdin="sadle\nsaddle\nwexcombe-dasy\n0\nwexcombe-daisy\n")
    assert "did you mean \"saddle\"?" in ran.err
    assert "did you mean \"wexcombe-daisy\"?" in ran.err
    assert "'0' is no part for this position" in ran.err
    assert ran.code == 0


@pytest.mark.usefixtures("terminal")
def test_long_lists_are_cut_and_the_end_of_input_ends_it() -> None:
    ran = run("swap", "city-rim", stdin="handlebar\n")
    assert (ran.code, ran.out) == (130, "")
    assert run("swap", "no-such-bike", stdin="saddle\n").code == 2
