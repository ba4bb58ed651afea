"""Keeps README.md and the README.md of each catalogue folder true: files, commands with exit codes, output, tables.

    <!-- file: NAME -->            the code block below is a file that the commands of all documents can use
    ```console                     every `$ buildcheck …` line is run; `# ends with 1` states its exit code
    <!-- output of: COMMAND -->    all down to `<!-- end -->` is made from running the command; the marker
    <!-- end -->                   can show a part by the words that its lines start with:
                                   `; from Work`, `; down to Measure`, `; from Work down to Risks`

    <!-- table of joints -->       all down to `<!-- end -->` is a table made from the catalogue: the joints
                                   (tests/joint_table.py) or the bundled bikes (tests/bike_table.py)

A new README.md in a folder of the catalogue is found by itself. `make readme` runs this file and writes the output
again; tests/test_readme.py compares.
"""

from __future__ import annotations

import contextlib
import os
import re
import shlex
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Iterator
from pathlib import Path
from unittest import mock

import bike_table
import joint_table
from command import Ran, run

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"
DOCUMENTS = (README, *sorted((ROOT / "catalog").rglob("README.md")))
TABLES = {"joints": joint_table.table, "bikes": bike_table.table, "outlines": bike_table.outlines}

_FILE = re.compile(r"^<!-- file: (?P<name>\S+) -->\n```\w*\n(?P<text>.*?)^```$", re.M | re.S)
_CONSOLE = re.compile(r"^```console\n(?P<text>.*?)^```$", re.M | re.S)
_OUTPUT = re.compile(
    r"^<!-- output of: (?P<command>[^\n;]+)(?:; (?:from (?P<start>[^\n]+?))? ?(?:down to (?P<stop>[^\n]+))?)? -->\n"
    r".*?^<!-- end -->$",
    re.M | re.S,
)
_TABLE = re.compile(r"^<!-- table of (?P<name>\w+) -->\n.*?^<!-- end -->$", re.M | re.S)
_ENDS = re.compile(r"^\$ (?P<command>buildcheck .*?)(?:\s+# ends with (?P<code>\d))?$")


# As wide as where there is no terminal; in the test's own process help would else be as wide as the developer's.
_COLUMNS = "80"


class Desk:
    """A folder with the example files of some documents, to run their commands in."""

    def __init__(self, texts: Iterable[str], folder: Path) -> None:
        self.folder = folder
        self._ran: dict[str, Ran] = {}
        for name, content in files(texts).items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(content, encoding="utf-8")

    def run(self, command: str) -> Ran:
        """Run `buildcheck …` in this checkout, once however often the documents name it."""
        if command not in self._ran:
            with self._surroundings():
                self._ran[command] = run(*_arguments(command))
        return self._ran[command]

    def run_as_process(self, command: str) -> Ran:
        """The same by a process of its own, as a reader would."""
        with self._surroundings():
            path = os.pathsep.join(filter(None, (str(ROOT / "src"), os.environ.get("PYTHONPATH"))))
            done = subprocess.run(
                [sys.executable, "-m", "buildcheck", *_arguments(command)],
                env={**os.environ, "PYTHONPATH": path, "PYTHONUTF8": "1"}, stdin=subprocess.DEVNULL,
                capture_output=True, encoding="utf-8", timeout=120,
            )  # fmt: skip
        return Ran(done.returncode, done.stdout, done.stderr)

    @contextlib.contextmanager
    def _surroundings(self) -> Iterator[None]:
        """What a command sees of the world: the folder, and no settings of whoever runs it."""
        kept = {name: value for name, value in os.environ.items() if not name.startswith("BUILDCHECK_")}
        with contextlib.chdir(self.folder), mock.patch.dict(os.environ, {**kept, "COLUMNS": _COLUMNS}, clear=True):
            yield


def _arguments(command: str) -> list[str]:
    program, *arguments = shlex.split(command)
    if program != "buildcheck":
        raise ValueError(f"only buildcheck is run, not {command!r}")
    return arguments


def shown(path: Path) -> str:
    """The path of a document as messages name it."""
    return path.relative_to(ROOT).as_posix()


def files(texts: Iterable[str]) -> dict[str, str]:
    """The example files by name. Two documents cannot each have one of the same name."""
    found: dict[str, str] = {}
    for match in (match for text in texts for match in _FILE.finditer(text)):
        if match["name"] in found:
            raise ValueError(f"there are two example files {match['name']!r}")
        found[match["name"]] = match["text"]
    return found


def commands(text: str) -> list[tuple[str, int]]:
    """Every command of the console blocks with the exit code that is stated, 0 if none is."""
    lines = [line for block in _CONSOLE.finditer(text) for line in block["text"].splitlines() if line.startswith("$ ")]
    found = [_ENDS.match(line) for line in lines]
    return [(match["command"], int(match["code"] or 0)) for match in found if match]


def rewritten(text: str, desk: Desk) -> str:
    """The text with the output of every marked command, and every table, made again."""
    text = _TABLE.sub(lambda match: f"<!-- table of {match['name']} -->\n{TABLES[match['name']]()}\n<!-- end -->", text)
    return _OUTPUT.sub(lambda match: _block(match, desk.run(match["command"])), text)


def _block(match: re.Match[str], ran: Ran) -> str:
    lines = [line.rstrip() for line in (ran.out or ran.err).splitlines()]
    first = _line(lines, match["start"], 0) if match["start"] else 0
    last = _line(lines, match["stop"], first) if match["stop"] else len(lines)
    part = "\n".join(lines[first:last]).rstrip().splitlines()
    lines = [*(["…"] if first else []), *part, *(["…"] if last < len(lines) else [])]
    body = "\n".join([f"$ {match['command']}", *lines, f"(ends with {ran.code})"])
    marker = match[0].partition("\n")[0]
    return f"{marker}\n```text\n{body}\n```\n<!-- end -->"


def _line(lines: list[str], start: str, first: int) -> int:
    """The first line, from one on, that starts with these words."""
    pattern = re.compile(rf"{re.escape(start)}(?![\w:])")
    found = next((at for at in range(first, len(lines)) if pattern.match(lines[at].lstrip())), None)
    if found is None:
        raise ValueError(f"no line of the output starts with {start!r}")
    return found


def main() -> None:
    """Write the output in all documents again."""
    texts = {path: path.read_text(encoding="utf-8") for path in DOCUMENTS}
    with tempfile.TemporaryDirectory() as folder, mock.patch.dict(os.environ, {"XDG_CACHE_HOME": f"{folder}/cache"}):
        desk = Desk(texts.values(), Path(folder))
        for path, text in texts.items():
            new = rewritten(text, desk)
            path.write_text(new, encoding="utf-8")
            print(f"{shown(path)}: {'nothing to change' if new == text else 'output written again'}")


if __name__ == "__main__":
    main()
