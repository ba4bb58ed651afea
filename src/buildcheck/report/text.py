"""The report as text: readable at 80 columns and without colour; colour only adds to it on a terminal."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby

from buildcheck.library.problems import printable
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import ChangeItem, MeasureFirst, Minutes, Remedy, Report
from buildcheck.report.causes import Groups, cause_lines, told_groups
from buildcheck.report.gear_table import gear_lines
from buildcheck.report.lines import Line, head, money, wrapped

_VERDICTS = {
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


def report_lines(report: Report) -> Iterator[Line]:
    """The whole report, line by line; no name from a file can send escape codes to a terminal."""
    return (Line(printable(line.text), line.style) for line in _lines(report))


def _lines(report: Report) -> Iterator[Line]:
    yield Line(f"{_VERDICTS[report.verdict]}", str(report.verdict))
    yield from wrapped(f"Bike: {report.bike_name} [{report.bike}]")
    for item in report.change:
        yield from wrapped(f"Change: {_change(item)}")
    if report.work.operations:
        asked, extra = report.work.asked_minutes.mean, report.work.extra_minutes.mean
        yield from wrapped(f"Work: {_hours(asked)} as asked, {_hours(asked + extra)} really (means of the book times)")
    # On a change, what was there before is told apart further down, except for what blocks.
    groups = told_groups(
        finding for finding in report.findings
        if finding.since is Since.CHANGE or not report.change or finding.level is Level.BLOCKS
    )  # fmt: skip
    for level in (Level.BLOCKS, Level.UNKNOWN, Level.EXTRA):
        yield from _level(report, groups, level)
    yield from _measure(report)
    yield from _remedies(report)
    yield from _work(report)
    yield from gear_lines(report.gears)
    for level in (Level.CAUTION, Level.NOTE):
        yield from _level(report, groups, level)
    yield from _cleared(report)
    yield from _before(report)
    yield from _cautions(report)


def report_text(report: Report) -> str:
    """The report as one text."""
    return "\n".join(line.text for line in report_lines(report)) + "\n"


def _change(item: ChangeItem) -> str:
    return f"take off the {item.position}" if item.take_off else f"fit {item.fit} as {item.position}"


def _level(report: Report, groups: Groups, level: Level) -> Iterator[Line]:
    here = {key: group for key, group in groups.items() if key[2] is level}
    if here:
        yield from head(f"{_HEADS[level]} ({sum(len(told.findings) for group in here.values() for told in group)})")
    for (name, since, _), group in here.items():
        old = bool(report.change) and since is Since.BEFORE
        yield Line(f"* {name}{' (was there before)' if old else ''}", str(level))
        for told in group:
            for finding in told.findings:
                yield from wrapped(f"- {finding.message}", 2, 4)
            yield from cause_lines(told)


def _measure(report: Report) -> Iterator[Line]:
    if report.measure_first:
        yield from head("Measure first")
        for number, row in enumerate(report.measure_first, 1):
            yield from wrapped(f"{number}. {row.position}.{row.attribute} ({row.minutes:g} min): {row.how}", 0, 3)
            yield from wrapped(f"decides {', '.join(row.decides)}; {_settles(row)}", 3, 5)


def _settles(row: MeasureFirst) -> str:
    if not row.settles:
        return "settles nothing by itself, only together with the others"
    return f"settles {row.settles} of {row.outcomes} possible outcomes"


def _hours(minutes: float) -> str:
    hours, rest = divmod(round(minutes), 60)
    return f"{hours} h {rest:02d} min"


def _remedies(report: Report) -> Iterator[Line]:
    if not report.remedies and not report.remedies_note:
        return
    yield from head("What would clear it")
    full = [remedy for remedy in report.remedies if remedy.complete]
    for number, remedy in enumerate(full, 1):
        yield from _full_remedy(number, remedy)
    yield from wrapped(report.remedies_note)
    singles = [remedy for remedy in report.remedies if not remedy.complete]
    if singles:
        yield Line("One by one, with price and minutes to fit (each clears only what is named):")
    asked = {item.position for item in report.change if item.fit is not None}
    for (names, position), group in groupby(singles, key=lambda remedy: (remedy.clears, remedy.parts[0].position)):
        instead = " (instead of what was asked for)" if position in asked else ""
        choices = "; ".join(dict.fromkeys(_choice(remedy) for remedy in group))  # one for each of its findings
        yield from wrapped(f"- {', '.join(names)}, {position}{instead}: {choices}", 2, 4)


def _choice(remedy: Remedy) -> str:
    part = remedy.parts[0]
    price = "" if part.id is None else f"{money(part.price)}, "
    then = f", then {', '.join(remedy.adds)}" if remedy.adds else ""
    return f"{part.id or part.name} ({price}{remedy.extra_minutes.mean:.0f} min{then})"


def _full_remedy(number: int, remedy: Remedy) -> Iterator[Line]:
    yield from wrapped(
        f"Remedy {number}: parts {money(remedy.parts_cost)}, with the bench time that the whole change then adds "
        f"{money(remedy.total_cost)}. {remedy.proof}",
        0, 2,
    )  # fmt: skip
    for part in remedy.parts:
        price = money(part.price).rjust(14) if part.id else "".rjust(14)
        yield from wrapped(f"{part.position:<22}{price}  {part.id or part.name}", 2, 40)


def _work(report: Report) -> Iterator[Line]:
    work = report.work
    if not work.operations:
        return
    yield from head("Work")
    if report.work_note:
        yield from wrapped(f"({report.work_note})")
    total = work.asked_minutes.mean + work.extra_minutes.mean
    yield Line(f"Asked, the bare swap:       {_hours(work.asked_minutes.mean):>12}")
    yield Line(f"What this bike adds:        {_hours(work.extra_minutes.mean):>12}   {_range(work.extra_minutes)}")
    yield Line(f"In all:                     {_hours(total):>12}", "strong")
    yield Line("")
    for number, operation in enumerate(work.operations, 1):
        name = operation.id.partition("@")[0].replace("-", " ")
        where = (operation.position or "").replace("-", " ")
        place = "" if not where or name.endswith(where) else f": {where}"
        yield Line(f"{number:>3}. {operation.minutes.mean:>4.0f} min  {name}{place}")
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
    return f"(8 in 10 such jobs: under {_hours(minutes.p80)})"


def _cleared(report: Report) -> Iterator[Line]:
    if report.cleared:
        yield from head("What the change clears")
        for finding in report.cleared:
            yield from wrapped(f"* {finding.name}: {finding.message}", 0, 2)


def _before(report: Report) -> Iterator[Line]:
    if not report.change:
        return
    old = [f for f in report.findings if f.since is Since.BEFORE and f.level is not Level.BLOCKS]
    if old:
        yield from head("There before, and not touched by the change")
        for finding in old:
            yield from wrapped(f"* {finding.name} ({finding.level}): {finding.message}", 0, 2)


def _cautions(report: Report) -> Iterator[Line]:
    yield from head("Cautions")
    for caution in report.cautions:
        yield from wrapped(caution, 0, 0)
