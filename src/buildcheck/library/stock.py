"""Reading a CSV file of parts in stock: its text, then its columns and numbers, then the parts that it names."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import Content
from buildcheck.library.problems import InputError, Place, Problem, Stage, did_you_mean
from buildcheck.library.yaml_checks import checked
from buildcheck.library.yaml_text import MOST_PROBLEMS
from buildcheck.model.quantities import LARGEST, brief
from buildcheck.model.terms import InStock

COLUMNS = ("part", "quantity", "price_eur")
_HEADER = ",".join(COLUMNS)
_MAY_BE_LEFT_OUT = ("price_eur",)
_COUNT = re.compile(r"[0-9]{1,6}")  # more pieces than that are a price or an article number in the wrong column
_EUROS = re.compile(r"[0-9]{1,7}(?:\.[0-9]+)?")


def stock_of(content: Content, catalogue: Catalogue) -> dict[str, InStock]:
    """The parts in stock by id: how many pieces, and the price of one in euros, 0 where none is given.

    Raises InputError with a line for each problem, up to as many as a person can use.
    """
    rows = _rows(checked(content.data, content.shown), content.shown)
    names = _columns(rows, content.shown)
    reader = _StockReader(content.shown, names, catalogue)
    for line, cells in rows[1:]:
        reader.read(line, cells)
        if len(reader.problems) >= MOST_PROBLEMS:
            break
    if reader.problems:
        raise InputError(reader.problems)
    return reader.stock


def euros(text: str) -> float | None:
    """A plain number of euros from 0 on, such as 12.50; None for any other text."""
    amount = float(text) if _EUROS.fullmatch(text) else None
    return None if amount is None or amount > LARGEST else amount


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
        raise InputError([Problem(Place(file, line, 1), why, "syntax")]) from None
    return [row for row in rows if any(row[1])]


def _columns(rows: list[tuple[int, list[str]]], file: str) -> list[str]:
    """The names in the first row. Raises InputError if they are not those of a stock file."""
    if not rows:
        raise InputError([Problem(Place(file, 1, 1), f"the file is empty: expected the header {_HEADER}", "schema")])
    line, names = rows[0]
    problems = [Problem(Place(file, line, 1), text, "schema") for text in _wrong_columns(names)]
    if problems:
        raise InputError(problems)
    return names


def _wrong_columns(names: list[str]) -> Iterator[str]:
    if len(names) == 1 and re.search(r"[;\t|]", names[0]):
        yield f"the header is {brief(names[0])}: expected {_HEADER}, with commas between the columns"
        return
    for name in dict.fromkeys(names):
        if name not in COLUMNS:
            yield f"{brief(name)} is not a column of a stock file{did_you_mean(name, COLUMNS)}; expected {_HEADER}"
        elif names.count(name) > 1:
            yield f"the column {name!r} stands there twice"
    for name in COLUMNS:
        if name not in names and name not in _MAY_BE_LEFT_OUT:
            yield f"the column {name!r} is missing; expected the header {_HEADER}"


class _StockReader:
    """Takes in the rows below the header; gathers every problem."""

    def __init__(self, file: str, names: list[str], catalogue: Catalogue) -> None:
        self.file, self.names, self.catalogue = file, names, catalogue
        self.stock: dict[str, InStock] = {}
        self.problems: list[Problem] = []
        self.lines: dict[str, int] = {}

    def read(self, line: int, cells: list[str]) -> None:
        """One row, through both stages."""
        if len(cells) > len(self.names):
            text = f"{len(cells)} cells stand here under {len(self.names)} columns: is it a decimal comma? Write 12.50"
            self._refuse(line, text, "schema")
            return
        told = {**dict.fromkeys(COLUMNS, ""), **dict(zip(self.names, cells, strict=False))}
        count, price = told["quantity"], euros(told["price_eur"] or "0")
        if not _COUNT.fullmatch(count):
            text = f"quantity: a whole number from 0 to 999999 is expected, not {brief(count)}"
            self._refuse(line, text, "schema")
        if price is None:
            text = f"price_eur: a plain number from 0 to {LARGEST:.0f}, as 12.50, is expected, not "
            self._refuse(line, text + brief(told["price_eur"]), "schema")
        if self._is_named(line, told["part"]) and _COUNT.fullmatch(count) and price is not None:
            self.stock[told["part"]] = InStock(int(count), price)

    def _is_named(self, line: int, part_id: str) -> bool:
        """Does the row name a part of the catalogue that no row above has named?"""
        if part_id not in self.catalogue:
            text = f"no part {brief(part_id)} in the catalogue{self.catalogue.suggest(part_id)}" if part_id else ""
            self._refuse(line, text or "part: the id of a part of the catalogue is missing", "meaning")
            return False
        first = self.lines.setdefault(part_id, line)
        if first != line:
            self._refuse(line, f"the part {part_id!r} stands already in line {first}", "meaning")
        return first == line

    def _refuse(self, line: int, text: str, stage: Stage) -> None:
        self.problems.append(Problem(Place(self.file, line, 1), text, stage))
