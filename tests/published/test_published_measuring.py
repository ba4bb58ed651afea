"""What a mechanic is told to measure, against published figures: no row decides by a size that two kinds share."""

import re

import pytest

from laws.bench import catalogue


def how(attribute: str, kind: str) -> tuple[str, str]:
    """How a fact of a kind of part is measured, and where that is from."""
    rows = [row for row in catalogue().standards.measurements if row.attribute == attribute and kind in row.kinds]
    assert len(rows) == 1
    return rows[0].how, rows[0].source


def in_order(text: str, *words: str) -> bool:
    """Do these words stand in the text one after the other?"""
    return re.search(".*".join(map(re.escape, words)), text) is not None


def test_a_bottom_bracket_shell_is_told_by_thread_and_hand() -> None:
    # BikeRaceInfo, "Bottom bracket threading": the bore of an English, a French and a Swiss shell is 33.6 to 33.9 mm,
    # that of an Italian one 34.6 to 34.9. English threads have 24 to the inch, French and Swiss ones 1 mm; the fixed
    # cup of English and Swiss shells is left-hand, that of French and Italian ones right-hand.
    text, source = how("bb_shell", "frame")
    assert in_order(text, "34.6 to 34.9", "Italian")
    assert in_order(text, "33.6 to 33.9", "English, French or Swiss", "thread gauge")
    assert in_order(text, "24 tpi English", "1.0 mm French or Swiss")
    assert in_order(text, "left English and Swiss", "right French and Italian")
    assert "BikeRaceInfo" in source
    shells = catalogue().standards.vocabularies["bb-shell"].terms
    left = {shell.id for shell in shells if shell.traits.get("left_hand_drive_side")}
    assert {"english-1.37x24", "swiss-35x1"} <= left
    assert not {"italian-36x24", "french-35x1"} & left


# Public question and answer, "What is the mechanical advantage of mechanical rim brakes and levers?" (2020): from pivot
# to cable 14 mm on a road lever; 29, 33 and 38 mm on levers for linear-pull brakes.
@pytest.mark.parametrize(("arm_mm", "pull"), [(14, "short"), (29, "long"), (33, "long"), (38, "long")])
def test_arms_of_brake_levers(arm_mm: float, pull: str) -> None:
    text, source = how("cable_pull", "lever")
    spans = re.search(r"(\d+) to (\d+) mm is short pull .*, (\d+) to (\d+) mm long pull .* decide at about (\d+)", text)
    assert spans is not None
    short_low, short_high, long_low, long_high, between = map(float, spans.groups())
    low, high = (short_low, short_high) if pull == "short" else (long_low, long_high)
    assert low <= arm_mm <= high
    assert (arm_mm < between) == (pull == "short")
    assert "29, 33 and 38 mm" in source
    assert "Hub and roller brakes are a class of their own" in text


def test_clamps_of_handlebars() -> None:
    # Handlebar and stem dimensions, a public crib sheet: 22.2, 23.8, 25, 25.4, 25.8, 26.0, 26.4, 27 and 31.8 mm.
    sizes = ("22.2", "23.8", "25.0", "25.4", "25.8", "26.0", "26.4", "27.0", "31.8")
    for attribute, kind in (("bar_clamp_mm", "stem"), ("clamp_mm", "handlebar")):
        text, source = how(attribute, kind)
        assert all(size in text for size in sizes)
        assert "handlebar and stem dimensions" in source


def test_mark_of_a_seat_post() -> None:
    # 16 CFR 1512.15(b): the mark stands no less than two diameters from the lowest point of the post.
    text, source = how("insertion_min_mm", "seatpost")
    assert "at least twice its diameter" in text
    assert "16 CFR 1512.15(b)" in source
