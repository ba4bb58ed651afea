"""`buildcheck job`: the job card, for the bench or for the customer."""

from __future__ import annotations

import sys
from datetime import date
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from buildcheck.cli.options import (
    ActualsOption,
    BikeArgument,
    CatalogOption,
    ExcludeOption,
    FitOption,
    KeepOption,
    LimitOption,
    MoveOption,
    OutputOption,
    RateOption,
    RenewOption,
    SetOption,
    StockOption,
    TakeOffOption,
    catalogue_folders,
    request_of,
)
from buildcheck.cli.output import NOT_SO, OK, saying, write
from buildcheck.cli.progress import DEFAULT_LIMIT_S, Watch
from buildcheck.library.folders import actuals_content, bike_content, catalogue_contents, stock_content

if TYPE_CHECKING:
    from buildcheck.model.job import JobCard


class JobFormat(StrEnum):
    """How a job card is written."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"
    SVG = "svg"


class Reader(StrEnum):
    """For whom a job card is written."""

    MECHANIC = "mechanic"
    CUSTOMER = "customer"


FormatOption = Annotated[
    JobFormat, typer.Option("--format", help="How the card is written; svg gives the drawings alone.")
]
RemedyOption = Annotated[
    int | None, typer.Option("--remedy", metavar="N", help="The remedy to plan with; the cheapest if left out.")
]
ForOption = Annotated[Reader, typer.Option("--for", help="For whom: in the words of the bench, or in plain words.")]
LanguageOption = Annotated[
    str, typer.Option("--language", metavar="en|de", help="The language: a file of catalog/texts.")
]
PromiseOption = Annotated[
    str | None, typer.Option("--promise", metavar="DATE", help="The day that was promised, as 2026-12-04.")
]
CorrelationOption = Annotated[
    float | None,
    typer.Option("--correlation", metavar="0..1", help="How much operations run late together; see the card."),
]


def job(bike: BikeArgument, fit: FitOption = None, renew: RenewOption = None, move: MoveOption = None,
        take_off: TakeOffOption = None, remedy: RemedyOption = None, set_: SetOption = None,
        promise: PromiseOption = None, reader: ForOption = Reader.MECHANIC,
        language: LanguageOption = "en", actuals: ActualsOption = None, correlation: CorrelationOption = None,
        rate: RateOption = None, keep: KeepOption = None, exclude: ExcludeOption = None, stock: StockOption = None,
        catalog: CatalogOption = None, limit: LimitOption = DEFAULT_LIMIT_S, format_: FormatOption = JobFormat.TEXT,
        output: OutputOption = None) -> None:  # fmt: skip
    """The job card: order of work, torques, compounds, tools, tests, cautions."""
    from buildcheck.answering import card_for

    request = request_of(fit, take_off, set_, rate, keep, exclude, renew, move)
    if [str(path) for path in (bike, stock, actuals)].count("-") > 1:
        raise typer.BadParameter("standard input holds one file: give the others by their names")
    with Watch(limit) as watch:
        card = card_for(
            bike_content(bike), catalogue_contents(catalogue_folders(catalog)), request,
            stock=None if stock is None else stock_content(stock),
            actuals=None if actuals is None else actuals_content(actuals),
            remedy=remedy, promised=_day(promise), correlation=_share(correlation), stop=watch,
        )  # fmt: skip
    if watch.reached:
        with saying():
            print(f"buildcheck: the search for remedies stopped: {watch.reached}", file=sys.stderr)
    view = _view(card, format_, reader, language, catalogue_folders(catalog))
    raise typer.Exit(write({"code": code_of(card), **view}, output))


def demo_pages(bike: Path, request: dict[str, list[str]]) -> dict[str, str]:
    """The pages of the demo's job, for the bench and for the customer, by file name."""
    from buildcheck.answering import card_for

    card = card_for(bike_content(bike), catalogue_contents(), request)
    readers = {"job.html": Reader.MECHANIC, "customer.html": Reader.CUSTOMER}
    return {name: str(_view(card, JobFormat.HTML, reader, "en", [])["json"]) for name, reader in readers.items()}


def code_of(card: JobCard) -> int:
    """The exit code of the bike with the remedy, which no format changes."""
    return OK if card.verdict.startswith("fits") else NOT_SO


def _day(promise: str | None) -> str:
    try:
        return "" if promise is None else date.fromisoformat(promise).isoformat()
    except ValueError:
        raise typer.BadParameter(f"--promise: a day such as 2026-12-04 is expected, not {promise!r}") from None


def _share(correlation: float | None) -> float | None:
    if correlation is not None and not 0 <= correlation <= 1:
        raise typer.BadParameter(f"--correlation: a number from 0 to 1 is expected, not {correlation:g}")
    return correlation


def _view(card: JobCard, format_: JobFormat, reader: Reader, language: str, folders: list[Path]) -> dict[str, Any]:
    if format_ is JobFormat.JSON:
        from buildcheck.report.json_view import job_json

        return {"json": job_json(card)}
    from buildcheck.library.texts import load_texts

    texts = load_texts(language, folders)
    if format_ is JobFormat.TEXT:
        from buildcheck.report.job_text import job_lines

        return {"lines": [[line.text, line.style] for line in job_lines(card, texts, reader.value)]}
    from buildcheck.report.drawings import LABELS, drawings_of, one_sheet

    drawings = drawings_of(card.pictures, lambda key: texts.drawing(key, LABELS[key]), texts.position, texts.word)
    if format_ is JobFormat.SVG:
        return {"json": one_sheet(drawings)}
    from buildcheck.report.job_page import job_page

    return {"json": job_page(card, texts, reader.value, drawings)}
