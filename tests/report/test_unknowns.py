"""A report on a half-told bike is no wall: a line for each part, and one for all that nobody told of."""

from __future__ import annotations

from command import run


def test_much_that_is_not_known_is_told_by_part() -> None:
    lines = run("check", "outline/road-rim", "--all").out.splitlines()
    assert sum("Nobody said whether these are on the bike" in line for line in lines) == 1
    assert sum(line.startswith("  - fork: ") for line in lines) == 1
    assert len(lines) < 400


def test_what_does_not_matter_for_a_change_is_told_in_a_line() -> None:
    text = run("swap", "outline/road-rim", "--fit", "wexcombe-thrift@saddle", "--all").out
    _, _, before = text.partition("There before, and not touched by the change\n")
    assert before.count("* much is not known of: ") == 1
    assert before.count("* nobody said whether these are on the bike: ") == 1
