"""Stock files: what a good one says, each broken one refused at its line, and nothing that crashes the reader."""

from __future__ import annotations

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.library.folders import LARGEST_FILE, Content
from buildcheck.library.problems import InputError
from buildcheck.library.stock import COLUMNS, euros, stock_of
from buildcheck.library.yaml_text import MOST_PROBLEMS
from buildcheck.model.quantities import LARGEST
from buildcheck.model.terms import InStock
from laws.bench import catalogue

SHIM, STEM = "tolverne-shim-260-254", "tolverne-alder-100"
IDS = sorted(catalogue().ids)


def read(data: str | bytes) -> dict[str, InStock]:
    return stock_of(Content("stock.csv", data.encode() if isinstance(data, str) else data, "stock"), catalogue())


def refused(data: str | bytes) -> list[str]:
    with pytest.raises(InputError) as error:
        read(data)
    return str(error.value).splitlines()


GOOD = {SHIM: InStock(2, 0.0), STEM: InStock(0, 31.5)}


@pytest.mark.parametrize(
    "data",
    [
        f"part,quantity,price_eur\n{SHIM},2,\n{STEM},0,31.5\n",
        f"part,quantity,price_eur\n{SHIM},2\n{STEM},0,31.50",
        f"price_eur,part,quantity\n0,{SHIM},2\n31.5,{STEM},0\n",
        f"\ufeffpart,quantity,price_eur\r\n{SHIM},2,0.00\r\n{STEM},0,31.5\r\n",
        f"\n part , quantity,price_eur\n\n{STEM} ,  0, 31.5\n,,\n{SHIM},002,\n   \n",
        f'"part","quantity","price_eur"\n"{SHIM}","2",""\n"{STEM}","0","31.5"\n',
        f"part,quantity,price_eur\r{SHIM},2\r{STEM},0,31.5\r",
    ],
    ids=["plain", "short rows", "other order", "as a spreadsheet writes it", "blanks", "quoted", "old line ends"],
)
def test_one_stock_written_in_many_ways(data: str) -> None:
    assert read(data) == GOOD


def test_the_price_may_be_left_out_and_the_shop_be_empty() -> None:
    assert read(f"part,quantity\n{SHIM},2\n") == {SHIM: InStock(2, 0.0)}
    assert read("quantity,part\n") == {}


@given(st.dictionaries(st.sampled_from(IDS), st.tuples(st.integers(0, 999_999), st.integers(0, 10**8))))
def test_what_is_written_is_read(pieces: dict[str, tuple[int, int]]) -> None:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(COLUMNS)
    writer.writerows((part, count, f"{cents / 100:.2f}") for part, (count, cents) in pieces.items())
    assert read(text.getvalue()) == {part: InStock(count, cents / 100) for part, (count, cents) in pieces.items()}


H = "part,quantity,price_eur\n"
BROKEN: dict[str, tuple[str | bytes, list[str]]] = {
    "empty": ("", ["1:1: schema: the file is empty: expected the header part,quantity,price_eur"]),
    "blank": ("\n ,\n\n", ["1:1: schema: the file is empty"]),
    "no header": (f"{SHIM},2,1\n", [
        f"1:1: schema: '{SHIM}' is not a column", "1:1: schema: '2' is not a column", "1:1: schema: '1' is not a",
        "1:1: schema: the column 'part' is missing", "1:1: schema: the column 'quantity' is missing",
    ]),
    "semicolons": ("part;quantity\nx;1\n", ["1:1: schema: the header is 'part;quantity': expected part,quantity"]),
    "tabs": ("part\tquantity\n", ["1:1: schema: the header is 'part\\tquantity': expected part,quantity"]),
    "wrong column": ("\npart,quantity,prise_eur\n", [
        "2:1: schema: 'prise_eur' is not a column of a stock file — did you mean \"price_eur\"?",
    ]),
    "column in capitals": ("Part,quantity\n", [
        "1:1: schema: 'Part' is not a column of a stock file — did you mean \"part\"?",
        "1:1: schema: the column 'part' is missing; expected the header part,quantity,price_eur",
    ]),
    "column without a name": ("part,quantity,\n", ["1:1: schema: '' is not a column of a stock file"]),
    "column twice": ("part,quantity,part\n", ["1:1: schema: the column 'part' stands there twice"]),
    "column missing": ("part,price_eur\n", ["1:1: schema: the column 'quantity' is missing"]),
    "no quantity": (f"{H}{SHIM}\n{STEM},,3\n", [
        "2:1: schema: quantity: a whole number from 0 to 999999 is expected, not ''", "3:1: schema: quantity: ",
    ]),
    "half a piece": (f"{H}{SHIM},1.5\n", ["2:1: schema: quantity: a whole number from 0 to 999999 is expected"]),
    "fewer than none": (f"{H}{SHIM},-1\n", ["2:1: schema: quantity: "]),
    "a word": (f"{H}{SHIM},many\n", ["2:1: schema: quantity: a whole number from 0 to 999999 is expected"]),
    "other digits": (f"{H}{SHIM},\u0663,\u0663\n", ["2:1: schema: quantity: ", "2:1: schema: price_eur: "]),
    "far too many": (f"{H}{SHIM},{'9' * 5000}\n", ["2:1: schema: quantity: "]),
    "negative price": (f"{H}{SHIM},1,-3\n", [
        "2:1: schema: price_eur: a plain number from 0 to 1000000, as 12.50, is expected, not '-3'",
    ]),
    "price with a unit": (f"{H}{SHIM},1,3 EUR\n", ["2:1: schema: price_eur: "]),
    "price that is none": (f"{H}{SHIM},1,nan\n{STEM},1,inf\n", [
        "2:1: schema: price_eur: ", "3:1: schema: price_eur: ",
    ]),
    "price of a house": (f"{H}{SHIM},1,1000001\n", ["2:1: schema: price_eur: "]),
    "decimal comma": (f"{H}{SHIM},1,12,50\n", [
        "2:1: schema: 4 cells stand here under 3 columns: is it a decimal comma? Write 12.50",
    ]),
    "quoted decimal comma": (f'{H}{SHIM},1,"12,50"\n', ["2:1: schema: price_eur: "]),
    "no such part": (f"{H}tolverne-shim-260-25,1\n", [
        f"2:1: meaning: no part 'tolverne-shim-260-25' in the catalogue — did you mean \"{SHIM}\"?",
    ]),
    "no part": (f"{H},1\n", ["2:1: meaning: part: the id of a part of the catalogue is missing"]),
    "part over two lines": (f'{H}"a\nb",1\n{SHIM},x\n', [
        "2:1: meaning: no part 'a\\nb' in the catalogue", "4:1: schema: quantity: ",
    ]),
    "part twice": (f"{H}{SHIM},1\n\n{STEM},1\n{SHIM},2\n", [
        f"5:1: meaning: the part '{SHIM}' stands already in line 2",
    ]),
    "part twice, wrong at first": (f"{H}{SHIM},x\n{SHIM},2\n", [
        "2:1: schema: quantity: ", f"3:1: meaning: the part '{SHIM}' stands already in line 2",
    ]),
    "all at once": (f"{H}{SHIM},x,y\n{STEM},1\nnone,1,-1\n", [
        "2:1: schema: quantity: ", "2:1: schema: price_eur: ",
        "4:1: schema: price_eur: ", "4:1: meaning: no part 'none'",
    ]),
    "open quotation mark": (f'{H}{STEM},1\n{SHIM},"1\n', ["3:1: syntax: the row that begins here cannot"]),
    "text after a quotation mark": (f'{H}"{SHIM}"x,1\n', ["2:1: syntax: the row that begins here cannot"]),
    "endless cell": (H + '"' + "x\n" * 70_000 + '",1\n', ["2:1: syntax: the row that begins here cannot"]),
    "control character": (f"{H}{SHIM}\x1b[31m,1\n", ["2:22: syntax: U+001B is a control character"]),
    "another encoding": (f"{H}{SHIM},1\nstütze,1\n".encode("latin-1"), ["3:3: syntax: byte 0xfc is not UTF-8"]),
    "UTF-16": (H.encode("utf-16"), ["1:1: syntax: the file is in UTF-16"]),
    "too large": (b"x" * (LARGEST_FILE + 1), ["1:1: syntax: the file is larger than 2 MB"]),
}  # fmt: skip


@pytest.mark.parametrize(("data", "messages"), BROKEN.values(), ids=BROKEN)
def test_a_broken_file_is_refused_at_its_line(data: str | bytes, messages: list[str]) -> None:
    lines = refused(data)
    assert len(lines) == len(messages), lines
    for line, message in zip(lines, messages, strict=True):
        assert line.startswith(f"stock.csv:{message}"), line
        assert line.isprintable()
        assert len(line) < 300


def test_a_file_that_is_wrong_throughout_is_not_told_line_by_line() -> None:
    assert MOST_PROBLEMS <= len(refused(H + "x,y,z\n" * 10_000)) <= MOST_PROBLEMS + 3


def hold_to_the_law(data: str | bytes) -> None:
    """A file is a stock with sound numbers of known parts, or it is refused in printable lines."""
    try:
        stock = read(data)
    except InputError as error:
        problems = error.problems
        stock = {}
    else:
        problems = ()
    assert all(str(problem).isprintable() and problem.place.line >= 1 for problem in problems)
    for part_id, pieces in stock.items():
        assert part_id in catalogue()
        assert pieces.quantity >= 0
        assert 0 <= pieces.price_eur <= LARGEST


@given(st.one_of(st.binary(), st.text().map(lambda text: text.encode("utf-8", "surrogatepass"))))
def test_no_bytes_crash_the_reader(data: bytes) -> None:
    hold_to_the_law(data)
    hold_to_the_law(H.encode() + data)


CELLS = st.one_of(
    st.sampled_from([SHIM, STEM, "", "1", "-1", "2.5", "1e5", '"', "x" * 70, *COLUMNS]), st.text(max_size=5)
)


@given(st.lists(st.lists(CELLS, max_size=5), max_size=6), st.sampled_from(["\n", "\r\n", "\r"]), st.booleans())
def test_no_rows_crash_the_reader(rows: list[list[str]], end: str, header: bool) -> None:
    text = end.join(",".join(row) for row in ([list(COLUMNS)] if header else []) + rows)
    hold_to_the_law(text.encode("utf-8", "surrogatepass"))


@given(st.text(max_size=12))
def test_euros_are_plain_numbers(text: str) -> None:
    amount = euros(text)
    assert amount is None or (0 <= amount <= LARGEST and amount == float(text))
    assert euros("-" + text) is None
    assert euros(text + " EUR") is None
