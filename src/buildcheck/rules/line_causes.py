"""Why a line does not reach: its way in words, and what each part on it takes of its length."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby

from buildcheck.fit.causes import causes_of, sum_of
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount, Answer, names_of
from buildcheck.fit.line_graph import WayStep
from buildcheck.fit.lines import Route, lengths_along, openings_of
from buildcheck.fit.passages import SLACK, Passages, build_passages
from buildcheck.fit.places import free_places
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause
from buildcheck.model.parts import Place
from buildcheck.model.sentences import Said, Several, Value, Word, say


def way_cause(view: View, route: Route) -> Cause:
    """The way of a line in words, with what stops it; below that what is on record of the parts that do."""
    way: list[Value] = [Word(route.start)]
    for mark, group in groupby(route.steps, key=_mark):
        steps = list(group)
        names = [Word(name) for name in dict.fromkeys(step.part(view) for step in steps)]
        if mark:
            shows = names_of([fact for step in steps for fact in step.bore.facts if step.gap is not None])
            stopping = tuple(Word(name.word, shows) for name in names)
            way.append(say(mark, parts=Several(stopping, ", ")))
        else:
            way += [name for name in names if name != way[-1]]
    way.append(Word(route.end))
    facts = (fact for step in route.steps if _mark(step) for fact in step.bore.facts)
    return Cause(say("{line}: {way}", line=Word(route.line.position), way=Several(tuple(way), " > ")), causes_of(facts))


def _mark(step: WayStep) -> str:
    """How a step is told that is not certainly open; empty for one that is."""
    if step.bore.is_yes:
        return ""
    if step.gap is None:
        return "[does not let it through: {parts}]" if step.bore.is_no else "[may not let it through: {parts}]"
    return "[none that leads on: {parts}]" if step.bore.is_no else "[not on record: {parts}]"


def cut_off_causes(view: View, line: Fitted) -> tuple[Cause, ...]:
    """How far a line that nothing leads to its end would get from either side."""
    graph = build_passages(view)
    sides = (("from", line.start), ("to", line.end))
    return tuple(Cause(_ways_at(view, graph, line.position, word, end)) for word, end in sides if end)


def _ways_at(view: View, graph: Passages, line: str, word: str, end: str) -> Said:
    reached = {name for opening in openings_of(view, end) for name in graph.reached_from(opening)}
    ways = (edge.way for edge in graph.edges if edge.way is not None and not reached.isdisjoint((edge.u, edge.v)))
    parts = sorted({way.spot.home for way in ways})
    told: dict[str, Value] = {"line": Word(line), "end": Word(end), "parts": Several(tuple(map(Word, parts)), ", ")}
    some, none = _LEADS[word]
    return say(some if parts else none, **told)


_LEADS = {
    "from": ("{line}: ways lead from {end} in {parts}", "{line}: no part has a way that leads from {end}"),
    "to": ("{line}: ways lead to {end} in {parts}", "{line}: no part has a way that leads to {end}"),
}


def length_cause(view: View, route: Route, more: Mapping[Value, Amount] | None = None) -> Cause:
    """What the way of a line takes, part by part."""
    slack = say("slack for steering")
    along = ((slack if name == SLACK else name, length) for name, length in lengths_along(view, route.steps).items())
    return sum_of(say("the way of {line}", line=Word(route.line.position)), (*along, *(more or {}).items()))


def reach_causes(context: Context, rider: Fitted, line: str | None = None) -> tuple[Cause, ...]:
    """For each free place that a thing without one could go to: which lines reach it, and which are too short."""
    view, found = context.view, []
    for carrier, place in free_places(view, rider):
        for name, choices in sorted(context.routing.homeless.items()):
            if line in (None, name):
                found += [_reach(view, name, route, carrier, place) for route in choices if _leads(route, place)]
    return tuple(dict.fromkeys(found))


def _leads(route: Route, place: Place) -> bool:
    return place.opening in (route.start, route.end)


def _reach(view: View, name: str, route: Route, carrier: Fitted, place: Place) -> Cause:
    length = view.amount(name, "length_mm")
    test = length.at_least(route.length)
    told: dict[str, Value] = {
        "line": Word(name), "part": Word(carrier.home), "place": Word(place.id), "length": length.told("mm"),
        "needed": route.length.told("mm"),
    }  # fmt: skip
    return Cause(say(_REACHES[test.held], **told), (length_cause(view, route),))


_REACHES = {
    Answer.YES: "{line} reaches {part} {place}: {length} for {needed}",
    Answer.NO: "{line} is too short for {part} {place}: {length} for {needed}",
    Answer.UNKNOWN: "{line} may not reach {part} {place}: {length} for {needed}",
}
