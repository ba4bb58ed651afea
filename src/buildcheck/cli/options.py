"""Options that commands share, and the catalogue that they name."""

from __future__ import annotations

import os
from collections.abc import Mapping, Sequence
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from buildcheck.cli.completing import bike_names, fit_words, fitted_positions, part_names

if TYPE_CHECKING:  # a request that was answered before needs none of these
    from buildcheck.library.catalogue import Catalogue


class Format(StrEnum):
    """How a report is written."""

    TEXT = "text"
    JSON = "json"


CatalogOption = Annotated[
    list[Path] | None,
    typer.Option("--catalog", help="A further catalogue folder; may be given again. Also BUILDCHECK_CATALOG."),
]
FormatOption = Annotated[Format, typer.Option("--format", help="How the report is written.")]
OutputOption = Annotated[Path | None, typer.Option("--output", help="Write the report to this file.")]
BikeArgument = Annotated[
    Path,
    typer.Argument(
        metavar="BIKE", autocompletion=bike_names,
        help="A bike file, the name of a bundled bike, or - for standard input.",
    ),
]  # fmt: skip
FitOption = Annotated[
    list[str] | None,
    typer.Option(
        "--fit", autocompletion=fit_words,
        help="PART or PART@POSITION[,on=…,place=…,from=…,to=…]: a part to fit; may be given again.",
    ),
]  # fmt: skip
RenewOption = Annotated[
    list[str] | None,
    typer.Option(
        "--renew", metavar="POSITION", autocompletion=fitted_positions,
        help="Where the same part is put in new; may be given again.",
    ),
]  # fmt: skip
MoveOption = Annotated[
    list[str] | None,
    typer.Option(
        "--move", metavar="POSITION,on=…", autocompletion=fitted_positions,
        help="What goes to another place, and where; may be given again.",
    ),
]  # fmt: skip
TakeOffOption = Annotated[
    list[str] | None,
    typer.Option("--take-off", autocompletion=fitted_positions, help="A position to empty; may be given again."),
]
SetOption = Annotated[
    list[str] | None,
    typer.Option("--set", help="POSITION.ATTRIBUTE=VALUE: a fact measured on this bike; may be given again."),
]
RateOption = Annotated[
    str | None, typer.Option("--rate", metavar="EUR_PER_HOUR", help="What an hour at the bench is charged with.")
]
KeepOption = Annotated[
    list[str] | None,
    typer.Option(
        "--keep", metavar="POSITION", autocompletion=fitted_positions, help="No remedy touches it; may be given again."
    ),
]
ExcludeOption = Annotated[
    list[str] | None,
    typer.Option("--exclude", metavar="PART", autocompletion=part_names, help="No remedy uses it; may be given again."),
]
ActualsOption = Annotated[
    Path | None, typer.Option("--actuals", help="A CSV file of what operations really took: operation,minutes.")
]
StockOption = Annotated[
    Path | None, typer.Option("--stock", help="A CSV file of the parts in the shop; a remedy takes them first.")
]
AllOption = Annotated[bool, typer.Option("--all", help="Everything that is known, instead of 30 lines.")]
WhyOption = Annotated[
    bool, typer.Option("--why", help="What blocks with all its causes, and the search for remedies with its proof.")
]
LimitOption = Annotated[
    float, typer.Option("--limit", metavar="SECONDS", min=0, help="When the search for remedies stops, and says so.")
]


def request_of(
    fit: list[str] | None, take_off: list[str] | None, set_: list[str] | None, rate: str | None,
    keep: list[str] | None, exclude: list[str] | None, renew: list[str] | None = None, move: list[str] | None = None,
) -> dict[str, list[str]]:  # fmt: skip
    """What `swap` and `job` are asked, in the words of the options."""
    if not (fit or take_off or renew or move):
        raise typer.BadParameter(
            "say what changes: --fit PART[@POSITION], --renew POSITION, --move POSITION,on=POSITION or "
            "--take-off POSITION"
        )
    return {
        "fit": fit or [], "take_off": take_off or [], "renew": renew or [], "move": move or [], "set": set_ or [],
        "rate": [] if rate is None else [rate], "keep": keep or [], "exclude": exclude or [],
    }  # fmt: skip


def as_typed(request: Mapping[str, Sequence[str]], **files: Path | Sequence[Path] | None) -> tuple[str, ...]:
    """The options of a request, and those that name files, as somebody would type them again."""
    named = {**request, **{name: _paths(value) for name, value in files.items()}}
    return tuple(
        word for name, values in named.items() for value in values for word in (f"--{name.replace('_', '-')}", value)
    )


def _paths(value: Path | Sequence[Path] | None) -> list[str]:
    return [] if value is None else [str(path) for path in ([value] if isinstance(value, Path) else value)]


def catalogue_folders(folders: list[Path] | None) -> list[Path]:
    """The folders of the environment and of the option; where the later one counts, that is the option's."""
    named = os.environ.get("BUILDCHECK_CATALOG", "")
    return [*(Path(name) for name in named.split(os.pathsep) if name), *(folders or ())]


def open_catalogue(folders: list[Path] | None) -> Catalogue:
    """The bundled catalogue with the folders of the option and of the environment."""
    from buildcheck.library.catalogue import load

    return load(catalogue_folders(folders))
