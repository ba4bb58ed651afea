"""Keeps README.md true: its example files, its commands with their exit codes, and their output.

    <!-- file: NAME -->            the code block below is a file that the commands can use
    ```console                     every `$ buildcheck …` line is run; `# ends with 1` states its exit code
    <!-- output of: COMMAND -->    all down to `<!-- end -->` is made from running the command; the marker
    <!-- end -->                   can show a part by the words that its lines start with:
                                   `; from Work`, `; down to Measure`, `; from Work down to Risks`

    <!-- joints -->                all down to `<!-- end -->` is the table of joints (tests/joint_table.py)

`make readme` runs this file and writes the output anew; tests/test_readme.py compares.
"""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import joint_table

ROOT = Path(__file__).resolve().parent.parent
README = ROOT / "README.md"

_FILE = re.compile(r"^<!-- file: (?P<name>\S+) -->\n```\w*\n(?P<text>.*?)^```$", re.M | re.S)
_CONSOLE = re.compile(r"^```console\n(?P<text>.*?)^```$", re.M | re.S)
_OUTPUT = re.compile(
    r"^<!-- output of: (?P<command>[^\n;]+)(?:; (?:from (?P<start>[^\n]+?))? ?(?:down to (?P<stop>[^\n]+))?)? -->\n"
    r".*?^<!-- end -->$",
    re.M | re.S,
)
_JOINTS = re.compile(r"^<!-- joints -->\n.*?^<!-- end -->$", re.M | re.S)
_ENDS = re.compile(r"^\$ (?P<command>buildcheck .*?)(?:\s+# ends with (?P<code>\d))?$")


@dataclass(frozen=True)
class Ran:
    """How a command ended and what it printed."""

    code: int
    out: str
    err: str


class Desk:
    """A folder with the README's example files, to run its commands in."""

    def __init__(self, text: str, folder: Path) -> None:
        self.folder = folder
        for match in _FILE.finditer(text):
            path = folder / match["name"]
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(match["text"], encoding="utf-8")

    @cached_property
    def _environment(self) -> dict[str, str]:
        kept = {name: value for name, value in os.environ.items() if not name.startswith("BUILDCHECK_")}
        path = os.pathsep.join(filter(None, (str(ROOT / "src"), kept.get("PYTHONPATH"))))
        return {**kept, "PYTHONPATH": path, "XDG_CACHE_HOME": str(self.folder / "cache"), "PYTHONUTF8": "1"}

    def run(self, command: str) -> Ran:
        """Run `buildcheck …` in this checkout."""
        words = shlex.split(command)
        if words[0] != "buildcheck":
            raise ValueError(f"only buildcheck is run, not {command!r}")
        done = subprocess.run(
            [sys.executable, "-m", "buildcheck", *words[1:]],
            cwd=self.folder, env=self._environment, stdin=subprocess.DEVNULL,
            capture_output=True, encoding="utf-8", timeout=120,
        )  # fmt: skip
        return Ran(done.returncode, done.stdout, done.stderr)


def commands(text: str) -> list[tuple[str, int]]:
    """Every command of the console blocks with the exit code that is stated, 0 if none is."""
    lines = [line for block in _CONSOLE.finditer(text) for line in block["text"].splitlines() if line.startswith("$ ")]
    found = [_ENDS.match(line) for line in lines]
    return [(match["command"], int(match["code"] or 0)) for match in found if match]


def rewritten(text: str, desk: Desk) -> str:
    """The text with the output of every marked command, and the table of joints, made anew."""
    text = _JOINTS.sub(lambda _: f"<!-- joints -->\n{joint_table.table()}\n<!-- end -->", text)
    return _OUTPUT.sub(lambda match: _block(match, desk.run(match["command"])), text)


def _block(match: re.Match[str], ran: Ran) -> str:
    lines = [line.rstrip() for line in (ran.out or ran.err).splitlines()]
    first = _line(lines, match["start"], 0) if match["start"] else 0
    last = _line(lines, match["stop"], first) if match["stop"] else len(lines)
    shown = "\n".join(lines[first:last]).rstrip().splitlines()
    lines = [*(["…"] if first else []), *shown, *(["…"] if last < len(lines) else [])]
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
    """Write README.md anew."""
    text = README.read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory() as folder:
        new = rewritten(text, Desk(text, Path(folder)))
    README.write_text(new, encoding="utf-8")
    print("README.md: nothing to change" if new == text else "README.md: output written anew")


if __name__ == "__main__":
    main()
