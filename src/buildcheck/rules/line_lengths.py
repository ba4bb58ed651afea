"""Lines: fittings that must pass, and lengths: what is used again, shortened or replaced."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import inf
from typing import NamedTuple

from buildcheck.fit.causes import cause_of, causes_of
from buildcheck.fit.context import Context
from buildcheck.fit.engine import Rule, rule
from buildcheck.fit.facts import Amount, one_of
from buildcheck.fit.lines import Route, Routing, other_ways
from buildcheck.fit.passages import Passages, Way
from buildcheck.fit.places import device_opening
from buildcheck.fit.threading import threading
from buildcheck.fit.view import Same, View
from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Proof
from buildcheck.model.sentences import At, Said, Several, Value, say
from buildcheck.rules.bar_geometry import bar_stretch
from buildcheck.rules.line_causes import length_cause, reach_causes, way_cause
from buildcheck.rules.line_facts import all_lines, each_line, must_be_threaded

# A hose loses up to about this much for each end that is cut off and made new: from memory, so it never blocks.
CUT_LOSS_MM = 15.0
# What an inner cable needs beyond its housing: its head in the lever, its tail past the anchor. Our choice.
CABLE_OUT_MM = 60.0
# Spare length up to here hides in a loop; more has nowhere to go inside a frame: our choice.
SPARE_ENCLOSED_MM, SPARE_OPEN_MM = 60.0, 150.0


@rule(
    Level.BLOCKS,
    Level.EXTRA,
    Level.CAUTION,
    use_proves=Proof.NOTHING, endangers=True,
    source="common practice: compression nuts seldom pass a bar's port, so the hose end is cut",
    rider=False,
    needs_change=True,
    settled_at_work=True,
)
def line_end_too_large(self: Rule, context: Context) -> Iterator[Finding]:
    """The fitting at a line's end does not pass a bore that the line must be threaded through.

    A hose end that can be cut passes wherever the bare hose does, at the price of a new end; a moulded
    plug cannot be cut.

    Cure: cut the end and make it new where that is possible; otherwise a line with a smaller end.
    """
    view = context.view
    for name, route in all_lines(context):
        if not must_be_threaded(context, name):
            continue
        test, cuts, uncut = threading(view, route)
        if not test.yes:
            told: dict[str, Value] = {
                "line": view.name(name),
                "bores": Several(tuple(_bore(way) for way in route.ways if way.closed), ", "),
            }
            yield from self.judge(
                test, (name,),
                fault=say("Neither end of {line} passes the bores on its way: {bores}.", **told),
                ask=say("whether an end of {line} passes the bores on its way", **told),
                because=lambda: (way_cause(view, route), *causes_of(test.facts)),  # noqa: B023
            )  # fmt: skip
        elif cuts and route.line.part.kind != "wire":
            level = Level.EXTRA if uncut.no else Level.CAUTION
            text = say(_MUST_BE_CUT[level][cuts], line=view.name(name))
            yield self.tell(text, (name,), level=level)


def _bore(way: Way) -> Said:
    return say("{carrier} {place}", carrier=At(way.spot.home), place=way.passage.id)


_MUST_BE_CUT = {
    Level.EXTRA: {
        ("start",): "The lever end of {line} must be cut to pass the bores on its way.",
        ("end",): "The far end of {line} must be cut to pass the bores on its way.",
        ("start", "end"): "Both ends of {line} must be cut to pass the bores on its way.",
    },
    Level.CAUTION: {
        ("start",): "The lever end of {line} may have to be cut to pass the bores on its way.",
        ("end",): "The far end of {line} may have to be cut to pass the bores on its way.",
        ("start", "end"): "Both ends of {line} may have to be cut to pass the bores on its way.",
    },
}


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="arithmetic over the passages; slack so that the bars turn fully (workshop articles)",
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
        if self.is_silent(test):
            continue
        if not test.is_no and _has_no_way(context, need):
            continue  # told with the places that its end could go to, or with the part that stands in its way
        told: dict[str, Value] = {
            "line": view.name(name), "length": length.told("mm"), "needed": needed.told("mm"),
        }  # fmt: skip
        fault = say("{line} is {length} long; its way takes {needed}.", **told)
        if name in context.routing.homeless:
            fault = say(
                "{line} is {length} long; its way takes {needed} wherever the thing at its end comes to sit.", **told
            )
        ask = say("whether {line} is long enough for its way", **told)
        if length.bounded and needed.bounded:
            ask = say("whether {line} is long enough for its way, {length} for {needed}", **told)
        yield from self.judge(
            test, (name,), fault=fault, ask=ask, because=lambda: _why_so_long(context, need, need.line)  # noqa: B023
        )  # fmt: skip


@rule(
    Level.BLOCKS,
    use_proves=Proof.NOTHING, endangers=True,
    source="arithmetic over the passages; what an inner cable needs beyond its housing: our choice",
)
def inner_cable_too_short(self: Rule, context: Context) -> Iterator[Finding]:
    """An inner cable does not reach through its housing to what it works.

    Its head lies in the lever and its tail goes past the anchor bolt, so it has to be longer than the way of its
    housing. One that ends at the anchor is held by a few strands, which pull out.

    Cure: a longer inner cable; front and rear ones are sold in two lengths.
    """
    view = context.view
    inside = {spot.on: spot.position for spot in view.of_kind(("inner-cable",))}
    if not inside:
        return
    for need in _needs(context):
        cable = inside.get(need.line)
        if cable is None or _has_no_way(context, need):
            continue
        length, needed = view.amount(cable, "length_mm"), need.length + CABLE_OUT_MM
        test = length.at_least(needed)
        if self.is_silent(test):
            continue
        told: dict[str, Value] = {
            "cable": view.name(cable), "length": length.told("mm"), "needed": needed.told("mm"),
        }  # fmt: skip
        yield from self.judge(
            test,
            (cable, need.line),
            fault=say("{cable} is {length} long; with both ends its way takes {needed}.", **told),
            ask=say("whether {cable} reaches through its housing", **told),
            because=lambda: _why_so_long(context, need, cable),  # noqa: B023
        )


def _has_no_way(context: Context, need: _Need) -> bool:
    """Is it told elsewhere that the line has no way, or where its end could go?"""
    return need.line in context.routing.homeless or need.route.blocked


class _Need(NamedTuple):
    """The length that the way of a line takes, in all, and what it takes beyond the parts on its way.

    With gaps in the way, the length is a lower bound.
    """

    line: str
    length: Amount
    route: Route
    more: dict[Value, Amount]


def _why_so_long(context: Context, need: _Need, measured: str) -> tuple[Cause, ...]:
    """What the length adds up to, and that of what is measured against it.

    For a line whose end has no place it is told by the places that it could go to.
    """
    view, ends = context.view, (need.route.line.start, need.route.line.end)
    if need.line in context.routing.homeless:
        riders = [view.bike[end] for end in ends if end is not None and device_opening(view, end) is None]
        return tuple(cause for rider in riders for cause in reach_causes(context, rider, need.line))
    causes = [length_cause(view, need.route, need.more)]
    if need.route.least.least < need.route.length.least:
        least = need.route.least.told("mm")
        causes.append(Cause(say("another way, not known to be closed, takes {least}", least=least)))
    if not need.route.certain:
        causes.append(way_cause(view, need.route))
    return (*causes, cause_of(view.word(measured, "length_mm")))


def _needs(context: Context) -> Iterator[_Need]:
    """What each line needs, one by one."""
    view = context.view
    for name in each_line(view, view.layout.recall("lines-with-a-need", lambda: _names(context.routing))):
        yield view.once(("needed-length", name), lambda: _need_of(context, name))  # noqa: B023


def _names(routing: Routing) -> tuple[str, ...]:
    return (*sorted(routing.routes), *sorted(name for name, ways in routing.homeless.items() if ways))


def _need_of(context: Context, name: str) -> _Need:
    view, route = context.view, context.routing.routes.get(name)
    if route is None:
        shortest = min(context.routing.homeless[name], key=lambda route: route.needed.least)
        return _Need(name, Amount(shortest.needed.least, inf, shortest.needed.facts), shortest, {})
    more: dict[Value, Amount] = {}
    kinds = _kinds_in_the_open(view, route) if context.before is not None else ()
    if kinds:
        stretches = {counted: bar_stretch(context, counted) for counted in kinds}
        if any(stretch.facts for stretch in stretches.values()):
            more[say("the bar's move")] = _stretch_of(view, route, list(stretches.values()))
    if _is_hose(view, name) and must_be_threaded(context, name) and not context.is_changed(name):
        more[say("ends cut off")] = Amount(0.0, CUT_LOSS_MM * len(threading(view, route).cuts))
    return _Need(name, sum(more.values(), route.needed), route, more)


def _stretch_of(view: View, route: Route, either: Sequence[Amount]) -> Amount:
    """How much of the bar's move this line takes part in; where another way is open, it need not take a longer one.

    `either` holds the move for the passages on record that count the spacers under the stem, and for those that do not.
    """
    stretch = one_of(*either)
    inside = not any(map(_in_the_open, route.ways))
    low = stretch.low
    if inside == (low < 0):  # another way could make it less
        make = lambda: any(any(map(_in_the_open, ways)) is inside for ways in other_ways(route))  # noqa: E731
        low = low if view.memo.recall(("could-be-less", Same(route)), make) is inside else 0.0
    elif inside:
        low = 0.0
    return Amount(low, 0.0 if inside else stretch.high, stretch.facts)


def _kinds_in_the_open(view: View, route: Route) -> frozenset[bool]:
    """Of the passages in the open air: do they count the spacers under the stem?"""
    passages = route.graph.passages
    return view.memo.recall(("in-the-open", Same(passages)), lambda: _open_kinds(passages))


def _open_kinds(passages: Passages) -> frozenset[bool]:
    ways = (edge.way for edge in passages.edges if edge.way is not None)
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


@rule(
    Level.EXTRA,
    use_proves=Proof.NOTHING,
    source="our choice of what is too much: 60 mm enclosed, 150 mm in the open",
    rider=False,
    needs_change=True,
)
def line_too_long(self: Rule, context: Context) -> Iterator[Finding]:
    """A line is so much longer than its new way that the rest has nowhere to go.

    Inside a frame or a bar spare length rattles and kinks. A hose or housing is cut to length, a wire is
    tied in a loop or exchanged for a shorter one.

    Cure: cut hoses and housings to length when they are fitted, and only after full lock has been tried.
    """
    view = context.view
    for name, needed, route, _ in _needs(context):
        if route.blocked or name in context.routing.homeless or route.line.part.kind == "wire":
            continue
        if not context.is_changed(name) and not must_be_threaded(context, name):
            continue
        spare = view.amount(name, "length_mm") - needed
        limit = SPARE_ENCLOSED_MM if any(way.closed for way in route.ways) else SPARE_OPEN_MM
        told: dict[str, Value] = {"line": view.name(name), "spare": spare.told("mm")}
        fault = say("{line} is {spare} longer than its way takes; cut it to length.", **told)
        yield from self.judge(spare.at_most(limit).unless_known(), (name,), fault=fault)


@rule(Level.NOTE, use_proves=Proof.NOTHING, source="arithmetic over the passages", needs_change=True)
def line_can_stay(self: Rule, context: Context) -> Iterator[Finding]:
    """A line that the change touches is long enough for its new way and is used again.

    The counterpart of line-too-short and line-too-long, so that the order for parts is complete: every
    line that moves is named as reused, shortened or replaced.

    Cure: none needed.
    """
    view = context.view
    for name, needed, route, _ in _needs(context):
        if route.blocked or context.is_changed(name) or not must_be_threaded(context, name):
            continue
        length = view.amount(name, "length_mm")
        if length.at_least(needed).yes:
            told: dict[str, Value] = {
                "line": view.name(name), "length": length.told("mm"), "needed": needed.told("mm"),
            }  # fmt: skip
            yield self.tell(say("{line} ({length}) reaches: its new way takes {needed}.", **told), (name,))
