"""`buildcheck explain`: the page of a finding, with an example and what cures it."""

from __future__ import annotations

import json
import textwrap
from typing import TYPE_CHECKING, Annotated, Any

import typer

from buildcheck.cli.completing import finding_names
from buildcheck.cli.options import CatalogOption, Format, FormatOption, open_catalogue
from buildcheck.library.folders import cases_folder
from buildcheck.library.problems import did_you_mean

if TYPE_CHECKING:
    from buildcheck.explaining import CurePart, Difference, Example
    from buildcheck.rules.pages import Page


def explain(
    name: Annotated[
        str | None,
        typer.Argument(metavar="NAME", autocompletion=finding_names, help="A finding; all of them if left out."),
    ] = None,
    catalog: CatalogOption = None, format_: FormatOption = Format.TEXT,
) -> None:  # fmt: skip
    """A finding's rule: what it looks at, its reason, its source, an example and its cure."""
    from buildcheck.explaining import example_of
    from buildcheck.rules.pages import pages

    catalogue = open_catalogue(catalog)
    known = pages(catalogue.standards)
    if name is None:
        _list(list(known.values()), format_)
        return
    if name not in known:
        raise typer.BadParameter(f"no finding is called {name!r}{did_you_mean(name, known)}")
    page = known[name]
    example = example_of(name, page.levels[0], catalogue, cases_folder())
    if format_ is Format.JSON:
        print(json.dumps({**_fields(page), "example": _example_fields(example)}, indent=2, ensure_ascii=False))
        return
    _print_page(page)
    if example is not None:
        _print_example(example)


def _list(pages: list[Page], format_: Format) -> None:
    if format_ is Format.JSON:
        print(json.dumps([_fields(page) for page in pages], indent=2, ensure_ascii=False))
        return
    for page in pages:
        print(f"{page.name} ({page.levels[0]})")
        print(textwrap.fill(page.fault, 80, initial_indent="    ", subsequent_indent="    "))


def _fields(page: Page) -> dict[str, Any]:
    return page._asdict()


def _print_page(page: Page) -> None:
    print(f"{page.name} ({', '.join(page.levels)})\n")
    _say("Fault", page.fault)
    _say("Why", page.why)
    _say("Cure", page.cure)
    _say("Looks at", page.looks_at)
    _say("In use", page.in_use)
    _say("Source", page.source)


def _say(label: str, text: str) -> None:
    print(textwrap.fill(f"{label}: {' '.join(text.split())}", 80, subsequent_indent="  ", break_on_hyphens=False))


def _print_example(example: Example) -> None:
    print(f"\nAn example that fires ({example.case.file}):\n")
    print(textwrap.indent(example.case.text.rstrip(), "  ") + "\n")
    _say("Found", str(example.finding.message))
    if example.part is not None:
        _say("Cured by", f"{_cure(example.part)}. Vetted again, it is silent, and nothing else blocks because of it.")
    if example.silent is not None:
        _say("Silent", f"{example.silent.story} ({example.silent.file})")
        for row in map(_difference, example.differences):
            print(textwrap.fill(f"  - {row}", 80, subsequent_indent="    ", break_on_hyphens=False))


def _cure(part: CurePart) -> str:
    if part.id is None:
        return f"leaving off the {part.position} ({part.name})"
    price = "" if part.price_eur is None else f", EUR {part.price_eur:.2f}"
    return f"fitting {part.id} as {part.position} ({part.name}{price})"


def _difference(difference: Difference) -> str:
    if difference.silent is None:
        return f"not: {difference.what} {difference.fires}"
    instead = "" if difference.fires is None else f" instead of {difference.fires}"
    return f"{difference.what}: {difference.silent}{instead}"


def _example_fields(example: Example | None) -> dict[str, Any] | None:
    if example is None:
        return None
    return {
        "case": example.case.file,
        "story": example.case.story,
        "content": example.case.text,
        "level": example.finding.level,
        "message": str(example.finding.message),
        "positions": example.finding.positions,
        "cured_by": None if example.part is None else example.part._asdict(),
        "silent_case": None if example.silent is None else example.silent.file,
        "silent_story": None if example.silent is None else example.silent.story,
        "differences": [difference._asdict() for difference in example.differences],
    }
