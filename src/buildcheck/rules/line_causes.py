"""Why a line does not reach: its way in words, and what each part on it takes of its length."""

from __future__ import annotations

from itertools import groupby

import networkx as nx

from buildcheck.fit.causes import causes_of, sum_of
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Amount
from buildcheck.fit.line_graph import Step
from buildcheck.fit.lines import Route, lengths_along, openings_of
from buildcheck.fit.passages import PassageGraph, build_passages
from buildcheck.fit.places import free_places
from buildcheck.fit.view import View
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Cause
from buildcheck.model.parts import Place


def way_cause(view: View, route: Route) -> Cause:
    """The way of a line in words, with what stops it; below that what is on record of the parts that do."""
    labels: list[str] = []
    for mark, steps in groupby(route.steps, key=_mark):
        names = list(dict.fromkeys(step.part(view) for step in steps))
        labels += [f"[{mark}: {', '.join(names)}]"] if mark else [name for name in names if [name] != labels[-1:]]
    facts = (fact for step in route.steps if _mark(step) for fact in step.bore.facts)
    return Cause(f"{route.line.position}: {' > '.join([route.start, *labels, route.end])}", causes_of(facts))


def _mark(step: Step) -> str:
    if step.bore.yes:
        return ""
    if step.gap is None:
        return "does not let it through" if step.bore.no else "may not let it through"
    return "none that leads on" if step.bore.no else "not on record"


def cut_off_causes(view: View, line: Fitted) -> tuple[Cause, ...]:
    """How far a line that nothing leads to its end would get from either side."""
    graph = build_passages(view)
    sides = (("from", line.start), ("to", line.end))
    return tuple(Cause(f"{line.position}: {_ways_at(view, graph, word, end)}") for word, end in sides if end)


def _ways_at(view: View, graph: PassageGraph[str], word: str, end: str) -> str:
    reached = {
        node for opening in openings_of(view, end) if opening in graph for node in nx.descendants(graph, opening)
    }
    ways = (data["way"] for _, _, data in graph.edges(reached, data=True) if "way" in data)
    parts = sorted({way.spot.home for way in ways})
    return f"ways lead {word} {end} in {', '.join(parts)}" if parts else f"no part has a way that leads {word} {end}"


def length_cause(view: View, route: Route, more: dict[str, Amount] | None = None) -> Cause:
    """What the way of a line takes, part by part."""
    named = {**lengths_along(view, route.steps), **(more or {})}
    return sum_of(f"the way of {route.line.position}", named.items())


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
    says = "is too short for" if test.no else "reaches" if test.yes else "may not reach"
    text = f"{name} {says} {carrier.home} {place.id}: {length.shown('mm')} for {route.length.shown('mm')}"
    return Cause(text, (length_cause(view, route),))
