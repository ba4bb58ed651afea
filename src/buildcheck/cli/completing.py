"""What the TAB key offers: bikes, parts, positions and findings, in bash, zsh and fish."""

from __future__ import annotations

import os
import shlex
import sys
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

import typer

if TYPE_CHECKING:  # a command has no use for it
    from buildcheck.library.names import BikeNames

PROGRAM = "buildcheck"
_ASKED = "_BUILDCHECK_COMPLETE"
_BEFORE = "_BUILDCHECK_WORD_BEFORE"
_ENDS = (".yaml", ".yml")

Offer = tuple[str, str]


def completing() -> bool:
    """Is it a shell that asks, for what could come next?"""
    return _ASKED in os.environ


def prepare() -> None:
    """Before a shell is answered: without the library for colours, whose import alone takes longer than the answer."""
    sys.modules["rich"] = None  # type: ignore[assignment]
    if os.environ[_ASKED] == "complete_bash":
        words, before = _as_typed(os.environ.get("COMP_WORDS", "").split("\n"), int(os.environ.get("COMP_CWORD", "0")))
        os.environ.update({"COMP_WORDS": "\n".join(words), "COMP_CWORD": str(len(words) - 1), _BEFORE: before})


def _as_typed(words: list[str], at: int) -> tuple[list[str], str]:
    """The words up to the one at the cursor, and what stands directly before that.

    bash takes `PART@POSITION` for three words, and wants the last two completed; of `--fit=PART` it makes three, too.
    """
    words = [*words[: at + 1], *[""] * (at + 1 - len(words))]
    begun = at - 1 if words[at] != "@" and words[at - 1] == "@" else at
    before = words[begun - 1] if words[begun] == "@" else ""
    said = "\n".join([*words[: begun - bool(before)], ""]).replace("\n@\n", "@").replace("\n=\n", "\n")
    return [*said.split("\n")[:-1], "".join(words[begun:])], before


def bike_names(incomplete: str) -> Iterator[Offer]:
    """Bundled bikes, and the files and folders that begin so."""
    from buildcheck.library.names import bikes

    yield from ((name, "an outline" if "/" in name else "a bundled bike") for name in bikes())
    yield from _files(incomplete)


def outline_names() -> list[Offer]:
    """The outlines of bikes, as `--outline` takes them."""
    from buildcheck.library.names import bikes

    return [(name.partition("/")[2], "an outline") for name in bikes() if "/" in name]


def fit_words(ctx: typer.Context, incomplete: str) -> Iterator[Offer]:
    """PART, or POSITION where PART@ stands already: first those that the bike has."""
    from buildcheck.library.names import parts

    before = os.environ.get(_BEFORE, "")
    part_id, at, _ = (before + incomplete).partition("@")
    known = [*_of_bike(ctx).own, *parts(_folders(ctx))]
    if not at:
        yield from ((part.id, part.what) for part in known)
        return
    kinds = {kind for part in known if part.id == part_id for kind in part.kinds}
    head = "" if before else part_id
    yield from ((f"{head}@{name}", what) for name, what in _positions(ctx, kinds))


def part_names(ctx: typer.Context) -> Iterator[Offer]:
    """The parts of the catalogue."""
    from buildcheck.library.names import parts

    return ((part.id, part.what) for part in parts(_folders(ctx)))


def fitted_positions(ctx: typer.Context) -> list[Offer]:
    """The positions of the bike that are filled."""
    return list(_of_bike(ctx).fitted.items())


def all_positions(ctx: typer.Context) -> list[Offer]:
    """The positions of the bike, filled or not."""
    return _positions(ctx, None)


def finding_names() -> list[str]:
    """The findings that `explain` knows."""
    from buildcheck.library.names import findings

    return findings()


def _positions(ctx: typer.Context, kinds: set[str] | None) -> list[Offer]:
    """The positions of these kinds, of all where none are named; first those that are filled."""
    from buildcheck.library.names import positions

    rows = {row.id: row.what for row in positions(_folders(ctx)) if kinds is None or kinds & set(row.kinds)}
    fitted = _of_bike(ctx).fitted
    first = [name for name in fitted if any(name == row or name.startswith(f"{row}-") for row in rows)]
    return [(name, rows.get(name, "") or fitted.get(name, "")) for name in dict.fromkeys([*first, *rows])]


def _of_bike(ctx: typer.Context) -> BikeNames:
    from buildcheck.library.names import of_bike

    bare, _ = _said(ctx)
    return of_bike(Path(bare[0] if bare else ""))


def _folders(ctx: typer.Context) -> list[Path]:
    from buildcheck.cli.options import catalogue_folders  # which takes from here what its options offer

    return catalogue_folders([Path(value) for option, value in _said(ctx)[1] if option == "--catalog"])


def _said(ctx: typer.Context) -> tuple[list[str], list[Offer]]:
    """The bare words behind the command, and its options with their values.

    An option that still lacks its value keeps Typer from telling any of them.
    """
    valued = {
        option for each in ctx.command.params if not getattr(each, "is_flag", False) for option in each.opts
        if option.startswith("-")
    }  # fmt: skip
    words = iter(_words()[len(ctx.command_path.split()) :])
    bare, options = [], []
    for word in words:
        name, equals, value = word.partition("=")
        if name in valued:
            options.append((name, value if equals else next(words, "")))
        elif not word.startswith("-"):
            bare.append(word)
    return bare, options


def _words() -> list[str]:
    """All words that were typed."""
    if "COMP_WORDS" in os.environ:
        return os.environ["COMP_WORDS"].split("\n")
    typed = os.environ.get("_TYPER_COMPLETE_ARGS", "")
    try:
        return shlex.split(typed)
    except ValueError:  # a quote that is still open
        return typed.split()


def _files(incomplete: str) -> Iterable[Offer]:
    folder, _, _ = incomplete.rpartition("/")
    try:
        found = sorted(Path(folder or ("/" if incomplete.startswith("/") else ".")).iterdir())
    except OSError:
        return
    head = incomplete[: len(incomplete) - len(incomplete.rpartition("/")[2])]
    for path in found:
        if path.suffix in _ENDS and path.is_file():
            yield f"{head}{path.name}", "a file"
        elif path.is_dir() and not path.name.startswith("."):
            yield f"{head}{path.name}/", "a folder"
