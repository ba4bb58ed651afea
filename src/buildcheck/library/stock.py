"""Reading a CSV file of parts in stock: its columns and numbers, then the parts that it names."""

from __future__ import annotations

import re

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.csv_text import Faults, Header, read_rows
from buildcheck.library.folders import Content
from buildcheck.model.quantities import LARGEST, brief
from buildcheck.model.terms import InStock

COLUMNS = ("part", "quantity", "price_eur")
_HEADER = Header(COLUMNS, ("price_eur",), "a stock file")
_COUNT = re.compile(r"[0-9]{1,6}")  # more pieces than that are a price or an article number in the wrong column
_EUROS = re.compile(r"[0-9]{1,7}(?:\.[0-9]+)?")


def stock_of(content: Content, catalogue: Catalogue) -> dict[str, InStock]:
    """The parts in stock by id: how many pieces, and the price of one in euros, 0 where none is given.

    Raises InputError with a line for each problem, up to as many as a person can use.
    """
    reader = _StockReader(catalogue)
    read_rows(content, _HEADER, reader.read)
    return reader.stock


def euros(text: str) -> float | None:
    """A plain number of euros from 0 on, such as 12.50; None for any other text."""
    amount = float(text) if _EUROS.fullmatch(text) else None
    return None if amount is None or amount > LARGEST else amount


class _StockReader:
    """Takes in the rows below the header."""

    def __init__(self, catalogue: Catalogue) -> None:
        self.catalogue = catalogue
        self.stock: dict[str, InStock] = {}
        self.lines: dict[str, int] = {}

    def read(self, line: int, told: dict[str, str]) -> Faults:
        """One row, through both stages."""
        part_id, count, price = told["part"], told["quantity"], euros(told["price_eur"] or "0")
        faults: Faults = [*self._wrong_numbers(told), *self._wrong_part(line, part_id)]
        if not faults and price is not None:
            self.stock[part_id] = InStock(int(count), price)
        return faults

    def _wrong_numbers(self, told: dict[str, str]) -> Faults:
        if not _COUNT.fullmatch(told["quantity"]):
            yield "schema", f"quantity: a whole number from 0 to 999999 is expected, not {brief(told['quantity'])}"
        if euros(told["price_eur"] or "0") is None:
            expected = f"a plain number from 0 to {LARGEST:.0f}, as 12.50, is expected"
            yield "schema", f"price_eur: {expected}, not {brief(told['price_eur'])}"

    def _wrong_part(self, line: int, part_id: str) -> Faults:
        """Nothing, if the row names a part of the catalogue that no row above has named."""
        if part_id not in self.catalogue:
            text = f"no part {brief(part_id)} in the catalogue{self.catalogue.suggest(part_id)}" if part_id else ""
            yield "meaning", text or "part: the id of a part of the catalogue is missing"
            return
        first = self.lines.setdefault(part_id, line)
        if first != line:
            yield "meaning", f"the part {part_id!r} stands already in line {first}"
