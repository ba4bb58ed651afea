"""Where an answer goes, and the exit code that comes with it."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Any

from buildcheck.library.writing import write_whole

OK, NOT_SO, UNUSABLE, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130


def is_answer(found: Any) -> bool:
    """Is this the exit code with either a text or its lines, each with its style?"""
    if not isinstance(found, dict) or found.get("code") not in (OK, NOT_SO):
        return False
    if found.keys() == {"code", "json"}:
        return isinstance(found["json"], str)
    lines = found.get("lines")
    return found.keys() == {"code", "lines"} and isinstance(lines, list) and all(map(_is_line, lines))


def _is_line(found: Any) -> bool:
    return isinstance(found, list) and list(map(type, found)) == [str, str]


def text_of(answer: dict[str, Any]) -> str:
    """The answer as one text, without colour."""
    return str(answer["json"]) if "json" in answer else "".join(f"{text}\n" for text, _ in answer["lines"])


def write(answer: dict[str, Any], output: Path | None) -> int:
    """Write an answer, in colour only on a terminal that wants it, and give its exit code."""
    try:
        if output is not None:
            write_whole(output, text_of(answer))
        elif "lines" in answer and sys.stdout.isatty() and not os.environ.get("NO_COLOR"):
            from buildcheck.report.colour import print_in_colour

            print_in_colour(answer["lines"])
        else:
            sys.stdout.write(text_of(answer))
        sys.stdout.flush()
    except BrokenPipeError:
        stop_writing()  # what the reader did not wait for changes nothing about the bike
    return int(answer["code"])


def stop_writing() -> None:
    """The reader of standard output has gone, as `head` does; what is still to be written goes nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
