"""The table of catalog/bikes/README.md that lists the bundled bikes."""

from __future__ import annotations

from typing import Any

from buildcheck.library.folders import bundled_folder
from plain_yaml import plain

HEAD = "| bike | what it is | use | parts |\n| --- | --- | --- | --- |"


def table() -> str:
    """One row for each bike, by name."""
    files = sorted((bundled_folder() / "bikes").glob("*.yaml"))
    return "\n".join([HEAD, *(_row(plain(path)) for path in files)])


def _row(bike: dict[str, Any]) -> str:
    return f"| `{bike['bike']}` | {bike['name']} | {bike['use']} | {len(bike['parts'])} |"
