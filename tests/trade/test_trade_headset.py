"""The headset code reads what it writes and says what it expected."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.trade.headset import SEAT_TYPES, HeadsetHalf, parse_half

half = st.builds(
    HeadsetHalf, st.sampled_from(SEAT_TYPES), st.integers(10, 99), st.integers(100, 999).map(lambda t: t / 10)
)


@given(half)
def test_a_code_reads_back_as_written(upper: HeadsetHalf) -> None:
    assert parse_half(str(upper)) == upper
    assert parse_half(f"  {upper}".lower().replace("/", " / ")) == upper


@given(st.text(max_size=12).filter(lambda text: text.strip().upper()[:2] not in SEAT_TYPES))
def test_any_other_text_is_refused_with_what_was_expected(text: str) -> None:
    with pytest.raises(ValueError, match="expected TYPE bore/diameter"):
        parse_half(text)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("PF42/28.6", "'PF' is not a seat type"),
        ("42/28.6", "not a seat type"),
        ("IS42", "no '/'"),
        ("IS42/28.6|IS52/40", "whole code"),
        ("IS4/28.6", "expected TYPE bore/diameter"),
        ("IS42/28.65", "expected TYPE bore/diameter"),
        ("", "not a seat type"),
    ],
)
def test_errors_say_what_is_wrong(text: str, hint: str) -> None:
    with pytest.raises(ValueError, match=hint.replace("|", r"\|")):
        parse_half(text)


def test_seats_tell_types_apart() -> None:
    assert parse_half("IS41/28.6").seat == "IS41" != parse_half("ZS41/28.6").seat
