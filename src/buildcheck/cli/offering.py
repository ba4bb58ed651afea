"""What a person at a terminal is asked where `swap` was not told what changes: the position, then what fits there."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

import typer

from buildcheck.cli.options import catalogue_folders
from buildcheck.cli.progress import Watch
from buildcheck.cli.prompt import read_line, tell
from buildcheck.library.folders import bike_content, catalogue_contents
from buildcheck.library.names import of_bike
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean
from buildcheck.model.quantities import brief

if TYPE_CHECKING:
    from buildcheck.model.choices import Choice, Choices

_MOST_SHOWN = 20  # our choice: what is seen at once; any other part can be typed
_PART = "PART"

_Answer = TypeVar("_Answer")


def asked_part(bike: Path, settings: Sequence[str], catalog: list[Path] | None) -> str:
    """PART@POSITION, by two questions. Ctrl-C or the end of input ends the command."""
    from buildcheck.answering import choices_for

    content, contents = bike_content(bike), catalogue_contents(catalogue_folders(catalog))

    def choices(position: str) -> Choices:
        with Watch():
            return choices_for(content, contents, position, settings)

    fitted = of_bike(bike).fitted
    for position, part in fitted.items():
        tell(f"  {position:<24}{part}")
    found = _asked("Which position changes, filled or not", choices)
    offers = [*found.fits, *found.undecided]
    for line in _offered(found, offers):
        tell(line)
    part = _asked("Which part, by its number or its id", lambda word: _part(word, offers, found))
    fit = f"{part}@{found.position}"
    tell(f"Asked: buildcheck swap {shlex.quote(str(bike))} --fit {fit}")
    return fit


def _asked(question: str, read: Callable[[str], _Answer]) -> _Answer:
    """The answer to a question, which is put again where it cannot be read. All of it goes to standard error."""
    while True:
        word = read_line(f"{question}? ")
        if word is None:
            raise typer.Abort
        try:
            return read(word)
        except InputError as error:
            if error.problems[0].place.file not in ("POSITION", _PART):
                raise
            tell(error.problems[0].text)


def _offered(found: Choices, offers: Sequence[Choice]) -> Iterable[str]:
    yield f"Fitted now: {found.fitted_now or 'nothing'}. {len(found.fits)} parts fit, the cheapest first:"
    for number, choice in enumerate(offers[:_MOST_SHOWN], 1):
        price = "" if choice.price is None else f"EUR {choice.price:.2f}"
        unsure = "" if choice.verdict.startswith("fits") else "  (not known whether it fits)"
        yield f"{number:>4}  {price:>11}  {choice.id}{unsure}"
    if len(offers) > _MOST_SHOWN:
        yield f"      and {len(offers) - _MOST_SHOWN} more"
    yield "      Any other part can be named by its id, to see what it would take."


def _part(word: str, offers: Sequence[Choice], found: Choices) -> str:
    """The id of a part that was chosen by its number or its id."""
    every = [choice.id for choice in (*offers, *found.blocked)]
    if word.isdecimal() and 1 <= int(word) <= min(len(offers), _MOST_SHOWN):
        return offers[int(word) - 1].id
    if word in every:
        return word
    text = f"{brief(word)} is no part for this position{did_you_mean(word, every)}"
    raise InputError([Problem(FileLine(_PART, 1, 1), text, "meaning")])
