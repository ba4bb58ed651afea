"""The driver of `make fuzz`: that it draws inputs that are read and inputs that are refused, and tells what crashes."""

from __future__ import annotations

import pytest

import fuzz
from buildcheck.library.problems import FileLine, InputError, Problem

_INPUTS = 600


def _ending(name: str, data: bytes) -> str:
    try:
        fuzz.READERS[name].read(data)
    except InputError:
        return "refused"
    return "read"


def test_every_reader_reads_some_inputs_and_refuses_others() -> None:
    ended = {(name, _ending(name, data)) for name, data in map(fuzz.drawn, range(_INPUTS))}
    assert ended == {(name, ending) for name in fuzz.READERS for ending in ("read", "refused")}


def test_no_input_crashes_a_reader() -> None:
    ran, faults = fuzz.run_some(range(_INPUTS))
    assert (ran.total(), faults) == (_INPUTS, [])


def test_an_input_is_decided_by_its_number_alone() -> None:
    assert [fuzz.drawn(number) for number in range(50)] == [fuzz.drawn(number) for number in range(50)]


def test_a_crash_and_an_error_without_a_place_are_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def crash(data: bytes) -> object:
        raise KeyError("stem")

    def elsewhere(data: bytes) -> object:
        raise InputError([Problem(FileLine("another-file", 1, 1), "why", "meaning")])

    for read, told in ((crash, "KeyError: 'stem'"), (elsewhere, "no place in the input: another-file:1:1")):
        monkeypatch.setitem(fuzz.READERS, "bike", fuzz.Reader(1, dict, read))
        assert told in fuzz.fault("bike", b"")
        monkeypatch.undo()
