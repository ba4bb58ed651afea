"""The tables of catalog/bikes/README.md and catalog/outlines/README.md that list the bundled bikes and outlines."""

from __future__ import annotations

from itertools import takewhile
from pathlib import Path
from typing import Any

from buildcheck.library.folders import OUTLINE, bundled_folder
from plain_yaml import plain

HEAD = "| bike | what it is | use | parts |\n| --- | --- | --- | --- |"


def table() -> str:
    """One row for each bike, by name."""
    files = sorted((bundled_folder() / "bikes").glob("*.yaml"))
    return "\n".join([HEAD, *(_row(plain(path)) for path in files)])


def _row(bike: dict[str, Any]) -> str:
    return f"| `{bike['bike']}` | {bike['name']} | {bike['use']} | {len(bike['parts'])} |"


def outlines() -> str:
    """One row for each outline, by name: what the comment at its head tells, and what it is like."""
    rows = [
        f"| `{OUTLINE}{path.stem}` | {_head(path)} | {plain(path).get('like', '')} |"
        for path in sorted((bundled_folder() / "outlines").glob("*.yaml"))
    ]
    return "\n".join(["| outline | what it is | like |\n| --- | --- | --- |", *rows])


def _head(path: Path) -> str:
    """The comment at the head of a file, in one line."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return " ".join(line.removeprefix("# ") for line in takewhile(lambda line: line.startswith("#"), lines))
