"""Odd inputs for every reader: files of a bike, parts, tables, texts, stock and times, and the words of the commands.

    python tests/fuzz.py [INPUTS] [--first N] [--workers N]

Each input is a bundled one that was altered, as a tree or as bytes, by chances that its number alone decides: an input
that failed comes again with `--first N 1`. It must end in a record, or in an InputError that tells a place in it;
nothing may be written. Drawing a million inputs takes a driver of its own: a library that shrinks and keeps examples
is many times slower, and one that follows branches seldom gets past the YAML syntax.
"""

from __future__ import annotations

import argparse
import json
import os
import re
import sys
import tempfile
import traceback
from collections import Counter
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from functools import cache
from pathlib import Path
from random import Random
from typing import Any, NamedTuple

from buildcheck.library import catalogue as catalogue_module
from buildcheck.library import texts as texts_module
from buildcheck.library.actuals import actuals_of
from buildcheck.library.bikes import bike_of, load_bike, read_change, set_facts
from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.folders import Content, bundled_folder, catalogue_contents, text_contents
from buildcheck.library.problems import InputError
from buildcheck.library.standards import TABLES, cross_problems, read_tables, standards_from
from buildcheck.library.stock import stock_of
from buildcheck.library.terms import read_terms
from buildcheck.library.yaml_text import read_document
from buildcheck.model.bikes import Bike
from buildcheck.model.texts import TextFile

SHOWN = "fuzzed"
_CHUNK = 2000  # inputs for one process at a time
_MOST_SHOWN = 1000  # bytes
_FEW = 6  # positions or rows of a file: errors do not need the whole of it
_OPTION = re.compile(r"--(fit|take-off|set|rate|keep|exclude)")

_ODD: tuple[Any, ...] = (
    None, True, False, 0, -1, 1, 7, 0.5, -0.0, 1e308, 10**14, "", " ", "unknown", "none", "yes", "5", "1..2", "2..1",
    "1e999..2", "..", "*", "@", "x@y", "a|b", "!none", "{x}", "{", "{0!r:>9}", "a\nb", "\u202e", "é", "🚲", "x" * 300,
    [], {}, [None], [[]], {"": None}, {"id": 1}, ["x", "x"], "frame", "stem", "spacer-2", "wire", "tolverne-alder-100",
)  # fmt: skip
_SNIPPETS = (
    "\n", "  ", "\t", ":", ": ", "- ", ",", ",,", ";", '"', "'", "{", "}", "[", "]", "#", "&a ", "*a", "!!int ", "|\n",
    "\\x1b", '"\\e"', "\x00", "\x1b", "\r", "\u2028", "\ufeff", "---\n", "%YAML 1.1\n", "1e999", "0x", "-", "@", "=",
    "unknown", "null", "parts:", "\ud83d", "9" * 40,
)  # fmt: skip


class Reader(NamedTuple):
    """One sort of input: how often it is drawn, what it is made from, and what reads it."""

    share: int
    seed_of: Callable[[Random], Any]
    read: Callable[[bytes], object]


# ---- the readers ----


@cache
def _catalogue() -> Catalogue:
    return load()


@cache
def _bike() -> Bike:
    return load_bike(Path("allroad-wired"), _catalogue())


@cache
def _files(folder: str) -> list[Any]:
    paths = sorted((bundled_folder() / folder).glob("*.yaml"))
    return [read_document(path.read_bytes(), path.name).value for path in paths]


@cache
def _tables() -> list[tuple[str, list[Any]]]:
    files = [*_files("standards"), *_files("workshop")]
    return [(name, rows) for file in files for name, rows in file.items()]


@cache
def _bundled_tables() -> dict[str, list[Any]]:
    found: dict[str, list[Any]] = {}
    for content in catalogue_contents():
        if content.folder in ("standards", "workshop"):
            read_tables(read_document(content.data, content.shown), 0, found)
    return found


@cache
def _english() -> TextFile:
    return texts_module.texts_from(text_contents("en"))


def _few(rows: Any, random: Random) -> Any:
    if isinstance(rows, dict):
        return {key: rows[key] for key in random.sample(sorted(rows), min(_FEW, len(rows)))}
    return random.sample(rows, min(2, len(rows)))


def _bike_seed(random: Random) -> Any:
    file = random.choice(_files("bikes"))
    return {**file, "parts": _few(file["parts"], random)}


def _parts_seed(random: Random) -> Any:
    return {"parts": _few(random.choice(_files("parts"))["parts"], random)}


def _tables_seed(random: Random) -> Any:
    name, rows = random.choice(_tables())
    return {name: [_renamed(row) for row in _few(rows, random)] if isinstance(rows, list) else rows}


def _renamed(row: Any) -> Any:
    """A row of another name, since that of a bundled one stands there twice."""
    key = next((key for key in ("id", "name") if key in row), None) if isinstance(row, dict) else None
    return row if key is None else {**row, key: f"{row[key]}-too"}


def _texts_seed(random: Random) -> Any:
    file = random.choice(_files("texts"))
    return {name: _few(rows, random) if isinstance(rows, dict) else rows for name, rows in _few(file, random).items()}


def _csv_seed(columns: str, names: Callable[[], list[str]]) -> Callable[[Random], str]:
    def make(random: Random) -> str:
        rows = [f"{name},{random.choice(('1', '0', '12.50', '7'))},{random.choice(('', '3.5'))}" for name in
                random.sample(names(), 3)]  # fmt: skip
        return "\n".join([columns, *rows, ""])

    return make


def _words_seed(random: Random) -> Any:
    part = random.choice(sorted(_catalogue().ids))
    positions = sorted(_bike().fitted)
    return {
        "fit": [f"{part}@{random.choice(positions)}", "wexcombe-hide@saddle"][: random.randint(0, 2)],
        "take-off": [random.choice(positions)], "rate": ["72.50"],
        "set": [f"{random.choice(positions)}.length_mm=100", "stem.angle_deg=-6"],
        "keep": [random.choice(positions)], "exclude": [part],
    }  # fmt: skip


def _read_parts(data: bytes) -> object:
    parts: dict[str, Any] = {}
    shelf = _catalogue()
    catalogue_module._read_parts(data, SHOWN, shelf.words, shelf.openings, shelf.constraints, parts)
    return Catalogue({**shelf._content, "parts": parts}).groups({row["data"]["kind"] for row in parts.values()})


def _read_tables(data: bytes) -> object:
    tables = {name: list(rows) for name, rows in _bundled_tables().items()}
    read_tables(read_document(data, SHOWN), 1, tables)
    problems = [catalogue_module._as_problem(text) for text in cross_problems(tables)]
    if problems:
        raise InputError(problems)
    return standards_from({name: [row for row in rows if row["root"]] or rows[:1] for name, rows in tables.items()})


def _read_words(data: bytes) -> object:
    words = json.loads(data)
    if not (isinstance(words, dict) and all(isinstance(w, list) and all(isinstance(x, str) for x in w)
            for w in words.values())):  # fmt: skip
        return None  # the shell gives texts only
    told = {name: words.get(name, []) for name in ("fit", "take-off", "set", "rate", "keep", "exclude")}
    change = read_change(told["fit"], told["take-off"], _bike(), _catalogue())
    bike = set_facts(_bike(), change, told["set"], _catalogue())
    return read_terms(told, None, change, bike, _catalogue())


READERS = {
    "bike": Reader(30, _bike_seed, lambda data: bike_of(Content(SHOWN, data, "bikes"), _catalogue())),
    "parts": Reader(30, _parts_seed, _read_parts),
    "tables": Reader(2, _tables_seed, _read_tables),
    "texts": Reader(
        10, _texts_seed, lambda data: texts_module._read([Content(SHOWN, data, "texts")], _english())
    ),
    "stock": Reader(
        9, _csv_seed("part,quantity,price_eur", lambda: sorted(_catalogue().ids)),
        lambda data: stock_of(Content(SHOWN, data, "stock"), _catalogue()),
    ),
    "actuals": Reader(
        9, _csv_seed("operation,minutes,job", lambda: sorted(_catalogue().standards.operations)),
        lambda data: actuals_of(Content(SHOWN, data, "actuals"), _catalogue()),
    ),
    "words": Reader(10, _words_seed, _read_words),
}  # fmt: skip


# ---- how they are altered ----


def _places(value: Any) -> Iterator[tuple[Any, Any]]:
    """Each container in a tree with each of its keys or indices."""
    keys = list(value) if isinstance(value, dict) else range(len(value)) if isinstance(value, list) else ()
    for key in keys:
        yield value, key
        yield from _places(value[key])


def altered_tree(value: Any, random: Random) -> Any:
    """The tree with one thing replaced, taken away, told twice, put elsewhere or under another key."""
    value = json.loads(json.dumps(value))
    places = list(_places(value))
    if not places:
        return random.choice(_ODD)
    (into, key), (other, other_key) = random.choice(places), random.choice(places)
    what = random.randrange(5)
    if what == 0:
        into[key] = random.choice(_ODD)
    elif what == 1:
        del into[key]
    elif what == 2:
        into[key] = [into[key], into[key]]
    elif what == 3:
        into[key] = json.loads(json.dumps(other[other_key]))
    elif isinstance(into, dict):
        into[random.choice((str(other_key), str(random.choice(_ODD)), f"{key}-2"))] = into.pop(key)
    else:
        into.insert(key, random.choice(_ODD))
    return value


def altered_bytes(data: bytes, random: Random) -> bytes:
    """The bytes with one piece taken away, told twice, put in or exchanged."""
    at = random.randrange(len(data) + 1)
    piece = data[at : at + random.choice((1, 1, 3, 20))]
    new = random.choice((random.choice(_SNIPPETS).encode("utf-8", "surrogatepass"), bytes([random.randrange(256)])))
    before, after = data[:at], data[at + len(piece) :]
    middle = random.choice((b"", piece + piece, new + piece, new))
    return before + middle + after


def drawn(number: int) -> tuple[str, bytes]:
    """The reader and the input of a number."""
    random = Random(number)
    name = random.choices(list(READERS), [reader.share for reader in READERS.values()])[0]
    value = READERS[name].seed_of(random)
    if not isinstance(value, str):
        for _ in range(random.choice((0, 1, 1, 2, 4))):
            value = altered_tree(value, random)
        value = json.dumps(value, indent=random.choice((None, 1)), ensure_ascii=random.random() < 0.5)
    data: bytes = value.encode("utf-8", "surrogatepass")
    if name != "words":
        for _ in range(random.choice((0, 0, 1, 2))):
            data = altered_bytes(data, random)
    return name, data


# ---- what must come of them ----


def fault(name: str, data: bytes) -> str:
    """What is wrong with how a reader ends on an input; empty where nothing is."""
    try:
        READERS[name].read(data)
    except InputError as error:
        return _fault_of(error, data)
    except Exception:
        return traceback.format_exc()
    return ""


def _fault_of(error: InputError, data: bytes) -> str:
    lines = len(data.splitlines()) + 1
    here = [_OPTION.fullmatch(problem.place.file) or (problem.place.file == SHOWN and 1 <= problem.place.line <= lines)
            for problem in error.problems]  # fmt: skip
    if not any(here):  # a row that stands twice is told at the bundled row too
        return f"no place in the input: {error}"
    return "" if all(line.isprintable() for line in str(error).split("\n")) else f"not printable: {error!r}"


def run_some(numbers: range) -> tuple[Counter[str], list[str]]:
    """How many inputs of each sort were read, and the faults; nothing may be written meanwhile."""
    ran: Counter[str] = Counter()
    found = []
    with tempfile.TemporaryDirectory() as empty:
        _catalogue(), _bike(), _english()
        before = os.getcwd()
        os.chdir(empty)
        try:
            for number in numbers:
                name, data = drawn(number)
                ran[name] += 1
                wrong = fault(name, data)
                if wrong:
                    found.append(f"input {number} ({name}): {data[:_MOST_SHOWN]!r}\n{wrong}")
            found += [f"inputs {numbers} wrote {name}" for name in os.listdir(empty)]
        finally:
            os.chdir(before)
    return ran, found


def main() -> int:
    """Read the inputs, print how many of each sort, and the first faults."""
    parser = argparse.ArgumentParser()
    parser.add_argument("inputs", type=int, nargs="?", default=20_000)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--workers", type=int, default=2)
    asked = parser.parse_args()
    end = asked.first + asked.inputs
    chunks = [range(start, min(start + _CHUNK, end)) for start in range(asked.first, end, _CHUNK)]
    ran: Counter[str] = Counter()
    faults: list[str] = []
    with ProcessPoolExecutor(asked.workers) as pool:
        for counted, found in pool.map(run_some, chunks):
            ran += counted
            faults += found
    print("\n".join(faults[:20]))
    shares = ", ".join(f"{ran[name]:,} {name}" for name in READERS)
    print(f"{ran.total():,} inputs read ({shares}): {len(faults)} faults")
    return 1 if faults or ran.total() != asked.inputs else 0


if __name__ == "__main__":
    assert set(TABLES) >= {name for name, _ in _tables()}
    sys.exit(main())
