"""The program as a library, as `from buildcheck import …` gives it: what the command line itself calls."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from os import PathLike
from pathlib import Path

from buildcheck.answering import report_of
from buildcheck.library.bikes import load_bike
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.folders import actuals_content, stock_content
from buildcheck.library.problems import InputError
from buildcheck.model.bikes import Bike
from buildcheck.model.report import Report

__all__ = ["Bike", "Catalogue", "InputError", "Report", "read_bike", "swap", "vet"]


def read_bike(bike: str | PathLike[str], catalogue: Catalogue) -> Bike:
    """A bike from its file, or by the name of a bundled bike; `-` is standard input.

    Raises InputError, which carries every problem of the file with its line.
    """
    return load_bike(Path(bike), catalogue)


def vet(bike: Bike, catalogue: Catalogue, *, set: Sequence[str] = ()) -> Report:
    """The report on a bike as it stands.

    `set` are facts measured on it, as "handlebar.clamp_mm=31.8". Units stand in the names of attributes: _mm, _deg,
    _bar, _nm, _g. Raises InputError for what is no fact of the bike.
    """
    return report_of(bike, catalogue, {"set": set})


def swap(
    bike: Bike, catalogue: Catalogue, *,
    fit: Sequence[str] = (), renew: Sequence[str] = (), move: Sequence[str] = (), take_off: Sequence[str] = (),
    set: Sequence[str] = (),
    rate: float | str | None = None, keep: Sequence[str] = (), exclude: Sequence[str] = (),
    stock: str | PathLike[str] | None = None, actuals: str | PathLike[str] | None = None,
    stop: Callable[[int], str] | None = None,
) -> Report:  # fmt: skip
    """The report on a change: verdict, findings, remedies, work in minutes and euros, what to measure first.

    `fit` are parts, as "PART", "PART@POSITION" or "PART@POSITION,on=…"; `renew` are positions where the same part comes
    new, `move` is as "POSITION,on=POSITION"; `take_off` and `keep` are positions; `set` is as in `vet`, also for parts
    that are to be fitted; `exclude` are parts that no remedy uses. `rate` is in euros for an hour, that of the
    catalogue's shop if left out. `stock` and `actuals` are CSV files: parts in the shop, and minutes that operations
    really took. `stop` is asked during the search for remedies, with the sets of parts vetted so far; an answer ends
    the search and is told in `search.limit`.

    Raises InputError, as for a part, a position or an attribute that there is not; ValueError where nothing changes.
    """
    if not (fit or renew or move or take_off):
        raise ValueError("nothing changes: say what to fit, to put in new, to move or to take off")
    request = {
        "fit": fit, "renew": renew, "move": move, "take_off": take_off, "set": set,
        "rate": () if rate is None else (str(rate),),
        "keep": keep, "exclude": exclude,
    }  # fmt: skip
    return report_of(
        bike, catalogue, request,
        None if stock is None else stock_content(Path(stock)), stop,
        None if actuals is None else actuals_content(Path(actuals)),
    )  # fmt: skip
