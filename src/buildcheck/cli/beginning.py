"""`buildcheck new`: a bike file begun, from options or from questions on a terminal; no file is ever replaced."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from buildcheck.cli.completing import bike_names, outline_names
from buildcheck.cli.options import CatalogOption, open_catalogue
from buildcheck.cli.output import saying
from buildcheck.cli.prompt import choose, on_terminal, read_line
from buildcheck.library.folders import Content, bundled_names
from buildcheck.library.problems import FileLine, InputError, Problem, shown
from buildcheck.library.writing import write_new

if TYPE_CHECKING:
    from buildcheck.library.begun import Beginning, Gap
    from buildcheck.library.catalogue import Catalogue

NewFileArgument = Annotated[Path, typer.Argument(metavar="FILE", help="The bike file to begin; it must not be there.")]
LikeOption = Annotated[
    str | None,
    typer.Option(
        "--like", metavar="NAME", autocompletion=bike_names, help="A bundled bike, or a bike file, that it is like."
    ),
]
OutlineOption = Annotated[
    str | None,
    typer.Option(
        "--outline", metavar="NAME", autocompletion=outline_names,
        help="The outline of such bikes: positions, and no sizes.",
    ),
]  # fmt: skip
ForOption = Annotated[
    list[str] | None,
    typer.Option("--for", metavar="CHANGE", help='"fit PART@POSITION" or "take off POSITION"; may be given again.'),
]
NameOption = Annotated[str | None, typer.Option("--name", help="What the bike is called.")]
InUseOption = Annotated[
    bool, typer.Option("--in-use/--not-in-use", help="It is ridden today as it stands, or never was so.")
]


def new(file: NewFileArgument, like: LikeOption = None, outline: OutlineOption = None, for_: ForOption = None,
        name: NameOption = None, in_use: InUseOption = True, catalog: CatalogOption = None) -> None:  # fmt: skip
    """Begin a bike file: what it is like, and what matters for a change as lines to fill in."""
    from buildcheck.library.begun import Beginning, id_of, like_of

    if like is not None and outline is not None:
        raise typer.BadParameter("give --like or --outline, not both: an outline is a bike that it is like")
    if file.exists() or file.is_symlink():
        raise typer.BadParameter(f"{file} is there already, and no file is replaced")
    asked = like is None and outline is None
    if asked:
        like, name = _asked(name)
    chosen = like_of(like or outline or "", file.parent, outline=like is None)
    beginning = Beginning(chosen, name or id_of(file).replace("-", " ").capitalize(), None, in_use)
    changes = _changes(for_ or [])
    if asked and not changes and (said := read_line('For which change ("fit PART@POSITION", or Enter)? ')):
        changes = _changes([said])
    text = _text(beginning, file, changes, open_catalogue(catalog))
    write_new(file, text)
    with saying():
        print(f"Written: {file}", file=sys.stderr)
        options = "".join(f" {option} {shlex.quote(word)}" for option, word in changes)
        print(f"Next: buildcheck ask {shlex.quote(str(file))}{options or ' --fit PART@POSITION'}", file=sys.stderr)


def _asked(name: str | None) -> tuple[str, str | None]:
    """What somebody at the terminal says that the bike is like, and how it is called."""
    if not on_terminal():
        raise typer.BadParameter("say what it is like, --outline NAME or --like NAME: nobody is at a terminal to ask")
    like = choose("Which of these is it like", [*reversed(bundled_names())])
    if like is None:
        raise typer.Abort
    return like, name or read_line("What is it called? ")


def _changes(texts: Sequence[str]) -> list[tuple[str, str]]:
    """What is to be changed, as the options of `ask` with their words."""
    found = []
    for text in (part.strip() for each in texts for part in each.split(",")):
        words = text.split()
        if len(words) == 2 and words[0] == "fit":
            found.append(("--fit", words[1]))
        elif len(words) == 3 and words[:2] == ["take", "off"]:
            found.append(("--take-off", words[2]))
        else:
            expected = f'"fit PART@POSITION" or "take off POSITION" is expected, not {shown(text)}'
            raise InputError([Problem(FileLine("--for", 1, 1), expected, "meaning")])
    return found


def _text(beginning: Beginning, file: Path, changes: list[tuple[str, str]], catalogue: Catalogue) -> str:
    """The text of the file, once it was read as a bike."""
    from buildcheck.library.begun import begun, id_of

    today = date.today().isoformat()
    text = begun(beginning, id_of(file), today)
    facts = _to_fill(text, file, changes, catalogue)
    options = "".join(f" {option} {word}" for option, word in changes)
    return begun(beginning, id_of(file), today, f"buildcheck ask {file.name}{options}", facts)


def _to_fill(text: str, file: Path, changes: list[tuple[str, str]], catalogue: Catalogue) -> list[Gap]:
    """What matters for a change and is not known. Reads the text as a bike, which raises InputError if it is none."""
    from buildcheck.answering import questions_for
    from buildcheck.library.begun import Gap
    from buildcheck.library.bikes import bike_of
    from buildcheck.library.requests import read_request

    bike = bike_of(Content(str(file), text.encode(), "bikes", beside=str(file.parent)), catalogue)
    if not changes:
        return []
    fits = [word for option, word in changes if option == "--fit"]
    offs = [word for option, word in changes if option == "--take-off"]
    change = read_request({"fit": fits, "take_off": offs}, bike, catalogue)
    new = {position for _, position in change.fit}
    _, found = questions_for(bike, change, catalogue)
    asked = [each for each in found if each.position not in new and each.shape != "rows" and "." not in each.attribute]
    measured = {each.position for each in asked if each.shape != "part"}
    return [
        Gap(each.position, None if each.shape == "part" else each.attribute, each.title, each.unit, each.how)
        for each in asked if each.shape != "part" or each.position not in measured
    ]  # fmt: skip
