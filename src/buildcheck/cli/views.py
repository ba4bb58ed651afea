"""How much of a report is shown: for the counter in 30 lines, all of it, or why with the proof."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from buildcheck.cli.options import Format
from buildcheck.cli.output import NOT_SO, OK

if TYPE_CHECKING:  # not every command needs it
    from buildcheck.model.report import Report


class ReportView(NamedTuple):
    """What of a report is asked for, and the command by which it was: its name, the bike, the options as typed."""

    command: str
    bike: str
    options: tuple[str, ...] = ()
    all_: bool = False
    why: bool = False
    format_: Format = Format.TEXT


def viewed(report: Report, view: ReportView) -> dict[str, Any]:
    """A report as it is written, with its exit code, which no format changes."""
    code = OK if report.verdict.startswith("fits") else NOT_SO
    if view.format_ is Format.JSON:
        from buildcheck.report.json_view import report_json

        return {"code": code, "json": report_json(report)}
    return {"code": code, "lines": [[line.text, line.style] for line in _lines(report, view)]}


def _lines(report: Report, view: ReportView) -> Any:
    if view.all_ or view.why:
        from buildcheck.report.text import report_lines, why_lines

        return report_lines(report) if view.all_ else why_lines(report)
    from buildcheck.report.counter import Asked, counter_lines

    return counter_lines(report, Asked(view.command, view.bike, view.options, Path(view.bike).is_file()))
