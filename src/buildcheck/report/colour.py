"""The text report in colour, for terminals. The words are the same; colour is never the only sign."""

from __future__ import annotations

from rich.console import Console
from rich.text import Text

from buildcheck.model.report import Report
from buildcheck.report.text import report_lines

_STYLES = {
    "blocked": "bold red", "blocks": "red", "undecided": "bold magenta", "unknown": "magenta",
    "fits-with-extra-work": "bold yellow", "extra": "yellow", "caution": "cyan", "note": "dim",
    "fits": "bold green", "head": "bold", "strong": "bold",
}  # fmt: skip


def print_in_colour(report: Report) -> None:
    """Print the report; text is never read as markup, so names with [brackets] stay as they are."""
    console = Console(soft_wrap=True, highlight=False)
    for line in report_lines(report):
        console.print(Text(line.text, style=_STYLES.get(line.style, "")))
