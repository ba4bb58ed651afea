"""What would clear what blocks, as text: the cheapest remedy, the alternatives, or why there is none."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator

from buildcheck.model.findings import Cause
from buildcheck.model.quantities import count
from buildcheck.model.report import NewPart, Outcome, PassedOver, Rejected, Remedy, RemedyPart, Report, Search
from buildcheck.report.lines import TextLine, head, hours, money, wrapped


def remedy_lines(report: Report) -> Iterator[TextLine]:
    """The section on remedies; nothing where nothing blocks."""
    search = report.search
    if search.outcome is Outcome.NOT_NEEDED:
        return
    if search.outcome is Outcome.IMPOSSIBLE:
        yield from _impossible(search)
        return
    yield from head(_HEADS[search.outcome])
    if search.outcome is Outcome.GAVE_UP:
        yield from wrapped(_gave_up(search, bool(report.remedies)))
    if report.remedies:
        first, *others = report.remedies
        yield from _remedy(first)
        if others:
            yield from head("Alternatives of another kind")
        for number, remedy in enumerate(others, 2):
            yield from _alternative(number, remedy, first)
    if search.outcome is Outcome.CHEAPEST and search.limit:
        yield from wrapped(f"Remedies of further kinds were not looked for to the end: {search.limit}.")


# So many of the sets that were tried beyond the search are told (our choice); JSON has them all.
_MOST_BEYOND = 3

_HEADS = {
    Outcome.CHEAPEST: "The cheapest remedy",
    Outcome.GAVE_UP: "A remedy (the search gave up)",
    Outcome.BEYOND: "A remedy with one more junction (not proven the cheapest)",
}


def _gave_up(search: Search, found: bool) -> str:
    gap = (
        ""
        if search.gap is None
        else f" This one costs at most {money(search.gap)} more than the cheapest there may be."
    )
    none = "" if found else " No remedy was found up to then; that there is none is not proven."
    least = "Any remedy that gives nothing up" if not search.gives_up else "Any remedy that gives up as little"
    return f"The search stopped: {search.limit}. {least} costs at least {money(search.lower_bound)}.{gap}{none}"


def _remedy(remedy: Remedy) -> Iterator[TextLine]:
    for part in remedy.parts:
        price = money(part.price) if part.id or part.price else ""
        yield from wrapped(f"{part.position:<22}{price:>14}  {part.id or part.name}", 2, 40)
    yield TextLine(f"  {'parts to buy':<22}{money(remedy.parts_cost):>14}")
    left = math.fsum(part.price or 0.0 for part in remedy.parts if part.id is None)
    if left:
        yield TextLine(f"  {'what is left off':<22}{money(left):>14}  (what it costs to buy)")
    yield TextLine(f"  {'work beyond the swap':<22}{_bench(remedy):>14}  ({hours(remedy.extra_minutes.mean)})")
    yield TextLine(f"  {'in all':<22}{money(remedy.total_cost):>14}", "strong")
    yield from _told(remedy, 2)
    yield from _passed_over(remedy)
    yield from _rejected(remedy)


def _alternative(number: int, remedy: Remedy, first: Remedy) -> Iterator[TextLine]:
    """What another remedy does in another way than the first."""
    ours, theirs = _by_position(remedy), _by_position(first)
    words = []
    for position in sorted(ours.keys() | theirs.keys()):
        mine, other = ours.get(position), theirs.get(position)
        if mine is None:
            words.append(f"the {position} as it is")
        elif other is None or other.id != mine.id:
            price = f" ({money(mine.price)})" if mine.id or mine.price else ""
            words.append(f"{position}: {mine.id or mine.name}{price}")
    yield from wrapped(
        f"Remedy {number}, {money(remedy.total_cost)} in all: parts {money(remedy.parts_cost)}, work beyond the swap "
        f"{_bench(remedy)} ({hours(remedy.extra_minutes.mean)}). As the first, but {'; '.join(words)}.",
        0, 2,
    )  # fmt: skip
    yield from _told(remedy, 2)


def _told(remedy: Remedy, indent: int) -> Iterator[TextLine]:
    if remedy.adds:
        yield from wrapped(f"It brings: {', '.join(remedy.adds)}.", indent)
    if remedy.gives_up:
        yield from wrapped("With it is given up:", indent)
        for text in remedy.gives_up:
            yield from wrapped(f"- {text}", indent + 2, indent + 4)
    yield from wrapped(remedy.proof, indent)


def _bench(remedy: Remedy) -> str:
    parts = math.fsum(part.price or 0.0 for part in remedy.parts)
    return money(None if remedy.total_cost is None else remedy.total_cost - parts)


def _by_position(remedy: Remedy) -> dict[str, RemedyPart]:
    return {part.position: part for part in remedy.parts}


def _rejected(remedy: Remedy) -> Iterator[TextLine]:
    if not remedy.rejected:
        return
    more = remedy.rejected_count - len(remedy.rejected)
    yield from wrapped(f"Cheaper, but it does not do{f' (these and {more} more)' if more else ''}:", 2)
    for other in remedy.rejected:
        yield from wrapped(_rejected_words(other, remedy), 4, 6)


def _passed_over(remedy: Remedy) -> Iterator[TextLine]:
    if not remedy.passed_over:
        return
    yield from wrapped("Cheaper, but passed over for what it would take away:", 2)
    for other in remedy.passed_over:
        lost = "; ".join(str(text).rstrip(".") for text in other.gives_up)
        yield from wrapped(f"{_differs(other, remedy)}: {lost}", 4, 6)


def _rejected_words(other: Rejected, remedy: Remedy) -> str:
    return f"{_differs(other, remedy)}: {', '.join(other.blocked_by)}"


def _differs(other: Rejected | PassedOver, remedy: Remedy) -> str:
    """What another set costs, and in which parts it differs from a remedy."""
    ours = {(part.position, part.id) for part in remedy.parts}
    theirs = {part.position for part in other.parts}
    differs = [
        f"{part.id or part.name} as {part.position}" for part in other.parts if (part.position, part.id) not in ours
    ]
    left = [f"without {part.id or part.name}" for part in remedy.parts if part.position not in theirs]
    words = [*differs, *left]
    shown = ", ".join(words[:3]) + (f" and {len(words) - 3} more" if len(words) > 3 else "")
    return f"- {money(other.total_cost)}, {shown or 'the same parts'}"


def _impossible(search: Search) -> Iterator[TextLine]:
    yield from head("Impossible with this catalogue")
    yield from _causes(search.causes, 0)
    if search.new_part is not None:
        yield from _new_part(search.new_part)
    else:
        stopped = f" before the search stopped: {search.limit}" if search.limit else ""
        yield from wrapped(f"No single new part was found that would make it possible{stopped}.")
    yield from _beyond(search)
    yield from wrapped(
        f"There are {count(search.sets)} sets of parts to choose from; {search.vetted} had to be vetted whole, and "
        "what blocks rules out all others."
        + (f" Not considered: {search.unconsidered}." if search.unconsidered else "")
    )


def _beyond(search: Search) -> Iterator[TextLine]:
    """What was tried beyond the sets of the search, and what blocks there."""
    if not search.beyond:
        return
    yield from wrapped(f"With one more junction {_sets(len(search.beyond))} tried, and none does as it is:")
    for other in search.beyond[:_MOST_BEYOND]:
        fits = ", ".join(f"{part.id or part.name} as {part.position}" for part in other.parts)
        yield from wrapped(f"- {fits}: {', '.join(other.blocked_by)}", 2, 4)


def _sets(number: int) -> str:
    return "1 set was" if number == 1 else f"{number} sets were"


def _causes(causes: Iterable[Cause], indent: int) -> Iterator[TextLine]:
    for cause in causes:
        yield from wrapped(f"{'because ' if indent else '* '}{cause.text}", indent, indent + 2)
        yield from _causes(cause.because, indent + 2)


def _new_part(new: NewPart) -> Iterator[TextLine]:
    wanted = ", ".join(f"{each.attribute} {each.value} {each.unit}".rstrip() for each in new.attributes)
    beside = "".join(f", beside {part.id or part.name} as {part.position}" for part in new.beside)
    part = f"a {new.kind} as {new.position} like {new.like}, but with {wanted}"
    yield from wrapped(f"It would be possible with one new part: {part}{beside}.")
