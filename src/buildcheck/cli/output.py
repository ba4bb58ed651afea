"""Where an answer goes, and the exit code that comes with it."""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TextIO

from buildcheck.library.problems import harmless
from buildcheck.library.writing import write_whole

OK, NOT_SO, UNUSABLE, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130


def text_of(answer: dict[str, Any]) -> str:
    """The answer as one text, without colour."""
    return str(answer["json"]) if "json" in answer else "".join(f"{text}\n" for text, _ in _lines(answer))


def _lines(answer: dict[str, Any]) -> list[tuple[str, str]]:
    """The lines with their styles; a name with a line break in it does not make a line of its own."""
    return [(harmless(text, "\t"), style) for text, style in answer["lines"]]


def write(answer: dict[str, Any], output: Path | None) -> int:
    """Write an answer, in colour only on a terminal that wants it, and give its exit code. `-` is standard output."""
    try:
        if output is not None and str(output) != "-":
            write_whole(output, text_of(answer))
        elif "lines" in answer and sys.stdout.isatty() and not os.environ.get("NO_COLOR"):
            from buildcheck.report.colour import print_in_colour

            print_in_colour(_lines(answer))
        else:
            sys.stdout.write(text_of(answer))
        sys.stdout.flush()
    except BrokenPipeError:
        let_go()  # what the reader did not wait for changes nothing about the bike
    return int(answer["code"])


def open_streams() -> None:
    """A stream that is closed from the start leads nowhere, and no file that is opened later takes its number."""
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)
    for number, name in ((1, "stdout"), (2, "stderr")):
        if getattr(sys, name) is None:
            setattr(sys, name, os.fdopen(number, "w", encoding="utf-8", closefd=False))


def let_go() -> None:
    """Where the reader of a stream has gone, as `head` does, what is still to be written goes nowhere."""
    for stream in (sys.stdout, sys.stderr):
        try:
            stream.flush()
        except OSError:
            _silence(stream)


@contextmanager
def saying() -> Iterator[None]:
    """What is said on standard error within. That nobody can hear it changes nothing."""
    try:
        yield
        sys.stderr.flush()
    except OSError:
        _silence(sys.stderr)


def _silence(stream: TextIO) -> None:
    # Python itself would try to write the rest when it ends, and end with 120.
    os.dup2(os.open(os.devnull, os.O_WRONLY), stream.fileno())
