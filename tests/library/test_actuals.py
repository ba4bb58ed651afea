"""Files of actual times: what a good one says, each broken one refused at its line, nothing that crashes the reader."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.actuals import COLUMNS, LONGEST_MIN, actuals_of
from buildcheck.library.folders import Content, actuals_content
from buildcheck.library.problems import InputError
from laws.bench import catalogue

IDS = sorted(catalogue().standards.operations)


def read(data: str | bytes) -> dict[str, tuple[float, ...]]:
    content = Content("actuals.csv", data.encode() if isinstance(data, str) else data, "actuals")
    return actuals_of(content, catalogue())


GOOD = {"fit-stem": (8.0, 9.5), "take-off-stem": (3.0,)}


@pytest.mark.parametrize(
    "data",
    [
        "operation,minutes\nfit-stem,8\ntake-off-stem,3\nfit-stem,9.5\n",
        "operation,minutes,job\nfit-stem,8,monday\ntake-off-stem,3\nfit-stem,9.50,\n",
        "\ufeffjob,minutes,operation\r\n1,8,fit-stem\r\n1,3.0,take-off-stem@stem\r\n2,9.5,fit-stem@stem\r\n",
        "operation,minutes\nfit-stem,8\ntake-off-stem@spacer-7,3\n\nfit-stem@handlebar,9.5\n",
    ],
    ids=["plain", "with jobs", "as a spreadsheet writes it", "as the card names them"],
)
def test_one_record_written_in_many_ways(data: str) -> None:
    assert read(data) == GOOD


def test_a_file_is_opened_where_it_is(tmp_path: Path) -> None:
    (tmp_path / "a.csv").write_text("operation,minutes\nfit-stem,8\n")
    assert actuals_of(actuals_content(tmp_path / "a.csv"), catalogue()) == {"fit-stem": (8.0,)}
    assert read("minutes,operation\n") == {}
    with pytest.raises(InputError, match="the file cannot be read"):
        actuals_content(tmp_path / "none.csv")


H = "operation,minutes\n"
EXPECTED = f"minutes: a plain number above 0 and up to {LONGEST_MIN}, as 7.5, is expected, not"
BROKEN: dict[str, tuple[str, list[str]]] = {
    "empty": ("", ["1:1: schema: the file is empty: expected the header operation,minutes,job"]),
    "semicolons": ("operation;minutes\n", ["1:1: schema: the header is 'operation;minutes': expected operation,"]),
    "wrong column": ("operation,minute\n", [
        "1:1: schema: 'minute' is not a column of a file of actual times — did you mean \"minutes\"?",
        "1:1: schema: the column 'minutes' is missing; expected the header operation,minutes,job",
    ]),
    "unknown operation": (f"{H}fit-stm,4\n", [
        "2:1: meaning: no operation 'fit-stm' in the workshop's table — did you mean \"fit-stem\"?",
    ]),
    "no operation": (f"{H},4\n@stem,4\n", [
        "2:1: meaning: operation: the id of an operation", "3:1: meaning: operation: the id of an operation",
    ]),
    "unknown position": (f"{H}fit-stem@sten,4\nfit-stem@,4\n", [
        "2:1: meaning: no position 'sten' — did you mean \"stem\"?", "3:1: meaning: no position ''",
    ]),
    "no time": (f"{H}fit-stem\nfit-stem,0\nfit-stem,-2\nfit-stem,1e3\nfit-stem,0:20\nfit-stem,nan\n", [
        f"{line}:1: schema: {EXPECTED}" for line in range(2, 8)
    ]),
    "seconds": (f"{H}fit-stem,6000.5\n", [f"2:1: schema: {EXPECTED} '6000.5'"]),
    "decimal comma": (f"{H}fit-stem,7,5\n", ["2:1: schema: 3 cells stand here under 2 columns: is it a decimal comma"]),
    "all at once": (f"{H}none,x\n", [f"2:1: schema: {EXPECTED}", "2:1: meaning: no operation 'none'"]),
    "open quotation mark": (f'{H}fit-stem,"4\n', ["2:1: syntax: the row that begins here cannot"]),
}  # fmt: skip


@pytest.mark.parametrize(("data", "messages"), BROKEN.values(), ids=BROKEN)
def test_a_broken_file_is_refused_at_its_line(data: str, messages: list[str]) -> None:
    with pytest.raises(InputError) as error:
        read(data)
    lines = str(error.value).splitlines()
    assert len(lines) == len(messages), lines
    for line, message in zip(lines, messages, strict=True):
        assert line.startswith(f"actuals.csv:{message}"), line


CELLS = st.one_of(st.sampled_from([*IDS[:3], "fit-stem@stem", "", "4", "0", "1e5", '"', *COLUMNS]), st.text(max_size=5))


@given(st.lists(st.lists(CELLS, max_size=4), max_size=6), st.booleans())
def test_no_rows_crash_the_reader(rows: list[list[str]], header: bool) -> None:
    text = "\n".join(",".join(row) for row in ([list(COLUMNS)] if header else []) + rows)
    try:
        found = read(text.encode("utf-8", "surrogatepass"))
    except InputError as error:
        assert all(str(problem).isprintable() for problem in error.problems)  # noqa: PT017
    else:
        assert found.keys() <= set(IDS)
        assert all(0 < each <= LONGEST_MIN for minutes in found.values() for each in minutes)
