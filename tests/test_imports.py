"""What a command does without: the libraries that take longer to import than the command has time."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

# `does` is what shows that the answer was worked out here.
CODE = """
import sys
from buildcheck.__main__ import main
*asked, does, without = sys.argv[1:]
sys.argv[1:] = asked
try:
    main()
except SystemExit as end:
    assert end.code in (0, 1), end.code
assert does in sys.modules, does
found = set(without.split()) & set(sys.modules)
assert not found, found
"""
CHECK = ("check", "allroad-wired")
SWAP = ("swap", "city-rim", "--fit", "tolverne-lantern-100")
JOB = ("job", "city-rim", "--fit", "tolverne-lantern-100")


@pytest.mark.parametrize(
    ("asked", "does", "without"),
    [
        (("--help",), "typer", "pydantic networkx yaml"),
        (CHECK, "buildcheck.rules", "networkx pysat numpy scipy babel jinja2 svg rich buildcheck.work.plan"),
        (SWAP, "buildcheck.work.plan", "networkx numpy scipy babel jinja2 svg rich"),
        (JOB, "numpy", "networkx scipy jinja2 svg rich"),
        ((*JOB, "--format", "html"), "networkx", "scipy rich"),
    ],
)
def test_what_a_command_does_without(asked: tuple[str, ...], does: str, without: str, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", CODE, *asked, does, without],
        env={**os.environ, "XDG_CACHE_HOME": str(tmp_path)}, capture_output=True, text=True, timeout=120,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
