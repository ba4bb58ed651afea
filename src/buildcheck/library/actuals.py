"""Reading a CSV file of what bench work really took: one row for each time that an operation was done."""

from __future__ import annotations

import re

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.csv_text import Faults, Header, read_rows
from buildcheck.library.folders import Content
from buildcheck.library.problems import did_you_mean
from buildcheck.model.quantities import brief
from buildcheck.model.standards import Standards

COLUMNS = ("operation", "minutes", "job")
LONGEST_MIN = 6000  # a hundred hours at one operation are seconds, or a sum
_HEADER = Header(COLUMNS, ("job",), "a file of actual times")
_MINUTES = re.compile(r"[0-9]{1,5}(?:\.[0-9]+)?")


def actuals_of(content: Content, catalogue: Catalogue) -> dict[str, tuple[float, ...]]:
    """What each operation really took, in minutes, in the order of the file.

    An operation is named by its id in the workshop's table, or as the job card names it, with its position after an
    @. `job` is for the reader alone. Raises InputError with a line for each problem.
    """
    found: dict[str, list[float]] = {}

    def take(line: int, told: dict[str, str]) -> Faults:
        faults = [*_wrong_minutes(told["minutes"]), *_wrong_operation(told["operation"], catalogue.standards)]
        if not faults:
            found.setdefault(told["operation"].partition("@")[0], []).append(float(told["minutes"]))
        return faults

    read_rows(content, _HEADER, take)
    return {operation: tuple(minutes) for operation, minutes in found.items()}


def _wrong_minutes(text: str) -> Faults:
    if not (_MINUTES.fullmatch(text) and 0 < float(text) <= LONGEST_MIN):
        expected = f"a plain number above 0 and up to {LONGEST_MIN}, as 7.5, is expected"
        yield "schema", f"minutes: {expected}, not {brief(text)}"


def _wrong_operation(text: str, standards: Standards) -> Faults:
    operation, at, position = text.partition("@")
    if not operation:
        yield "meaning", "operation: the id of an operation of the workshop is missing"
    elif operation not in standards.operations:
        hint = did_you_mean(operation, standards.operations)
        yield "meaning", f"no operation {brief(operation)} in the workshop's table{hint}"
    elif at and standards.position(position) is None:
        yield "meaning", f"no position {brief(position)}{did_you_mean(position, standards.positions)}"
