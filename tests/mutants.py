"""What `make mutants` runs: small changes of the code that some test is to notice (mutmut; see pyproject.toml).

SAMPLE=200 tries so many of them, drawn by SEED, and PACKAGE=trade those of one package; without, all are tried,
which takes hours. What was tried before is not tried again unless it is drawn. All is written into mutants/.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from random import Random

from mutmut.__main__ import copy_also_copy_files, copy_src_dir, create_mutants, setup_source_paths, status_by_exit_code

ROOT = Path(__file__).parent.parent
_TEXT = re.compile(r'"[^"]*"|\bNone\b')
# A mutant that runs without end is noticed, too.
KILLED = ("killed", "timeout", "segfault")


def made() -> dict[str, int | None]:
    """Every mutant with the exit code of its tests, None where it was not tried."""
    files = sorted((ROOT / "mutants" / "src").rglob("*.py.meta"))
    found = [json.loads(file.read_text(encoding="utf-8"))["exit_code_by_key"] for file in files]
    return {name: code for codes in found for name, code in codes.items()}


def words_only(name: str) -> bool:
    """Does a mutant change nothing but a text, such as the name of a size in the message of an error?"""
    show = [sys.executable, "-m", "mutmut", "show", name]
    lines = subprocess.run(show, capture_output=True, text=True, check=True).stdout.splitlines()
    was, now = (
        [_TEXT.sub("''", line[1:]) for line in lines if line.startswith(sign) and not line.startswith(3 * sign)]
        for sign in "-+"
    )
    return was == now


def report(codes: Mapping[str, int | None]) -> None:
    """The share killed in each package, and which mutants no test noticed."""
    counts: dict[str, Counter[str]] = {}
    for name, code in sorted(codes.items()):
        status = status_by_exit_code[code]
        if status == "survived" and words_only(name):
            status = "of words only"
        counts.setdefault(name.split(".")[1], Counter())["killed" if status in KILLED else status] += 1
        if code is not None and status not in (*KILLED, "of words only"):
            print(f"{status}: {name}")
    for package, count in counts.items():
        tried = count.total() - count["not checked"] - count["of words only"]
        share = f"{count['killed'] / tried:.1%}" if tried else "none"
        rest = ", ".join(f"{number} {status}" for status, number in count.items() if status != "killed")
        print(f"{package}: {share} of {tried} tried were killed ({rest or 'none left'})")


def main() -> int:
    sample, seed, package = (os.environ.get(name, "") for name in ("SAMPLE", "SEED", "PACKAGE"))
    workers = os.environ.get("WORKERS") or "2"
    os.chdir(ROOT)
    (ROOT / "mutants").mkdir(exist_ok=True)
    copy_src_dir()
    copy_also_copy_files()
    setup_source_paths()
    create_mutants(int(workers))
    names = [name for name in made() if name.split(".")[1] == package or not package]
    drawn = sorted(Random(int(seed or 1)).sample(names, min(int(sample), len(names)))) if sample else names
    asked = drawn if sample else [f"buildcheck.{package}.*"] if package else []
    done = subprocess.run([sys.executable, "-m", "mutmut", "run", "--max-children", workers, *asked], check=False)
    codes = made()
    report({name: codes[name] for name in drawn})
    return done.returncode


if __name__ == "__main__":
    sys.exit(main())
