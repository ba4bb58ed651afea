"""What fits a position, as text and as JSON; the schema is schemas/choices.schema.json."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence

from pydantic import TypeAdapter

from buildcheck.library.problems import printable
from buildcheck.model.choices import Choice, Choices
from buildcheck.model.levels import Level, Verdict
from buildcheck.report.lines import WIDTH, TextLine, head, money, wrapped

_MOST_NAMES = 4


def choices_json(found: Choices) -> str:
    """The whole answer, with a newline at the end."""
    plain = TypeAdapter(Choices).dump_python(found, mode="json")
    return json.dumps(plain, indent=2, ensure_ascii=False) + "\n"


def choices_lines(found: Choices) -> Iterator[TextLine]:
    """The answer line by line; no name from a file can send escape codes to a terminal."""
    return (TextLine(printable(line.text), line.style) for line in _lines(found))


def _lines(found: Choices) -> Iterator[TextLine]:
    place = found.position.replace("-", " ")
    number = len(found.fits) + len(found.undecided) + len(found.blocked)
    style = str(Verdict.FITS if found.fits else Verdict.BLOCKED)
    yield TextLine(f"{len(found.fits)} of {number} parts fit as {place}.", style)
    yield from wrapped(f"Bike: {found.bike_name} [{found.bike}]")
    yield from wrapped(f"Fitted now: {found.fitted_now or 'nothing'}")
    for verdict, title in ((Verdict.FITS, "Fits"), (Verdict.FITS_WITH_EXTRA_WORK, "Fits with extra work")):
        yield from _table(title, [choice for choice in found.fits if choice.verdict is verdict])
    yield from _table("Undecided: what could block is not known", found.undecided)
    yield from _causes(found)
    yield TextLine("")
    yield from wrapped("A pre-check from records. The makers' papers and a qualified mechanic have the last word.")


def _table(title: str, choices: Sequence[Choice]) -> Iterator[TextLine]:
    if not choices:
        return
    yield from head(f"{title} ({len(choices)})")
    for choice in choices:
        yield TextLine(_row(choice))
        if choice.names:
            more = len(choice.names) - _MOST_NAMES
            names = ", ".join(choice.names[:_MOST_NAMES]) + (f" and {more} more" if more > 0 else "")
            yield from wrapped(names, 17, 17)


def _row(choice: Choice) -> str:
    """Price, stock, id, key sizes and name on one line; what has no room is cut."""
    stock = "" if choice.in_stock is None else f"  {choice.in_stock or '-':>3}"
    text = f"{money(choice.price):>13}{stock}  {choice.id}"
    text = "  ".join(filter(None, (text, choice.sizes, choice.name)))
    return text if len(text) <= WIDTH else f"{text[: WIDTH - 1]}…"


def _causes(found: Choices) -> Iterator[TextLine]:
    if not found.causes:
        return
    yield from head("Why the others do not (a part may have several causes)")
    for cause in found.causes:
        unsure = " (not known)" if cause.level is Level.UNKNOWN else ""
        text = f"{cause.count:>4} x {cause.name}{unsure}, such as {cause.example_id}: {cause.example}"
        yield from wrapped(text, 0, 7)
