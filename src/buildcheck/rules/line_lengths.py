"""Lines: fittings that must pass, and lengths: what is used again, shortened or replaced."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf
from typing import NamedTuple

from buildcheck.fit.causes import cause_of, causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount
from buildcheck.fit.lines import Route, other_ways
from buildcheck.fit.passages import PassageGraph, Way
from buildcheck.fit.places import device_opening
from buildcheck.fit.threading import threading
from buildcheck.fit.view import View
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level
from buildcheck.rules.bar_geometry import bar_moved_by, bar_stretch
from buildcheck.rules.line_causes import length_cause, reach_causes, way_cause
from buildcheck.rules.line_facts import all_routes, must_be_threaded, passages_facts, size_facts, threaded_for

# A hose loses up to about this much for each end that is cut off and made new: from memory, so it never blocks.
CUT_LOSS_MM = 15.0
# Spare length up to here hides in a loop; more has nowhere to go inside a frame: our choice.
SPARE_ENCLOSED_MM, SPARE_OPEN_MM = 60.0, 150.0


@rule(
    Level.BLOCKS,
    Level.EXTRA,
    Level.CAUTION,
    source="common practice: compression nuts seldom pass a bar's port, so the hose end is cut",
    needs_change=True,
)
def line_end_too_large(self: Rule, context: Context) -> Iterator[Finding]:
    """The fitting at a line's end does not pass a bore that the line must be threaded through.

    A hose end that can be cut passes wherever the bare hose does, at the price of a new end; a moulded
    plug cannot be cut.

    Cure: cut the end and make it new where that is possible; otherwise a line with a smaller end.
    """
    view = context.view
    for name, route in sorted(all_routes(context).items()):
        why = threaded_for(context, name)
        if why is None:
            continue
        test, cuts, uncut = threading(view, route)
        if not test.yes:
            bores = ", ".join(way.id for way in route.ways if way.closed)
            because = (way_cause(view, route), *causes_of(test.facts))
            yield from self.judge(
                test, (name,), turns_on=why,
                fault=f"Neither end of {view.name(name)} passes the bores on its way: {bores}.",
                ask=f"whether an end of {view.name(name)} passes the bores on its way",
                because=lambda: because,  # noqa: B023
                also=(*passages_facts(view), *size_facts(view, name)),
            )  # fmt: skip
        elif cuts and route.line.part.kind != "wire":
            ends = " and ".join({"start": "lever", "end": "far"}[cut] for cut in cuts)
            must, level = ("must", Level.EXTRA) if uncut.no else ("may have to", Level.CAUTION)
            text = f"The {ends} end of {view.name(name)} {must} be cut to pass the bores on its way."
            facts = (*uncut.facts, *test.facts, *passages_facts(view), *size_facts(view, name))
            yield self.tell(text, (name,), facts, level=level, turns_on=why)


@rule(
    Level.BLOCKS,
    source="arithmetic over the passages; slack so that the bars turn fully (workshop articles)",
    ways_help=True,
)
def line_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """A line is shorter than its way with the slack that steering needs.

    The needed length is the sum over the passages on the way, with the extra that turning the bars to full
    lock asks for. A hose that pulls tight at full lock steers the bike or tears off.

    Cure: a longer line. A hose can be shortened but not lengthened.
    """
    for need in _needs(context):
        view, name, needed = context.view, need.line, need.length
        length = view.amount(name, "length_mm")
        test = length.at_least(needed)
        if test.yes:
            continue
        extra = ""
        if not test.no and (name in context.routing.homeless or need.route.blocked):
            continue  # told with the places that its end could go to, or with the part that stands in its way
        if name in context.routing.homeless:
            extra = " wherever the thing at its end comes to sit"
        took = f", {length.shown('mm')} for {needed.shown('mm')}" if length.known and needed.known else ""
        yield from self.judge(
            test, (name,),
            fault=f"{view.name(name)} is {length.shown('mm')} long; its way takes {needed.shown('mm')}{extra}.",
            ask=f"whether {view.name(name)} is long enough for its way{took}",
            because=lambda: _why_so_long(context, need),  # noqa: B023
            also=(*passages_facts(view), *size_facts(view, name)),
            turns_on=_moved_by(context, need.route) if test.no else _laid_by(context, name, need.route),
        )  # fmt: skip


def _laid_by(context: Context, name: str, route: Route) -> tuple[str, ...]:
    """The positions whose change or not tells whether the line moves, loses an end, or follows the bar."""
    homes = (way.spot.home for way in route.ways if way.closed)
    return tuple(dict.fromkeys((name, *homes, *_moved_by(context, route))))


def _moved_by(context: Context, route: Route) -> tuple[str, ...]:
    """The positions whose change moves the bar, where a line could run through the air in front of the head tube."""
    return bar_moved_by(context) if _kinds_in_the_open(context.view, route) else ()


class _Need(NamedTuple):
    """The length that the way of a line takes, in all, and what it takes beyond the parts on its way.

    With gaps in the way, the length is a lower bound.
    """

    line: str
    length: Amount
    route: Route
    more: dict[str, Amount]


def _why_so_long(context: Context, need: _Need) -> tuple[Cause, ...]:
    """What the length adds up to; for a line whose end has no place, by the places that it could go to."""
    view, ends = context.view, (need.route.line.start, need.route.line.end)
    if need.line in context.routing.homeless:
        riders = [view.bike[end] for end in ends if end is not None and device_opening(view, end) is None]
        return tuple(cause for rider in riders for cause in reach_causes(context, rider, need.line))
    causes = [length_cause(view, need.route, need.more)]
    if need.route.least.low < need.route.length.low:
        causes.append(Cause(f"another way, not known to be closed, takes {need.route.least.shown('mm')}"))
    if not need.route.certain:
        causes.append(way_cause(view, need.route))
    own = view.word(need.line, "length_mm")
    return (*causes, cause_of(own))


def _needs(context: Context) -> list[_Need]:
    return context.view.local.recall("needed-lengths", None, lambda: list(_each_need(context)))


def _each_need(context: Context) -> Iterator[_Need]:
    view = context.view
    told, untold = (bar_stretch(context, spacers_told) for spacers_told in (True, False))
    for name, route in sorted(context.routing.routes.items()):
        more: dict[str, Amount] = {}
        if untold.facts:
            more["the bar's move"] = _stretch_of(view, route, told, untold)
        if must_be_threaded(context, name) and name not in context.changed and _is_hose(view, name):
            more["ends cut off"] = Amount(0.0, CUT_LOSS_MM * len(threading(view, route).cuts))
        yield _Need(name, sum(more.values(), route.needed), route, more)
    for name, choices in sorted(context.routing.homeless.items()):
        if choices:
            shortest = min(choices, key=lambda route: route.needed.low)
            yield _Need(name, Amount(shortest.needed.low, inf, shortest.needed.facts), shortest, {})


def _stretch_of(view: View, route: Route, told: Amount, untold: Amount) -> Amount:
    """How much of the bar's move this line takes part in; where another way is open, it need not take a longer one.

    `told` is for passages that count the spacers themselves, `untold` for those that do not.
    """
    kinds = _kinds_in_the_open(view, route)
    if not kinds:
        return Amount(0.0, 0.0)
    either = [told if spacers_told else untold for spacers_told in kinds]
    facts = tuple(fact for one in either for fact in one.facts)
    stretch = Amount(min(one.low for one in either), max(one.high for one in either), facts)
    inside = not any(map(_in_the_open, route.ways))
    low = stretch.low
    if inside == (low < 0):  # another way could make it less
        make = lambda: any(any(map(_in_the_open, ways)) is inside for ways in other_ways(route))  # noqa: E731
        low = low if view.memo.recall(("could-be-less", id(route)), route, make) is inside else 0.0
    elif inside:
        low = 0.0
    return Amount(low, 0.0 if inside else stretch.high, stretch.facts)


def _kinds_in_the_open(view: View, route: Route) -> frozenset[bool]:
    """Of the passages in the open air: do they count the spacers under the stem?"""
    passages = route.graph.passages
    return view.memo.recall(("in-the-open", id(passages)), passages, lambda: _open_kinds(passages))


def _open_kinds(passages: PassageGraph[str]) -> frozenset[bool]:
    ways = (data["way"] for _, _, data in passages.edges(data=True) if "way" in data)
    return frozenset(way.passage.along_stack for way in ways if _in_the_open(way))


def _in_the_open(way: Way) -> bool:
    """Does this passage run through the air in front of the head tube, from the bar to frame or fork?"""
    return (
        not way.closed
        and way.spot.position in ("stem", "handlebar")
        and "head-front" in (way.passage.start, way.passage.end)
    )


def _is_hose(view: View, name: str) -> bool:
    return bool(view.bike[name].part.kind == "hose")


@rule(Level.EXTRA, source="our choice of what is too much: 60 mm enclosed, 150 mm in the open", needs_change=True)
def line_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """A line is so much longer than its new way that the rest has nowhere to go.

    Inside a frame or a bar spare length rattles and kinks. A hose or housing is cut to length, a wire is
    tied in a loop or exchanged for a shorter one.

    Cure: cut hoses and housings to length when they are fitted, and only after full lock has been tried.
    """
    view = context.view
    for name, needed, route, _ in _needs(context):
        moved = name in context.changed or must_be_threaded(context, name)
        if not moved or route.blocked or name in context.routing.homeless or route.line.part.kind == "wire":
            continue
        spare = view.amount(name, "length_mm") - needed
        limit = SPARE_ENCLOSED_MM if any(way.closed for way in route.ways) else SPARE_OPEN_MM
        test = spare.at_most(limit)
        if test.no:
            fault = f"{view.name(name)} is {spare.shown('mm')} longer than its way takes; cut it to length."
            facts = (*passages_facts(view), *size_facts(view, name))
            laid_by = _laid_by(context, name, route)
            yield from self.judge(test, (name,), fault=fault, ask="", also=facts, turns_on=laid_by)


@rule(Level.NOTE, source="arithmetic over the passages", needs_change=True)
def line_can_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """A line that the change touches is long enough for its new way and is used again.

    The counterpart of line-too-short and line-too-long, so that the order for parts is complete: every
    line that moves is named as reused, shortened or replaced.

    Cure: none needed.
    """
    view = context.view
    for name, needed, route, _ in _needs(context):
        if name in context.changed or route.blocked or not must_be_threaded(context, name):
            continue
        length = view.amount(name, "length_mm")
        test = length.at_least(needed)
        if test.yes:
            message = f"{view.name(name)} ({length.shown('mm')}) reaches: its new way takes {needed.shown('mm')}."
            facts = (*test.facts, *passages_facts(view), *size_facts(view, name))
            yield self.tell(message, (name,), facts, turns_on=_laid_by(context, name, route))
