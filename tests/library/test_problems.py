"""Problems as text, and what was probably meant."""

from __future__ import annotations

import pickle

import pytest

from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean, printable, shown


def test_problems_as_text() -> None:
    problems = [
        Problem(FileLine("a.yaml", 3, 7), "one", "syntax"),
        Problem(FileLine("b.yaml", 1, 1), "two", "meaning"),
    ]
    error = InputError(problems)
    assert error.problems == tuple(problems)
    assert str(error) == "a.yaml:3:7: syntax: one\nb.yaml:1:1: meaning: two"
    assert str(pickle.loads(pickle.dumps(error))) == str(error)
    assert shown('a"\\\n\x1b\u202eé') == r'"a\"\\\n\x1b\u202eé"'
    assert len(shown("x" * 1000)) == 62


@pytest.mark.parametrize(
    ("word", "answer"),
    [
        ("stearer", ' — did you mean "steerer"?'),
        ("Axle_Length", ' — did you mean "axle-length"?'),
        ("rotor-mount", ' — did you mean "rotor_mount"?'),
        ("xyzzy", ""),
        ("", ""),
    ],
)
def test_did_you_mean(word: str, answer: str) -> None:
    assert did_you_mean(word, {"steerer", "axle-length", "rotor_mount", "spacing"}) == answer


def test_did_you_mean_never_offers_the_word_itself() -> None:
    assert did_you_mean("fork", ["fork"]) == ""
    assert did_you_mean("fork", []) == ""


def test_printable_text_is_left_alone_and_the_rest_is_escaped() -> None:
    assert printable("Überland – 🚲 [x]") == "Überland – 🚲 [x]"
    assert printable("a\x1b[31m\nb\u202ec") == r"a\x1b[31m\nb\u202ec"
