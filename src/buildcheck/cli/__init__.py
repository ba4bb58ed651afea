"""Commands, options, exit codes; no domain logic.

Exit codes: 0 fits or fits with extra work; 1 blocked or undecided; 2 the input, the usage or the catalogue
cannot be used; 3 a fault of buildcheck itself.
"""

from __future__ import annotations

import io
import sys
import traceback
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, NoReturn

import typer

from buildcheck import __version__
from buildcheck.cli.asking import AnswerOption, AnswersOption, OverwriteOption, OwnBikeArgument
from buildcheck.cli.beginning import new as new_command
from buildcheck.cli.completing import PROGRAM, completing, prepare
from buildcheck.cli.explain import explain as explain_command
from buildcheck.cli.job import job as job_command
from buildcheck.cli.options import (
    ActualsOption,
    AllOption,
    BikeArgument,
    CatalogOption,
    ExcludeOption,
    FitOption,
    Format,
    FormatOption,
    KeepOption,
    LimitOption,
    MoveOption,
    OutputOption,
    RateOption,
    RenewOption,
    SetOption,
    StockOption,
    TakeOffOption,
    WhyOption,
    as_typed,
    open_catalogue,
    request_of,
)
from buildcheck.cli.output import (
    INTERRUPTED,
    NOT_SO,
    OK,
    OUR_FAULT,
    UNUSABLE,
    let_go,
    open_streams,
    saying,
    text_of,
    write,
)
from buildcheck.cli.parts import parts_app
from buildcheck.cli.progress import DEFAULT_LIMIT_S, Watch
from buildcheck.cli.prompt import on_terminal
from buildcheck.cli.views import ReportView, viewed
from buildcheck.library.folders import (
    bundled_bike,
    schemas_folder,
)
from buildcheck.library.problems import InputError, harmless, printable
from buildcheck.library.writing import write_whole

if TYPE_CHECKING:  # not every command needs these
    from buildcheck.model.report import Report

_USAGE_ERROR: type[Exception] = typer.BadParameter.__mro__[1]  # of whichever click Typer brings
DEMO_BIKE = "allroad-wired"
DEMO_FIT = ("wexcombe-veil-420-100@handlebar",)

app = typer.Typer(
    no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False, context_settings={"color": False},
    help="Says whether a change fits a bike, what blocks it, what else it needs and how much work it is.",
)  # fmt: skip
app.add_typer(parts_app, name="parts")


def _version(asked: bool) -> None:
    if asked:
        print(f"buildcheck {__version__}")
        raise typer.Exit(OK)


@app.callback()
def _common(
    version: Annotated[
        bool, typer.Option("--version", callback=_version, is_eager=True, help="Show the version.")
    ] = False,
) -> None:
    """Options that stand before the command."""


@app.command()
def demo() -> None:
    """The main job on the bundled scenario; writes ./demo-out/. Ends with 0 whatever the verdict: it is a show."""
    from buildcheck.cli.job import demo_pages

    folder = Path("demo-out")
    folder.mkdir(exist_ok=True)
    request = {"fit": list(DEMO_FIT), "take_off": [], "set": []}
    path = bundled_bike(DEMO_BIKE)
    report = _report(path, request, None)
    short = ReportView("swap", DEMO_BIKE, as_typed(request))
    write_whole(folder / "report.json", text_of(viewed(report, short._replace(format_=Format.JSON))))
    write_whole(folder / "report.txt", text_of(viewed(report, short._replace(all_=True))))
    for name, page in demo_pages(path, request).items():
        write_whole(folder / name, page)
    write(viewed(report, short), None)
    print("Written: demo-out/ with the whole report.txt, report.json, job.html and customer.html", file=sys.stderr)


@app.command()
def check(bike: BikeArgument, set_: SetOption = None, catalog: CatalogOption = None, all_: AllOption = False,
          why: WhyOption = False, format_: FormatOption = Format.TEXT,
          output: OutputOption = None) -> None:  # fmt: skip
    """Vet a bike as it stands."""
    request = {"fit": [], "take_off": [], "set": set_ or []}
    view = ReportView("check", str(bike), as_typed(request, catalog=catalog), all_, why, format_)
    raise typer.Exit(write(viewed(_report(bike, request, catalog), view), output))


@app.command()
def swap(bike: BikeArgument, fit: FitOption = None, renew: RenewOption = None, move: MoveOption = None,
         take_off: TakeOffOption = None, set_: SetOption = None,
         rate: RateOption = None, keep: KeepOption = None, exclude: ExcludeOption = None, stock: StockOption = None,
         actuals: ActualsOption = None, catalog: CatalogOption = None, limit: LimitOption = DEFAULT_LIMIT_S,
         all_: AllOption = False, why: WhyOption = False,
         format_: FormatOption = Format.TEXT, output: OutputOption = None) -> None:  # fmt: skip
    """Vet a change: what blocks, remedies, extra parts, extra work, what to measure first."""
    if not (fit or take_off or renew or move) and on_terminal():
        from buildcheck.cli.offering import asked_part

        fit = [asked_part(bike, set_ or [], catalog)]
    request = request_of(fit, take_off, set_, rate, keep, exclude, renew, move)
    if [str(path) for path in (bike, stock, actuals)].count("-") > 1:
        raise typer.BadParameter("standard input holds one file: give the others by their names")
    options = as_typed(request, stock=stock, actuals=actuals, catalog=catalog)
    view = ReportView("swap", str(bike), options, all_, why, format_)
    raise typer.Exit(write(viewed(_report(bike, request, catalog, stock, actuals, limit), view), output))


app.command()(new_command)


@app.command()
def ask(file: OwnBikeArgument, fit: FitOption = None, renew: RenewOption = None, move: MoveOption = None,
        take_off: TakeOffOption = None, set_: AnswerOption = None,
        answers: AnswersOption = None, overwrite: OverwriteOption = False, catalog: CatalogOption = None,
        limit: LimitOption = DEFAULT_LIMIT_S, all_: AllOption = False, why: WhyOption = False,
        format_: FormatOption = Format.TEXT, output: OutputOption = None) -> None:  # fmt: skip
    """Ask what decides a change, one question at a time; each answer goes into the bike file. Then the report."""
    from buildcheck.cli.asking import ask_all

    asked = {"fit": fit or [], "take_off": take_off or [], "renew": renew or [], "move": move or [], "set": set_ or []}
    request = ask_all(file, asked, answers, overwrite, open_catalogue(catalog))
    name = "swap" if fit or renew or move or take_off else "check"
    options = as_typed(request, catalog=catalog)
    view = ReportView(name, str(file), options, all_, why, format_)
    raise typer.Exit(write(viewed(_report(file, request, catalog, limit_s=limit), view), output))


def _report(path: Path, request: dict[str, list[str]], catalog: list[Path] | None, stock: Path | None = None,
            actuals: Path | None = None, limit_s: float = DEFAULT_LIMIT_S) -> Report:  # fmt: skip
    from buildcheck.face import read_bike, swap, vet

    with Watch(limit_s) as watch:
        catalogue = open_catalogue(catalog)
        bike = read_bike(path, catalogue)
        if not any(request.get(name) for name in ("fit", "renew", "move", "take_off")):
            return vet(bike, catalogue, set=request["set"])
        return swap(
            bike, catalogue, fit=request["fit"], renew=request.get("renew", ()), move=request.get("move", ()),
            take_off=request["take_off"], set=request["set"],
            rate=next(iter(request.get("rate", ())), None), keep=request.get("keep", ()),
            exclude=request.get("exclude", ()), stock=stock, actuals=actuals, stop=watch,
        )  # fmt: skip


app.command()(job_command)
app.command()(explain_command)


@app.command()
def schema(
    check_only: Annotated[bool, typer.Option("--check", help="Compare instead of writing; 1 if they differ.")] = False,
    catalog: CatalogOption = None,
) -> None:
    """Write schemas/ from the records, or compare."""
    from buildcheck.library.schemas import all_schemas

    folder, stale = schemas_folder(), []
    for name, text in all_schemas(open_catalogue(catalog).standards).items():
        path = folder / name
        if not path.exists() or path.read_text(encoding="utf-8") != text:
            stale.append(name)
            if not check_only:
                folder.mkdir(exist_ok=True)
                write_whole(path, text)
    print(
        "\n".join(f"{'differs' if check_only else 'written'}: {folder.name}/{name}" for name in stale)
        or "schemas are equal to the records"
    )
    raise typer.Exit(NOT_SO if check_only and stale else OK)


def _run() -> int:
    """Run the app. Left to itself Typer ends with 1, as if a bike were blocked, when it is stopped or a pipe breaks."""
    try:
        return int(app(prog_name=PROGRAM, standalone_mode=False) or OK)
    except SystemExit as end:
        if completing() or not end.code:  # a shell was answered, or completion was installed
            return int(end.code or OK)
        raise BrokenPipeError from None  # all else that Typer answers so


def main() -> NoReturn:
    """Run the command line; a fault of ours never looks like a verdict."""
    open_streams()
    if completing():
        prepare()
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a character shows "?" instead
    sys.exit(_ended())


def _ended() -> int:
    """Run the command, say what went wrong, and give the exit code."""
    try:
        code = _run()
        sys.stdout.flush()
        return code
    except BrokenPipeError:
        let_go()
        return OK
    except typer.Abort:
        return INTERRUPTED
    except Exception as error:
        let_go()
        with saying():
            _say(error)
        return UNUSABLE if isinstance(error, (_USAGE_ERROR, InputError, OSError)) else OUR_FAULT


def _say(error: Exception) -> None:
    if isinstance(error, _USAGE_ERROR):
        shown = io.StringIO()
        getattr(error, "show")(shown)
        print(harmless(shown.getvalue()), end="", file=sys.stderr)
    elif isinstance(error, InputError):
        print(error, file=sys.stderr)
    elif isinstance(error, OSError):
        where = f"{printable(str(error.filename))}: " if error.filename else ""
        print(f"buildcheck: {where}{error.strerror or error}", file=sys.stderr)
    else:
        print(harmless("".join(traceback.format_exception(error))), end="", file=sys.stderr)
        print("buildcheck: this is a fault of buildcheck itself, not of your file; please report it", file=sys.stderr)
