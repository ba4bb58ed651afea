"""`buildcheck parts …`: looking into the catalogue."""

from __future__ import annotations

import json
import shutil
import sys
import textwrap
from typing import Annotated

import typer

from buildcheck.cli.completing import all_positions, part_names
from buildcheck.cli.options import (
    BikeArgument,
    CatalogOption,
    Format,
    FormatOption,
    OutputOption,
    SetOption,
    StockOption,
    catalogue_folders,
    open_catalogue,
)
from buildcheck.cli.output import NOT_SO, OK, write
from buildcheck.cli.progress import Watch
from buildcheck.library.folders import bike_content, bundled_bike, catalogue_contents, stock_content
from buildcheck.library.problems import printable

parts_app = typer.Typer(no_args_is_help=True, rich_markup_mode=None, help="Look into the catalogue.")


@parts_app.command("find")
def parts_find(words: Annotated[list[str], typer.Argument(metavar="WORD…", help="Words of id, name, maker or kind.")],
               stock: StockOption = None, catalog: CatalogOption = None) -> None:  # fmt: skip
    """Parts that all the words fit: of id, name, maker and kind, or as the trade calls them."""
    from buildcheck.library.looking import parts_found, sizes_told
    from buildcheck.library.stock import stock_of

    catalogue = open_catalogue(catalog)
    lying = None if stock is None else stock_of(stock_content(stock), catalogue)
    hits, width = 0, shutil.get_terminal_size().columns if sys.stdout.isatty() else sys.maxsize
    for part in parts_found(words, catalogue):
        hits += 1
        price, pieces = part.best_price_eur(), ""
        if lying is not None:
            held = lying.get(part.id)
            pieces = f"{held.quantity if held is not None else 0:>4} in stock"
            price = held.price_eur if held is not None and held.quantity else price
        told = f"{part.id:<34} {'' if price is None else f'EUR {price:.2f}':>11}{pieces}"
        print(printable("  ".join(filter(None, (told, sizes_told(part, catalogue.standards), part.name))))[:width])
    print(f"{hits} of {len(catalogue.ids)} parts", file=sys.stderr)


@parts_app.command("show")
def parts_show(
    part: Annotated[str, typer.Argument(metavar="PART", autocompletion=part_names, help="The id of a part.")],
    catalog: CatalogOption = None,
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
    """Every record against schema and standards; every bundled bike against the parts; the texts of each language."""
    from buildcheck.library.bikes import load_bike
    from buildcheck.library.texts import languages, load_texts

    catalogue = open_catalogue(catalog)
    standards = catalogue.standards
    bikes = sorted(bundled_bike("x").parent.glob("*.yaml"))
    for path in bikes:
        load_bike(path, catalogue)
    for language in languages():
        load_texts(language, catalogue_folders(catalog))
    print(
        f"{len(catalogue.ids)} parts, {len(bikes)} bikes, {len(standards.vocabularies)} vocabularies, "
        f"{len(standards.interfaces)} interfaces, {len(standards.joints)} joint rows, "
        f"{len(standards.operations)} operations: all in order"
    )


@parts_app.command("fits")
def parts_fits(
    bike: BikeArgument,
    position: Annotated[
        str,
        typer.Argument(metavar="POSITION", autocompletion=all_positions, help="A position of the bike, filled or not."),
    ],
    set_: SetOption = None, stock: StockOption = None, catalog: CatalogOption = None,
    format_: FormatOption = Format.TEXT, output: OutputOption = None,
) -> None:  # fmt: skip
    """What fits a position of a bike, and why the rest does not. Ends with 1 if nothing fits."""
    from buildcheck.answering import choices_for
    from buildcheck.report.choices import choices_json, choices_lines

    contents = catalogue_contents(catalogue_folders(catalog))
    with Watch():
        pieces = None if stock is None else stock_content(stock)
        found = choices_for(bike_content(bike), contents, position, set_ or [], pieces)
    view = {"json": choices_json(found)} if format_ is Format.JSON else {"lines": list(choices_lines(found))}
    raise typer.Exit(write({"code": OK if found.fits else NOT_SO, **view}, output))
