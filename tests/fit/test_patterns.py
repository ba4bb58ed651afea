"""Patterns of words, against the standard library."""

from __future__ import annotations

from fnmatch import fnmatchcase

from hypothesis import given
from hypothesis import strategies as st

from buildcheck.fit.patterns import is_of

letters = st.text("ab-*?[!]\n", max_size=6)


@given(text=letters, pattern=letters)
def test_a_pattern_is_read_as_usual(text: str, pattern: str) -> None:
    assert is_of(text, pattern) == fnmatchcase(text, pattern)


@given(text=st.text("ab-!]", max_size=6), more=letters)
def test_a_star_stands_for_anything(text: str, more: str) -> None:
    assert is_of(text + more, text + "*")
    assert is_of(more, "*")
