"""The report for the counter: the verdict, why, what to order, hours and money, what to measure, and what to type next.

At most 30 lines of 80 columns, whatever was asked. What has no room is counted, and stands in the whole report.
"""

from __future__ import annotations

import shlex
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from buildcheck.library.problems import printable
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import FindingRef, Outcome, Remedy, RemedyPart, Report, RootCause
from buildcheck.model.sentences import Said
from buildcheck.report.budget import ALL, headed, listed, numbered, paragraph, within_budget
from buildcheck.report.lines import WIDTH, TextLine, hours, money
from buildcheck.report.text import VERDICTS, change_words

# What is made shorter first, and last: our choice. What the rider has to know, and why not, goes last.
_ORDER = (
    *["cleared", "before", "measure", "unknown", "measure", "unknown", "extra", "order", "why", "measure", "unknown"],
    *["risks", "why", "change", "measure", "unknown", "risks", "why", "risks", "why", "order", "why", "next", "why"],
    *["order", "why", "measure", "unknown", "order", "why", "risks", "order"],
)
_PRE_CHECK = "A pre-check from records. Makers' papers and a qualified mechanic come first."
_MOST_WORDS = 5  # names that one line can tell and still be read: our choice


@dataclass(frozen=True)
class Asked:
    """How this report was asked for: the command's name, the bike, and the options as they were typed."""

    command: str
    bike: str
    options: tuple[str, ...] = ()
    own_file: bool = False

    def again(self, command: str, *more: str, same: bool = True) -> tuple[str, ...]:
        """The words of another command on the same bike, with the same options or without them."""
        return ("buildcheck", *command.split(), self.bike, *(self.options if same else ()), *more)

    def to_ask(self) -> tuple[str, ...]:
        """The command that asks for what is not known, which takes only what changes."""
        pairs = zip(self.options[::2], self.options[1::2], strict=True)
        kept = (word for pair in pairs if pair[0] in ("--fit", "--take-off", "--catalog") for word in pair)
        return ("buildcheck", "ask", self.bike, *kept)

    def with_value(self, command: str, name: str) -> tuple[str, ...]:
        """The same command with another fact told, in place of what was told of it."""
        pairs = zip(self.options[::2], self.options[1::2], strict=True)
        kept = (word for pair in pairs if pair[1].partition("=")[0] != name for word in pair)
        return ("buildcheck", command, self.bike, *kept, "--set", f"{name}=VALUE")


def counter_lines(report: Report, asked: Asked) -> Iterator[TextLine]:
    """The report line by line; no name from a file can send escape codes to a terminal."""
    return iter(_Counter(report, asked).lines())


class _Counter:
    def __init__(self, report: Report, asked: Asked) -> None:
        self.report, self.asked = report, asked
        self.found = {FindingRef(finding.name, finding.positions): finding for finding in report.findings}
        self.remedy = report.remedies[0] if report.remedies else None
        # What it would take is of no use where it cannot be done.
        self.hopeless = bool(report.change) and report.verdict is Verdict.BLOCKED and self.remedy is None

    def lines(self) -> list[TextLine]:
        return within_budget(
            {
                "head": [self._head()],
                "change": self._change(),
                "why": self._why(),
                "unknown": self._unknown(),
                "order": self._order(),
                "measure": self._measure(),
                "risks": self._risks(),
                "extra": self._extra(),
                "before": self._before(),
                "cleared": self._cleared(),
                "cautions": [self._cautions()],
                "next": self._next(),
            },
            _ORDER,
        )

    # -- what was asked

    def _head(self) -> list[TextLine]:
        report = self.report
        return [
            *paragraph(VERDICTS[report.verdict], style=str(report.verdict)),
            *paragraph(_named(report.bike_name, report.bike), most=1),
        ]

    def _change(self) -> list[list[TextLine]]:
        words = [f"Change: {change_words(item)}" for item in self.report.change]
        return [listed(words, "", shape, "change") for shape in ((99, 2), (3, 1), (1, 1))]

    # -- why

    def _why(self) -> list[list[TextLine]]:
        report = self.report
        reasons = [*self._siblings()]
        if report.search.outcome is Outcome.IMPOSSIBLE:
            reasons.append(self._impossible())
        if self.hopeless and report.search.outcome is Outcome.GAVE_UP:
            reasons.append(f"The search stopped before it found a remedy, if there is one: {report.search.limit}.")
        beside = [line for reason in reasons for line in paragraph(reason, 0, 2, 2, "strong")]
        if not report.root_causes:
            return [headed("Why", beside)]
        blocking = sum(finding.level is Level.BLOCKS and finding.counts for finding in report.findings)
        causes = numbered(len(report.root_causes), "cause")
        title = f"Why: {causes} of {blocking} findings" if blocking > len(report.root_causes) else "Why"
        whole = [self._cause(number, cause) for number, cause in enumerate(report.root_causes, 1)]
        short = [self._in_short(number, cause) for number, cause in enumerate(report.root_causes, 1)]
        forms = [(whole, (99, 6)), (whole, (99, 3)), *((short, (most, 2)) for most in (99, 6, 5, 4, 3))]
        forms += [(short, (most, 1)) for most in (3, 2, 1)]
        return [[*listed(items, title, shape, "cause", hang=3), *beside] for items, shape in forms]

    def _cause(self, number: int, cause: RootCause) -> str:
        likewise = _some([_elsewhere(other, cause.root) for other in cause.alike])
        counted = Counter(other.name for other in cause.follow)
        with_it = _some([f"{name} ({times})" if times > 1 else name for name, times in counted.items()])
        also = f" Likewise {likewise}." if likewise else ""
        return f"{self._sentence(number, cause)}{also}{f' With it: {with_it}.' if with_it else ''}"

    def _in_short(self, number: int, cause: RootCause) -> str:
        alike = f" Likewise {numbered(len(cause.alike), 'other')}." if cause.alike else ""
        return f"{self._sentence(number, cause)}{alike}{f' With it {len(cause.follow)} more.' if cause.follow else ''}"

    def _sentence(self, number: int, cause: RootCause) -> str:
        finding = self.found[cause.root]
        old = self.report.change and finding.since is Since.BEFORE
        danger = "(There before, and a danger to the rider) " if finding.endangers else "(There before) "
        return f"{number}. {danger if old else ''}{_first_sentence(finding.message)}"

    def _siblings(self) -> Iterator[str]:
        for sibling in self.report.siblings:
            sizes = " and ".join(f"{each.value} {each.unit}".rstrip() for each in sibling.differs)
            yield f"The same in {sizes} fits: {sibling.id} ({money(sibling.price)})."

    def _impossible(self) -> str:
        """Why no set of parts helps, in so far as the causes above do not say so."""
        new, causes = self.report.search.new_part, self.report.search.causes
        if new is not None:
            wanted = ", ".join(f"{each.attribute} {each.value} {each.unit}".rstrip() for each in new.attributes)
            return f"No part of this catalogue helps; a {new.kind} like {new.like} with {wanted} would."
        above = {finding.message for finding in self.report.findings if finding.level is Level.BLOCKS}
        if not causes or any(value in above for _, value in causes[0].text.values):
            return "No part of this catalogue helps."
        return f"No part of this catalogue helps: {causes[0].text}"

    def _unknown(self) -> list[list[TextLine]]:
        """What is not known, by the position where to look first."""
        open_: dict[str, list[Finding]] = {}
        for finding in self._new(Level.UNKNOWN):
            open_.setdefault(finding.positions[0] if finding.positions else "", []).append(finding)
        items = []
        for position, findings in sorted(open_.items(), key=lambda item: (-len(item[1]), item[0])):
            more = f" (and {len(findings) - 1} more of the {position.replace('-', ' ')})" if len(findings) > 1 else ""
            items.append(f"? {findings[0].message}{more}")
        if not items:
            return [[]]
        total = sum(map(len, open_.values()))
        things = f"{numbered(total, 'thing')} at {numbered(len(open_), 'position')}"
        title = f"Not known: {things}" if total > 1 else "Not known"
        forms = [listed(items, title, shape, "position") for shape in ((6, 4), (4, 2), (3, 1), (2, 1), (1, 1))]
        return [*forms, paragraph(f"Not known: {things}: {ALL}")]

    # -- what it takes

    def _order(self) -> list[list[TextLine]]:
        report, remedy = self.report, self.remedy
        parts = [*report.asked_parts, *(remedy.parts if remedy else ())]
        if self.hopeless or not (report.work.operations or parts):
            return [[]]
        bought = [part for part in parts if part.id is not None]
        other = [part for part in parts if part.id is None]
        beside = [*self._given_up(remedy), *self._sums(bought)]
        title = "To order" if remedy is None else _REMEDY[report.search.outcome]
        rows = [_row(part) for part in bought] if bought else []
        left = [line for part in other for line in paragraph(_left(part), 2, 4, 2)]
        whole = [*map(TextLine, rows), *left, *beside]
        forms = [headed(title if rows or left else "What it takes", whole)]
        run = _some_bought(bought)
        for most in (99, 8, 4, 2):
            text = paragraph(f"{run}.", 2, 2, most) if run else []
            also = paragraph(f"{'; '.join(map(_left, other))}.", 2, 2, 1 if most < 99 else 2) if other else []
            forms.append(headed(title, [*text, *also, *beside]))
        forms.append(headed(title, beside))
        return forms

    def _given_up(self, remedy: Remedy | None) -> list[TextLine]:
        if remedy is None:
            return []
        lines = []
        left = {f"{part.name}" for part in remedy.parts if part.id is None}
        lost = [text for text in map(str, remedy.gives_up) if not any(text.startswith(_thing(name)) for name in left)]
        if lost:
            lines += paragraph(f"Given up: {'; '.join(text.rstrip('.') for text in lost)}.", 2, 4, 2)
        return lines

    def _sums(self, bought: Sequence[RemedyPart]) -> list[TextLine]:
        work = self.report.work
        prices = [part.price for part in bought]
        unpriced = sum(price is None for price in prices)
        parts = sum(price for price in prices if price is not None)
        bench, time = work.asked_cost + work.extra_cost, work.asked_minutes.mean + work.extra_minutes.mean
        sums = [f"parts {money(parts)}{f' and {unpriced} without a price' if unpriced else ''}"] if bought else []
        if work.operations:
            bare = f", bare {hours(work.asked_minutes.mean)}" if work.extra_minutes.mean >= 1 else ""
            sums.append(f"work {money(bench)} ({hours(time)}{bare})")
        total = f": {money(parts + bench)}" if len(sums) > 1 else ""
        text = f"{', '.join(sums)}{total}."
        return paragraph(text[:1].upper() + text[1:], 2, 4, 2, "strong") if sums else []

    def _measure(self) -> list[list[TextLine]]:
        rows = self.report.measure_first
        if not rows:
            return [[]]
        items = [
            f"{number}. {row.position}.{row.attribute} ({row.minutes:g} min): {row.how}"
            for number, row in enumerate(rows, 1)
        ]
        total = sum(row.minutes for row in rows)
        title = "Measure first" if len(rows) == 1 else f"Measure first ({len(rows)} things, {hours(total)})"
        shapes = ((4, 9), (4, 3), (3, 2), (2, 2), (2, 1), (1, 1))
        forms = [listed(items, title, shape, "to measure", hang=3) for shape in shapes]
        return [*forms, paragraph(f"{numbered(len(rows), 'thing')} to measure first: {ALL}")]

    # -- what to tell

    def _risks(self) -> list[list[TextLine]]:
        """The cautions that concern the rider, and how many concern the bench alone."""
        cautions = list(self._new(Level.CAUTION))
        bench = set(self.report.bench_alone)
        rider = [f"! {finding.message}" for finding in cautions if finding.name not in bench]
        beside = len(cautions) - len(rider)
        if self.hopeless and cautions:
            return [paragraph(f"{numbered(len(cautions), 'risk')} besides: {ALL}")]
        if not rider:
            return [paragraph(f"{numbered(beside, 'risk')} for the bench: {ALL}") if beside else []]
        shapes = ((99, 4), (6, 2), (4, 1), (3, 1), (2, 1))
        forms = [listed(rider, "Risks to tell", shape, "risk", beside=beside) for shape in shapes]
        return [*forms, paragraph(f"{numbered(len(cautions), 'risk')} to tell: {ALL}")]

    def _extra(self) -> list[list[TextLine]]:
        if self.hopeless:
            return [[]]
        names = _counted(self._new(Level.EXTRA))
        added = self.remedy.adds if self.remedy else ()
        names += [name for name in added if name not in {finding.name for finding in self._new(Level.EXTRA)}]
        notes = sum(1 for _ in self._new(Level.NOTE))
        told_notes = f"{numbered(notes, 'note')}: {ALL}" if notes else ""
        brings = f"It brings: {_some(names)}." if names else ""
        text = f"{brings} {told_notes}".strip()
        return [paragraph(text, 0, 2, 3), paragraph(text, 0, 2, 1)] if text else [[]]

    def _before(self) -> list[list[TextLine]]:
        """What was there before, and what does not count."""
        serious, changed = (Level.BLOCKS, Level.UNKNOWN), bool(self.report.change)
        old = [
            finding for finding in self.report.findings
            if not finding.counts or (changed and finding.since is Since.BEFORE and finding.level not in serious)
        ]  # fmt: skip
        if not old:
            return [[]]
        names = _counted(old)
        title = "There before, not touched" if changed else "Told, and does not count since it is ridden so"
        whole = paragraph(f"{title}: {_some(names)}.", 0, 2, 3)
        return [whole, paragraph(f"{title}: {numbered(len(old), 'finding')}: {ALL}", 0, 2, 1)]

    def _cleared(self) -> list[list[TextLine]]:
        names = _counted(self.report.cleared)
        if not names:
            return [[]]
        return [paragraph(f"The change clears: {_some(names)}.", 0, 2, most) for most in (2, 1)]

    def _cautions(self) -> list[TextLine]:
        """The pre-check in short, and what must be tested, as it stands."""
        safety = self.report.cautions[1:]
        lines = [TextLine(""), *paragraph(_PRE_CHECK, most=1)]
        return [*lines, *(line for caution in safety for line in paragraph(str(caution), most=2))]

    # -- what next

    def _next(self) -> list[list[TextLine]]:
        words = self._command()
        text = f"Next: {shlex.join(words)}"
        lines = [TextLine(printable(text), "strong")] if len(text) <= WIDTH else _continued(words)
        name = " ".join(words[: words.index(self.asked.bike)] if self.asked.bike in words else words)
        why = " What blocks with its causes, and the search: --why." if self.report.root_causes else ""
        more = paragraph(f"All of it: --all.{why}", most=1)
        short = paragraph(f"Next: {name} {self.asked.bike} …, with the same options.", most=1, style="strong")
        return [[*lines, *more], [*short, *more]]

    def _command(self) -> tuple[str, ...]:
        report, asked = self.report, self.asked
        if report.measure_first and report.verdict is Verdict.UNDECIDED:
            if asked.own_file:
                return asked.to_ask()
            first = report.measure_first[0]
            return asked.with_value(asked.command, f"{first.position}.{first.attribute}")
        if not report.change:
            if report.root_causes:
                return ("buildcheck", "explain", report.root_causes[0].root.name)
            return asked.again("swap", "--fit", "PART@POSITION")
        if self.hopeless:
            if report.siblings:
                sibling = report.siblings[0]
                return asked.again("swap", "--fit", f"{sibling.id}@{sibling.position}", same=False)
            return asked.again("parts fits", report.change[0].position, same=False)
        return asked.again("job")

    def _new(self, level: Level) -> Iterator[Finding]:
        """The findings of a level that the change brings, or that the bike has."""
        for finding in self.report.findings:
            if finding.level is level and finding.counts and (finding.since is Since.CHANGE or not self.report.change):
                yield finding


_REMEDY = {
    Outcome.NOT_NEEDED: "To order",
    Outcome.CHEAPEST: "To order: the cheapest with which it can be done",
    Outcome.GAVE_UP: "To order: it can be done with these (the search stopped; others may cost less)",
    Outcome.BEYOND: "To order: with one more junction it can be done (not proven the cheapest)",
    Outcome.IMPOSSIBLE: "To order",
}


def _row(part: RemedyPart) -> str:
    text = f"  {money(part.price):>13}  {part.id}"
    return printable(f"{text}  ({part.position})" if len(text) + len(part.position) + 4 <= WIDTH else text)[:WIDTH]


def _left(part: RemedyPart) -> str:
    """What comes off or moves: its name says so."""
    text = str(part.name)
    return text[:1].upper() + text[1:]


def _thing(name: str) -> str:
    return name.removeprefix("leave off ")


def _some_bought(parts: Sequence[RemedyPart]) -> str:
    """The parts to buy one after the other, each id once with its number of pieces."""
    pieces = Counter((str(part.id), part.price) for part in parts)
    return ", ".join(
        f"{f'{number} x ' if number > 1 else ''}{part_id} {money(price)}" for (part_id, price), number in pieces.items()
    )


def _some(names: Sequence[str]) -> str:
    """`a, b and c`, cut to what can be read."""
    shown = list(names[:_MOST_WORDS])
    if len(names) > _MOST_WORDS:
        return f"{', '.join(shown)} and {len(names) - _MOST_WORDS} more"
    return f"{', '.join(shown[:-1])} and {shown[-1]}" if len(shown) > 1 else "".join(shown)


def _counted(findings: Sequence[Finding] | Iterator[Finding]) -> list[str]:
    counted = Counter(finding.name for finding in findings)
    return [f"{name} ({number})" if number > 1 else name for name, number in counted.items()]


def _named(name: str, bike: str) -> str:
    """The bike by its name and id on one line; of a long name the beginning."""
    name, bike = (printable(" ".join(text.split())) for text in (name, bike))
    room = max(WIDTH - len(bike) - len("Bike:  []"), 20)
    return f"Bike: {name if len(name) <= room else f'{name[: room - 1]}…'} [{bike}]"


def _first_sentence(said: Said) -> str:
    """What is said first: the template tells where it ends, which a name in it cannot."""
    first, end, _ = said.template.partition(". ")
    return str(Said(f"{first}." if end else said.template, said.values))


def _elsewhere(ref: FindingRef, root: FindingRef) -> str:
    """The place that a finding has beyond those of one alike."""
    places = [position for position in ref.positions if position not in root.positions] or list(ref.positions)
    return places[0].replace("-", " ") if places else ref.name


def _continued(words: Sequence[str]) -> list[TextLine]:
    """A command on several lines, each but the last ending with a backslash; an option stays with its value."""
    rows, pieces = ["Next:"], list(words)
    while pieces:
        take = 2 if pieces[0].startswith("--") and len(pieces) > 1 else 1
        piece, pieces = " ".join(map(shlex.quote, pieces[:take])), pieces[take:]
        if len(rows[-1]) + len(piece) + 3 > WIDTH:
            rows.append("   ")
        rows[-1] = f"{rows[-1]} {piece}"
    ended = [*(f"{row} \\" for row in rows[:-1]), rows[-1]]
    return [TextLine(printable(row)[:WIDTH], "strong") for row in ended]
