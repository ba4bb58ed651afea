"""The text report in colour, for terminals. The words are the same; colour is never the only sign."""

from __future__ import annotations

import shutil
from collections.abc import Iterable

from rich.console import Console
from rich.text import Text

_STYLES = {
    "blocked": "bold red", "blocks": "red", "undecided": "bold magenta", "unknown": "magenta",
    "fits-with-extra-work": "bold yellow", "extra": "yellow", "caution": "cyan", "note": "dim",
    "fits": "bold green", "head": "bold", "strong": "bold",
}  # fmt: skip


def print_in_colour(lines: Iterable[tuple[str, str]]) -> None:
    """Print lines of (text, style); text is never read as markup, so names with [brackets] stay as they are."""
    # Left to itself rich takes COLUMNS=0 at its word and prints nothing.
    console = Console(width=shutil.get_terminal_size().columns, soft_wrap=True, highlight=False)
    for text, style in lines:
        console.print(Text(text, style=_STYLES.get(style, "")))
