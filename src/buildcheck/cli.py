"""Commands, options, exit codes; no domain logic.

Exit codes: 0 fits or fits with extra work; 1 blocked or undecided; 2 the input, the usage or the catalogue
cannot be used; 3 a fault of buildcheck itself.
"""

from __future__ import annotations

import io
import json
import os
import sys
import textwrap
import traceback
from enum import StrEnum
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NoReturn

import typer

from buildcheck import __version__
from buildcheck.library.cache import installed, keep, kept, key_of
from buildcheck.library.folders import (
    bike_content,
    bundled_bike,
    cases_folder,
    catalogue_contents,
    code_files,
    schemas_folder,
)
from buildcheck.library.problems import InputError, did_you_mean, printable
from buildcheck.library.writing import write_whole

if TYPE_CHECKING:  # a request that was answered before needs none of these
    from buildcheck.library.catalogue import Catalogue
    from buildcheck.model.report import Report

OK, NOT_SO, UNUSABLE, OUR_FAULT, INTERRUPTED = 0, 1, 2, 3, 130
_USAGE_ERROR: type[Exception] = typer.BadParameter.__mro__[1]  # of whichever click Typer brings
DEMO_BIKE = "allroad-wired"
# Some days of a workshop; each is a few kB.
_KEPT_ANSWERS = 64
DEMO_FIT = ("wexcombe-veil-420-100@handlebar",)

app = typer.Typer(
    add_completion=False, no_args_is_help=True, rich_markup_mode=None, pretty_exceptions_enable=False,
    help="Says whether a change fits a bike, what blocks it, what else it needs and how much work it is.",
)  # fmt: skip
parts_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Look into the catalogue.")
app.add_typer(parts_app, name="parts")


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
    Path, typer.Argument(metavar="BIKE", help="A bike file, the name of a bundled bike, or - for standard input.")
]
FitOption = Annotated[
    list[str] | None, typer.Option("--fit", help="PART or PART@POSITION: a part to fit; may be given again.")
]
TakeOffOption = Annotated[list[str] | None, typer.Option("--take-off", help="A position to empty; may be given again.")]
SetOption = Annotated[
    list[str] | None,
    typer.Option("--set", help="POSITION.ATTRIBUTE=VALUE: a fact measured on this bike; may be given again."),
]


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


def catalogue_folders(folders: list[Path] | None) -> list[Path]:
    """The folders of the option and of the environment."""
    named = os.environ.get("BUILDCHECK_CATALOG", "")
    return [*(folders or ()), *(Path(name) for name in named.split(os.pathsep) if name)]


def open_catalogue(folders: list[Path] | None) -> Catalogue:
    """The bundled catalogue with the folders of the option and of the environment."""
    from buildcheck.library.catalogue import load

    return load(catalogue_folders(folders))


@app.command()
def demo() -> None:
    """The main job on the bundled scenario; writes ./demo-out/. Ends with 0 whatever the verdict: it is a show."""
    folder = Path("demo-out")
    folder.mkdir(exist_ok=True)
    request = {"fit": list(DEMO_FIT), "take_off": [], "set": []}
    path = bundled_bike(DEMO_BIKE)
    write_whole(folder / "report.json", _answer(path, request, None, Format.JSON)["json"])
    answer = _answer(path, request, None, Format.TEXT)
    write_whole(folder / "report.txt", _text_of(answer))
    _write(answer, None)
    print("Written: demo-out/report.txt and demo-out/report.json", file=sys.stderr)


@app.command()
def check(bike: BikeArgument, set_: SetOption = None, catalog: CatalogOption = None,
          format_: FormatOption = Format.TEXT, output: OutputOption = None) -> None:  # fmt: skip
    """Vet a bike as it stands."""
    request = {"fit": [], "take_off": [], "set": set_ or []}
    raise typer.Exit(_write(_answer(bike, request, catalog, format_), output))


@app.command()
def swap(bike: BikeArgument, fit: FitOption = None, take_off: TakeOffOption = None, set_: SetOption = None,
         catalog: CatalogOption = None, format_: FormatOption = Format.TEXT,
         output: OutputOption = None) -> None:  # fmt: skip
    """Vet a change: what blocks, remedies, extra parts, extra work, what to measure first."""
    if not fit and not take_off:
        raise typer.BadParameter("say what changes: --fit PART[@POSITION] or --take-off POSITION")
    request = {"fit": fit or [], "take_off": take_off or [], "set": set_ or []}
    raise typer.Exit(_write(_answer(bike, request, catalog, format_), output))


def _answer(path: Path, request: dict[str, list[str]], catalog: list[Path] | None, format_: Format) -> dict[str, Any]:
    """The answer to a request: the one that was kept for the same code, files and words, or a new one."""
    bike, contents = bike_content(path), catalogue_contents(catalogue_folders(catalog))
    key = key_of((*installed(), format_, json.dumps(request)), code_files(), (bike, *contents))
    answer: dict[str, Any] | None = kept("answer", key)
    if answer is None:
        from buildcheck.answering import report_for

        report = report_for(bike, contents, request)
        view = {"json": _as_json(report)} if format_ is Format.JSON else _as_lines(report)
        answer = {"code": _code(report), **view}
        keep("answer", key, answer, _KEPT_ANSWERS)
    return answer


@app.command()
def explain(
    name: Annotated[str | None, typer.Argument(metavar="NAME", help="A finding; all of them if left out.")] = None,
    catalog: CatalogOption = None, format_: FormatOption = Format.TEXT,
) -> None:  # fmt: skip
    """A finding's rule: what it looks at, its reason, its source, an example."""
    from buildcheck.rules.pages import pages

    known = pages(open_catalogue(catalog).standards)
    if name is not None and name not in known:
        raise typer.BadParameter(f"no finding is called {name!r}{did_you_mean(name, known)}")
    chosen = list(known.values()) if name is None else [known[name]]
    if format_ is Format.JSON:
        rows = [{field: getattr(page, field) for field in page._fields} for page in chosen]
        print(json.dumps(rows if name is None else rows[0], indent=2, ensure_ascii=False))
    elif name is None:
        for page in chosen:
            print(f"{page.name} ({page.levels[0]})")
            print(textwrap.fill(page.fault, 80, initial_indent="    ", subsequent_indent="    "))
    else:
        _print_page(chosen[0])


def _print_page(page: object) -> None:
    fields = {name: getattr(page, name) for name in ("fault", "why", "cure", "looks_at", "source")}
    print(f"{getattr(page, 'name')} ({', '.join(getattr(page, 'levels'))})\n")
    for label, text in zip(("Fault", "Why", "Cure", "Looks at", "Source"), fields.values(), strict=True):
        print(textwrap.fill(f"{label}: {' '.join(text.split())}", 80, subsequent_indent="  ", break_on_hyphens=False))
    example = next(iter(sorted((cases_folder() / getattr(page, "name")).glob("fires-*.yaml"))), None)
    if example is not None:
        print(f"\nAn example that fires ({example.name}):\n")
        print(textwrap.indent(example.read_text(encoding="utf-8").rstrip(), "  "))


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


@parts_app.command("find")
def parts_find(words: Annotated[list[str], typer.Argument(metavar="WORD…", help="Words of id, name, maker or kind.")],
               catalog: CatalogOption = None) -> None:  # fmt: skip
    """Parts whose id, name, maker and kind hold all the words."""
    catalogue = open_catalogue(catalog)
    hits = 0
    for part_id in sorted(catalogue.ids):
        part = catalogue.part(part_id)
        text = f"{part_id} {part.name} {part.maker} {catalogue.kind_of(part_id)}".casefold()
        if all(word.casefold() in text for word in words):
            hits += 1
            price = part.best_price_eur()
            print(f"{part_id:<34} {catalogue.kind_of(part_id):<16} {'' if price is None else f'EUR {price:.2f}'}")
    print(f"{hits} of {len(catalogue.ids)} parts", file=sys.stderr)


@parts_app.command("show")
def parts_show(
    part: Annotated[str, typer.Argument(metavar="PART", help="The id of a part.")], catalog: CatalogOption = None
) -> None:
    """Everything the catalogue knows of one part, with where it stands."""
    catalogue = open_catalogue(catalog)
    if part not in catalogue:
        raise typer.BadParameter(f"no part {part!r} in the catalogue{catalogue.suggest(part)}")
    record, where = catalogue.part(part), catalogue.where(part)
    print(printable(f"{record.name} by {record.maker} [{part}], {where['']}"))
    for name, value in record.model_dump(mode="json", by_alias=True, exclude_none=True).items():
        if value not in ([], ()) and name not in ("id", "maker", "name"):
            shown = value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
            print(printable(f"  {name}: {shown}"))
    unknown = [name for name, value in record if value is None and name not in ("power", "note", "price_eur")]
    if unknown:
        print(textwrap.fill(f"  not known: {', '.join(unknown)}", 80, subsequent_indent="    "))


@parts_app.command("verify")
def parts_verify(catalog: CatalogOption = None) -> None:
    """Every record against schema and standards; every bundled bike against the parts."""
    from buildcheck.library.bikes import load_bike

    catalogue = open_catalogue(catalog)
    standards = catalogue.standards
    bikes = sorted(bundled_bike("x").parent.glob("*.yaml"))
    for path in bikes:
        load_bike(path, catalogue)
    print(
        f"{len(catalogue.ids)} parts, {len(bikes)} bikes, {len(standards.vocabularies)} vocabularies, "
        f"{len(standards.interfaces)} interfaces, {len(standards.joints)} joint rows, "
        f"{len(standards.operations)} operations: all in order"
    )


def _as_json(report: Report) -> str:
    from buildcheck.report.json_view import report_json

    return report_json(report)


def _as_lines(report: Report) -> dict[str, Any]:
    from buildcheck.report.text import report_lines

    return {"lines": [[line.text, line.style] for line in report_lines(report)]}


def _code(report: Report) -> int:
    """The exit code of a verdict, which no format changes."""
    return OK if report.verdict.startswith("fits") else NOT_SO


def _text_of(answer: dict[str, Any]) -> str:
    return str(answer["json"]) if "json" in answer else "".join(f"{text}\n" for text, _ in answer["lines"])


def _write(answer: dict[str, Any], output: Path | None) -> int:
    """Write an answer, in colour only on a terminal that wants it, and give its exit code."""
    try:
        if output is not None:
            write_whole(output, _text_of(answer))
        elif "lines" in answer and sys.stdout.isatty() and not os.environ.get("NO_COLOR"):
            from buildcheck.report.colour import print_in_colour

            print_in_colour(answer["lines"])
        else:
            sys.stdout.write(_text_of(answer))
        sys.stdout.flush()
    except BrokenPipeError:
        _stop_writing()  # what the reader did not wait for changes nothing about the bike
    return int(answer["code"])


def _stop_writing() -> None:
    """The reader of standard output has gone, as `head` does; what is still to be written goes nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _run() -> int:
    """Run the app. Left to itself Typer ends with 1, as if a bike were blocked, when it is stopped or a pipe breaks."""
    try:
        return int(app(standalone_mode=False) or OK)
    except SystemExit:  # a broken pipe is all that Typer answers so
        raise BrokenPipeError from None


def main() -> NoReturn:
    """Run the command line; a fault of ours never looks like a verdict."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")  # a terminal that lacks a character shows "?" instead
    try:
        code = _run()
        sys.stdout.flush()
        sys.exit(code)
    except _USAGE_ERROR as error:
        getattr(error, "show")()
        sys.exit(UNUSABLE)
    except typer.Abort:
        sys.exit(INTERRUPTED)
    except InputError as error:
        print(error, file=sys.stderr)
        sys.exit(UNUSABLE)
    except BrokenPipeError:
        _stop_writing()
        sys.exit(OK)
    except OSError as error:
        print(f"buildcheck: {error.filename or ''}: {error.strerror or error}", file=sys.stderr)
        sys.exit(UNUSABLE)
    except Exception:
        traceback.print_exc()
        print("buildcheck: this is a fault of buildcheck itself, not of your file; please report it", file=sys.stderr)
        sys.exit(OUR_FAULT)
