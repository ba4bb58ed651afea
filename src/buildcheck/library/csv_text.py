"""Reading a CSV file that a person or a spreadsheet wrote: its text, then its header, then row by row."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterable, Iterator
from typing import NamedTuple

from buildcheck.library.folders import Content
from buildcheck.library.problems import FileLine, InputError, Problem, Stage, did_you_mean
from buildcheck.library.yaml_checks import checked
from buildcheck.library.yaml_text import MOST_PROBLEMS
from buildcheck.model.quantities import brief

# What is wrong with a row: at which stage, and in words.
Faults = Iterable[tuple[Stage, str]]


class Header(NamedTuple):
    """The columns that a sort of file has, with those that may be left out, and how messages call such a file."""

    columns: tuple[str, ...]
    may_be_left_out: tuple[str, ...]
    file: str

    @property
    def text(self) -> str:
        """As it is written in the first row."""
        return ",".join(self.columns)


def read_rows(content: Content, header: Header, take: Callable[[int, dict[str, str]], Faults]) -> None:
    """Give each row below the header to `take`: its line and its cells by column, empty where nothing stands.

    Raises InputError with a line for each fault that `take` finds, up to as many as a person can use.
    """
    rows = _rows(checked(content.data, content.shown), content.shown)
    names = _columns(rows, content.shown, header)
    problems: list[Problem] = []
    for line, cells in rows[1:]:
        told = {**dict.fromkeys(header.columns, ""), **dict(zip(names, cells, strict=False))}
        faults = take(line, told) if len(cells) <= len(names) else _too_many(cells, names)
        problems.extend(Problem(FileLine(content.shown, line, 1), text, stage) for stage, text in faults)
        if len(problems) >= MOST_PROBLEMS:
            break
    if problems:
        raise InputError(problems)


def _too_many(cells: list[str], names: list[str]) -> Faults:
    text = f"{len(cells)} cells stand here under {len(names)} columns: is it a decimal comma? Write 12.50"
    return [("schema", text)]


def _rows(text: str, file: str) -> list[tuple[int, list[str]]]:
    """Each row that holds anything, with the line that it begins in. Raises InputError where the text is no CSV."""
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    rows: list[tuple[int, list[str]]] = []
    line = 1
    try:
        for cells in reader:
            rows.append((line, [cell.strip() for cell in cells]))
            line = reader.line_num + 1
    except csv.Error as error:
        why = f"the row that begins here cannot be read as CSV ({error}): expected quotation marks in pairs"
        raise InputError([Problem(FileLine(file, line, 1), why, "syntax")]) from None
    return [row for row in rows if any(row[1])]


def _columns(rows: list[tuple[int, list[str]]], file: str, header: Header) -> list[str]:
    """The names in the first row. Raises InputError if they are not those of such a file."""
    if not rows:
        text = f"the file is empty: expected the header {header.text}"
        raise InputError([Problem(FileLine(file, 1, 1), text, "schema")])
    line, names = rows[0]
    problems = [Problem(FileLine(file, line, 1), text, "schema") for text in _wrong_columns(names, header)]
    if problems:
        raise InputError(problems)
    return names


def _wrong_columns(names: list[str], header: Header) -> Iterator[str]:
    if len(names) == 1 and re.search(r"[;\t|]", names[0]):
        yield f"the header is {brief(names[0])}: expected {header.text}, with commas between the columns"
        return
    for name in dict.fromkeys(names):
        if name not in header.columns:
            hint = did_you_mean(name, header.columns)
            yield f"{brief(name)} is not a column of {header.file}{hint}; expected {header.text}"
        elif names.count(name) > 1:
            yield f"the column {name!r} stands there twice"
    for name in header.columns:
        if name not in names and name not in header.may_be_left_out:
            yield f"the column {name!r} is missing; expected the header {header.text}"
