"""The precedence network of activities: which has to be done before which, by phase, by name, by place on the bike."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import networkx as nx

from buildcheck.fit.context import Build, Context
from buildcheck.work.activities import Activity
from buildcheck.work.disturbances import holders
from buildcheck.work.schedule import Wait

PHASES = ("strip", "prepare", "fit", "lines", "settings", "test", "finish")
# Everything of an earlier phase is done before these begin: what is set and tested is there, tape hides it.
_BARRIERS = ("settings", "test", "finish")


def rank_of(activity: Activity) -> tuple[int, str, str]:
    """What goes first of what could: by phase, then by place and name."""
    return PHASES.index(activity.operation.phase), activity.position or "", activity.operation.id


def precedence_network(activities: Sequence[Activity], context: Context) -> nx.DiGraph[str]:
    """An edge from each operation to those that must wait for it."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(activity.id for activity in activities)
    on_bike = {activity.position for activity in activities}
    strip = _reach(order_of_parts(context.before), on_bike) if context.before is not None else set()
    fit = _reach(order_of_parts(context), on_bike)
    for first in activities:
        for second in activities:
            if first.id != second.id and _before(first, second, strip, fit):
                graph.add_edge(first.id, second.id)
    return graph


Pairs = set[tuple[str | None, str | None]]


def _reach(graph: nx.DiGraph[str], positions: set[str | None]) -> Pairs:
    """Each pair of these positions of which the second must still be on while the first is."""
    return {(name, other) for name in positions if name in graph for other in nx.descendants(graph, name) & positions}


def _before(first: Activity, second: Activity, strip: Pairs, fit: Pairs) -> bool:
    """Must `first` be done before `second`? By phase at the barriers, by name, by place on the bike."""
    if first.operation.id in second.operation.proven_by and _meet(first, second):
        return True
    a, b = PHASES.index(first.operation.phase), PHASES.index(second.operation.phase)
    if a != b:
        same_place = first.position is not None and first.position == second.position
        barrier = second.operation.phase in _BARRIERS or first.operation.phase == "strip"
        return a < b and (same_place or barrier or (second.position, first.position) in fit)
    if first.operation.id in second.operation.after and _meet(first, second):
        return True
    if first.operation.leads != second.operation.leads and first.position == second.position is not None:
        return first.operation.leads
    if first.operation.phase == "strip":
        return (first.position, second.position) in strip
    return first.operation.phase == "fit" and (second.position, first.position) in fit


def _meet(first: Activity, second: Activity) -> bool:
    """Are both about one position, or one of them about the whole job?"""
    return first.position == second.position or None in (first.position, second.position)


def waits_of(graph: nx.DiGraph[str], by_id: Mapping[str, Activity]) -> dict[str, Wait]:
    """What has to stand before others may begin."""
    found = {}
    for name, activity in by_id.items():
        if activity.operation.waits_min:
            later = nx.descendants(graph, name)
            waiting = frozenset(other for other in later if by_id[other].operation.id in activity.operation.waited_by)
            found[name] = Wait(activity.operation.waits_min, waiting)
    return found


def order_of_parts(build: Build) -> nx.DiGraph[str]:
    """An edge from each part to those that must be on while it is: its support, what it holds, what its line
    runs through. Stripping follows the edges, fitting goes against them. A one-piece part is one node.
    """
    graph: nx.DiGraph[str] = nx.DiGraph(build.support)
    for name in build.bike.fitted:
        for holder in holders(build, name):
            if graph.has_edge(name, holder):
                graph.remove_edge(name, holder)  # the wheel comes out first, then the rotor off the wheel
            graph.add_edge(holder, name)
        for row_id in build.view.row(name).also_on:
            graph.add_edges_from((name, other) for other in build.view.of_row(row_id))
    for name, route in build.routing.routes.items():
        ends = [end for end in (route.line.start, route.line.end) if end is not None and end in build.bike]
        graph.add_edges_from((name, part) for part in (*ends, *(way.spot.home for way in route.ways)) if part != name)
    homes = {name: spot.home for name, spot in build.bike.fitted.items()}
    whole: nx.DiGraph[str] = nx.relabel_nodes(graph, homes)
    whole.remove_edges_from(list(nx.selfloop_edges(whole)))
    for ring in [ring for ring in nx.strongly_connected_components(whole) if len(ring) > 1]:
        whole.remove_edges_from(list(whole.subgraph(ring).edges))  # what holds each other has no order of its own
    return whole


