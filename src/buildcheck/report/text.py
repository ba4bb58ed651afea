"""The report as text: readable at 80 columns and without colour; colour only adds to it on a terminal."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from buildcheck.library.problems import printable
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import ChangeItem, Minutes, Remedy, Report

WIDTH = 80
_MOST_CAUSE_LINES = 12
_VERDICTS = {
    Verdict.BLOCKED: "BLOCKED: this cannot or must not be ridden so.",
    Verdict.UNDECIDED: "UNDECIDED: a missing fact could block it; measure first.",
    Verdict.FITS_WITH_EXTRA_WORK: "FITS WITH EXTRA WORK: it can be done, with what is named below.",
    Verdict.FITS: "FITS: nothing blocks it and nothing extra was found.",
}
_HEADS = {
    Level.BLOCKS: "What blocks",
    Level.UNKNOWN: "What is not known and could block",
    Level.EXTRA: "What it brings with it",
    Level.CAUTION: "Risks to tell",
    Level.NOTE: "Good to know",
}


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the report with the name of its style."""

    text: str
    style: str = "plain"


def report_lines(report: Report) -> Iterator[Line]:
    """The whole report, line by line; no name from a file can send escape codes to a terminal."""
    return (Line(printable(line.text), line.style) for line in _lines(report))


def _lines(report: Report) -> Iterator[Line]:
    yield Line(f"{_VERDICTS[report.verdict]}", str(report.verdict))
    yield from _wrapped(f"Bike: {report.bike_name} [{report.bike}]")
    for item in report.change:
        yield from _wrapped(f"Change: {_change(item)}")
    for level in (Level.BLOCKS, Level.UNKNOWN, Level.EXTRA):
        yield from _level(report, level)
    yield from _measure(report)
    yield from _remedies(report)
    yield from _work(report)
    for level in (Level.CAUTION, Level.NOTE):
        yield from _level(report, level)
    yield from _cleared(report)
    yield from _before(report)
    yield from _cautions(report)


def report_text(report: Report) -> str:
    """The report as one text."""
    return "\n".join(line.text for line in report_lines(report)) + "\n"


def _change(item: ChangeItem) -> str:
    return f"take off the {item.position}" if item.take_off else f"fit {item.fit} as {item.position}"


def _wrapped(text: str, indent: int = 0, hang: int | None = None, style: str = "plain") -> Iterator[Line]:
    first, later = " " * indent, " " * (indent if hang is None else hang)
    for row in textwrap.wrap(
        text, WIDTH, initial_indent=first, subsequent_indent=later, break_long_words=False, break_on_hyphens=False
    ):
        yield Line(row, style)


def _head(text: str) -> Iterator[Line]:
    yield Line("")
    yield Line(text, "head")
    yield Line("-" * len(text), "head")


def _level(report: Report, level: Level) -> Iterator[Line]:
    # On a change, what was there before is told apart further down, except for what blocks.
    findings = [
        finding for finding in report.findings
        if finding.level is level and (finding.since is Since.CHANGE or not report.change or level is Level.BLOCKS)
    ]  # fmt: skip
    if findings:
        yield from _head(f"{_HEADS[level]} ({len(findings)})")
        for finding in findings:
            yield from _finding(finding)


def _finding(finding: Finding) -> Iterator[Line]:
    since = " (was there before)" if finding.since is Since.BEFORE and finding.level is Level.BLOCKS else ""
    yield Line(f"* {finding.name}{since}", str(finding.level))
    yield from _wrapped(finding.message, 2)
    lines = list(_causes(finding.because, 4))
    yield from lines[:_MOST_CAUSE_LINES]
    if len(lines) > _MOST_CAUSE_LINES:
        yield Line(f"    … {len(lines) - _MOST_CAUSE_LINES} more lines in the JSON report")


def _causes(causes: Iterable[Cause], indent: int) -> Iterator[Line]:
    for cause in causes:
        yield from _wrapped(f"because {cause.text}", indent, indent + 2)
        yield from _causes(cause.because, indent + 2)


def _measure(report: Report) -> Iterator[Line]:
    if report.measure_first:
        yield from _head("Measure first")
        for number, row in enumerate(report.measure_first, 1):
            yield from _wrapped(f"{number}. {row.position}.{row.attribute} ({row.minutes:g} min): {row.how}", 0, 3)
            yield from _wrapped(f"decides {', '.join(row.decides)}", 3, 5)


def _money(value: float | None) -> str:
    return "price unknown" if value is None else f"EUR {value:.2f}"


def _hours(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02d} min"


def _remedies(report: Report) -> Iterator[Line]:
    if not report.remedies and not report.remedies_note:
        return
    yield from _head("What would clear it")
    full = [remedy for remedy in report.remedies if remedy.complete]
    for number, remedy in enumerate(full, 1):
        yield from _full_remedy(number, remedy)
    yield from _wrapped(report.remedies_note)
    singles = [remedy for remedy in report.remedies if not remedy.complete]
    if singles:
        yield Line("Choices one by one (each clears only what it names):")
    seen: set[tuple[str, ...]] = set()
    for remedy in singles:
        key = tuple(f"{part.id}@{part.position}" for part in remedy.parts)
        if key not in seen:
            seen.add(key)
            parts = ", ".join(f"{part.id or 'take off'}@{part.position}" for part in remedy.parts)
            yield from _wrapped(f"- {parts} ({_money(remedy.parts_cost)}) clears {', '.join(remedy.clears)}", 2, 4)


def _full_remedy(number: int, remedy: Remedy) -> Iterator[Line]:
    yield from _wrapped(
        f"Remedy {number}: parts {_money(remedy.parts_cost)}, with the bench time that the whole change then adds "
        f"{_money(remedy.total_cost)}. {remedy.proof}",
        0, 2,
    )  # fmt: skip
    for part in remedy.parts:
        price = _money(part.price).rjust(14) if part.id else "".rjust(14)
        yield Line(f"  {part.position:<22}{price}  {part.id or part.name}")


def _work(report: Report) -> Iterator[Line]:
    work = report.work
    if not work.operations:
        return
    yield from _head("Work")
    if report.work_note:
        yield from _wrapped(f"({report.work_note})")
    total = work.asked_minutes.mean + work.extra_minutes.mean
    yield Line(f"Asked, the bare swap:       {_hours(work.asked_minutes.mean):>12}")
    yield Line(f"What this bike adds:        {_hours(work.extra_minutes.mean):>12}   {_range(work.extra_minutes)}")
    yield Line(f"In all:                     {_hours(total):>12}", "strong")
    yield Line("")
    for number, operation in enumerate(work.operations, 1):
        place = f" [{operation.position}]" if operation.position else ""
        yield from _wrapped(f"{number:>2}. {operation.minutes.mean:>3.0f} min  {operation.what}{place}", 0, 13)
    used: dict[tuple[str, str], float] = {}
    for operation in work.operations:
        for item in operation.consumables:
            used[item.what, item.unit] = used.get((item.what, item.unit), 0) + item.amount
    if used:
        items = ", ".join(f"{what} {amount:g} {unit}" for (what, unit), amount in sorted(used.items()))
        yield from _wrapped(f"Uses up: {items}", 0, 2)


def _range(minutes: Minutes) -> str:
    return f"(8 in 10 such jobs: under {_hours(minutes.p80)})"


def _cleared(report: Report) -> Iterator[Line]:
    if report.cleared:
        yield from _head("What the change clears")
        for finding in report.cleared:
            yield from _wrapped(f"* {finding.name}: {finding.message}", 0, 2)


def _before(report: Report) -> Iterator[Line]:
    if not report.change:
        return
    old = [f for f in report.findings if f.since is Since.BEFORE and f.level is not Level.BLOCKS]
    if old:
        yield from _head("There before, and not touched by the change")
        for finding in old:
            yield from _wrapped(f"* {finding.name} ({finding.level}): {finding.message}", 0, 2)


def _cautions(report: Report) -> Iterator[Line]:
    yield from _head("Cautions")
    for caution in report.cautions:
        yield from _wrapped(caution, 0, 0)
