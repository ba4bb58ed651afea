"""The report as text: readable at 80 columns and without colour; colour only adds to it on a terminal."""

from __future__ import annotations

from collections.abc import Iterator

from buildcheck.library.problems import printable
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import ChangeItem, MeasureFirst, Minutes, Report, Work
from buildcheck.report.causes import Groups, cause_lines, told_groups
from buildcheck.report.gear_table import gear_lines
from buildcheck.report.lines import TextLine, head, hours, money, wrapped
from buildcheck.report.remedies import remedy_lines
from buildcheck.report.unknowns import MOST_TOLD_WHOLE, unknown_lines, unneeded_lines

VERDICTS = {
    Verdict.BLOCKED: "BLOCKED: this cannot or must not be ridden so.",
    Verdict.UNDECIDED: "UNDECIDED: what is not known yet, and told below, could block it.",
    Verdict.FITS_WITH_EXTRA_WORK: "FITS WITH EXTRA WORK: it can be done, with what is named below.",
    Verdict.FITS: "FITS: nothing was found that blocks it, and no extra parts are needed.",
}
_HEADS = {
    Level.BLOCKS: "What blocks",
    Level.UNKNOWN: "What is not known and could block",
    Level.EXTRA: "What it brings with it",
    Level.CAUTION: "Risks to tell",
    Level.NOTE: "Good to know",
}


# Nobody measures more before the next look at the report (our choice).
_MOST_MEASURED = 24


def report_lines(report: Report) -> Iterator[TextLine]:
    """The whole report, line by line; no name from a file can send escape codes to a terminal."""
    return (TextLine(printable(line.text), line.style) for line in _lines(report))


def why_lines(report: Report) -> Iterator[TextLine]:
    """What blocks with all its causes, and the search for remedies with its proof."""
    return (TextLine(printable(line.text), line.style) for line in _why(report))


def _why(report: Report) -> Iterator[TextLine]:
    yield from _asked(report)
    groups = told_groups(report.findings)
    yield from _level(report, groups, Level.BLOCKS)
    yield from remedy_lines(report)
    yield from _level(report, groups, Level.UNKNOWN)


def _asked(report: Report) -> Iterator[TextLine]:
    yield TextLine(f"{VERDICTS[report.verdict]}", str(report.verdict))
    yield from wrapped(f"Bike: {report.bike_name} [{report.bike}]")
    for item in report.change:
        yield from wrapped(f"Change: {change_words(item)}")


def _lines(report: Report) -> Iterator[TextLine]:
    yield from _asked(report)
    yield from _effort(report.work)
    # On a change, what was there before is told apart further down, except for what blocks.
    groups = told_groups(
        finding for finding in report.findings
        if finding.since is Since.CHANGE or not report.change or (finding.level is Level.BLOCKS and finding.counts)
    )  # fmt: skip
    yield from _level(report, groups, Level.BLOCKS)
    yield from remedy_lines(report)
    yield from _level(report, groups, Level.UNKNOWN)
    yield from _measure(report)
    yield from _level(report, groups, Level.EXTRA)
    yield from _work(report)
    yield from gear_lines(report.gears)
    for level in (Level.CAUTION, Level.NOTE):
        yield from _level(report, groups, level)
    yield from _cleared(report)
    yield from _before(report)
    yield from _cautions(report)


def change_words(item: ChangeItem) -> str:
    """One thing that was asked for, in words."""
    where = ", ".join(f"{key} {value}" for key, value in item.where.items())
    if item.take_off:
        return f"take off the {item.position}"
    if item.renew is not None:
        return f"put in {item.renew} new as {item.position}"
    if item.fit is not None:
        return f"fit {item.fit} as {item.position}" + (f" ({where})" if where else "")
    return f"move the {item.position}: {where}"


def _level(report: Report, groups: Groups, level: Level) -> Iterator[TextLine]:
    here = {key: group for key, group in groups.items() if key[2] is level}
    found = [finding for group in here.values() for told in group for finding in told.findings]
    if here:
        yield from head(f"{_HEADS[level]} ({len(found)})")
    if level is Level.UNKNOWN and len(found) > MOST_TOLD_WHOLE:
        yield from unknown_lines(found)
        return
    for (name, since, _), group in here.items():
        old = bool(report.change) and since is Since.BEFORE
        yield TextLine(f"* {name}{' (was there before)' if old else ''}", str(level))
        for told in group:
            for finding in told.findings:
                yield from wrapped(f"- {finding.message}", 2, 4)
            yield from cause_lines(told)


def _measure(report: Report) -> Iterator[TextLine]:
    if report.measure_first:
        yield from head("Measure first")
        for number, row in enumerate(report.measure_first[:_MOST_MEASURED], 1):
            yield from wrapped(f"{number}. {row.position}.{row.attribute} ({row.minutes:g} min): {row.how}", 0, 3)
            yield from wrapped(f"decides {', '.join(row.decides)}; {_settles(row)}", 3, 5)
        if len(report.measure_first) > _MOST_MEASURED:
            yield TextLine(f"… {len(report.measure_first) - _MOST_MEASURED} more in the JSON report")


def _settles(row: MeasureFirst) -> str:
    if not row.outcomes:
        return "is asked first"
    if not row.settles:
        return "settles nothing by itself, only together with the others"
    return f"settles {row.settles} of {row.outcomes} possible outcomes"


def _effort(work: Work) -> Iterator[TextLine]:
    """The bare swap against what it really takes, in hours and in money."""
    if work.operations:
        asked, real = work.asked_minutes.mean, work.asked_minutes.mean + work.extra_minutes.mean
        yield TextLine("")
        yield TextLine(f"{'':<24}{'time':>14}{'at the bench':>16}")
        yield TextLine(f"{'Asked work':<24}{hours(asked):>14}{money(work.asked_cost):>16}")
        yield TextLine(f"{'Real work':<24}{hours(real):>14}{money(work.asked_cost + work.extra_cost):>16}", "strong")


def _work(report: Report) -> Iterator[TextLine]:
    work = report.work
    if not work.operations:
        return
    yield from head("Work")
    if report.work_note:
        yield from wrapped(f"({report.work_note})")
    total = work.asked_minutes.mean + work.extra_minutes.mean
    yield TextLine(f"Asked, the bare swap:       {hours(work.asked_minutes.mean):>12}")
    yield TextLine(f"What this bike adds:        {hours(work.extra_minutes.mean):>12}   {_range(work.extra_minutes)}")
    yield TextLine(f"In all:                     {hours(total):>12}", "strong")
    for note in work.notes:
        yield from wrapped(f"* {note}")
    yield TextLine("")
    for number, operation in enumerate(work.operations, 1):
        name = operation.id.partition("@")[0].replace("-", " ")
        where = (operation.position or "").replace("-", " ")
        place = "" if not where or name.endswith(where) else f": {where}"
        yield TextLine(f"{number:>3}. {operation.minutes.mean:>4.0f} min  {name}{place}")
    used: dict[tuple[str, str], float] = {}
    for operation in work.operations:
        for item in operation.consumables:
            used[item.what, item.unit] = used.get((item.what, item.unit), 0) + item.amount
    if used:
        items = ", ".join(
            f"{what} {amount:g} {unit.removesuffix('s') if amount == 1 else unit}"
            for (what, unit), amount in sorted(used.items())
        )
        yield from wrapped(f"Uses up: {items}", 0, 2)


def _range(minutes: Minutes) -> str:
    return f"(8 in 10 such jobs: under {hours(minutes.p80)})"


def _cleared(report: Report) -> Iterator[TextLine]:
    if report.cleared:
        yield from head("What the change clears")
        for finding in report.cleared:
            yield from wrapped(f"* {finding.name}: {finding.message}", 0, 2)


def _before(report: Report) -> Iterator[TextLine]:
    if not report.change:
        return
    old = [f for f in report.findings if f.since is Since.BEFORE and not (f.level is Level.BLOCKS and f.counts)]
    if old:
        yield from head("There before, and not touched by the change")
        unknown = [finding for finding in old if finding.level is Level.UNKNOWN]
        if len(unknown) > MOST_TOLD_WHOLE:
            yield from unneeded_lines(unknown)
            old = [finding for finding in old if finding.level is not Level.UNKNOWN]
        for finding in old:
            yield from wrapped(f"* {finding.name} ({finding.level}): {finding.message}", 0, 2)


def _cautions(report: Report) -> Iterator[TextLine]:
    yield from head("Cautions")
    for caution in report.cautions:
        yield from wrapped(str(caution), 0, 0)
