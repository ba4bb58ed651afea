"""What has to be done with each part for a change: from the support graph and the ways of the lines.

Nothing here is a list per job. A part that is replaced comes off and the new one goes on; whatever is
mounted on it moves; what stands above it in the stack is lifted; a line through a bore that comes off is
pulled out and threaded again.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import NamedTuple

import networkx as nx

from buildcheck.fit.context import Build, Context
from buildcheck.fit.lines import LINE_KINDS, Route
from buildcheck.fit.support import carried_by
from buildcheck.model.bikes import Fitted


class Verb(StrEnum):
    """What is done with the part at a position."""

    TAKE_OFF = "take-off"
    FIT = "fit"
    MOVE = "move"
    THREAD = "thread"
    RELAY = "re-lay"


class Act(NamedTuple):
    """One thing done with the part at one position; `why` names the cause in words.

    `due_to` is the changed position that makes it necessary by itself as long as the part here stays; with
    `by_way` that holds only while the line keeps its new way. Where it is empty no single position does.
    """

    position: str
    verb: Verb
    kind: str
    why: str
    due_to: str = ""
    by_way: bool = False


def asked_acts(context: Context, asked: Iterable[str]) -> list[Act]:
    """The bare swap: old parts off, new parts on, at the positions that were asked for and nothing else."""
    wanted = set(asked)
    return [act for act in _changed(context, "as asked") if act.position in wanted]


def all_acts(context: Context) -> list[Act]:
    """Everything that the change makes necessary, each act once, in a fixed order."""
    if context.before is None or not context.changed:
        return []
    acts: dict[tuple[str, Verb], Act] = {}
    for act in (*_changed(context, "changed"), *_moved(context), *_lines(context)):
        acts.setdefault((act.position, act.verb), act)
    return sorted(acts.values())


def _kind(build: Build, position: str) -> str:
    return build.bike[position].part.kind


def _is_main(build: Build, position: str) -> bool:
    return position in build.bike and build.bike[position].is_main


def _changed(context: Context, why: str) -> Iterator[Act]:
    before = context.before
    assert before is not None
    for position in sorted(context.changed):
        if _is_main(before, position):
            yield Act(position, Verb.TAKE_OFF, _kind(before, position), why, position)
        if _is_main(context, position):
            yield Act(position, Verb.FIT, _kind(context, position), why, position)


def _moved(context: Context) -> Iterator[Act]:
    """What is mounted on a changed part, or above it in the stack, or holds it, and stays on the bike."""
    before = context.before
    assert before is not None
    causes: dict[str, tuple[str, str]] = {}
    for position in sorted(context.changed):
        if position in before.bike:
            riders = carried_by(before.support, position)
            _disturb(before, before.bike[position], _in_the_way(before, position, riders), causes)
        elif position in context.bike:
            # A ring behind the cassette: what holds it must be off before it goes on.
            holders = [name for name in _holders(context, position) if name in before.bike]
            _disturb(before, context.bike[position], holders, causes)
    for name, spot in before.bike.fitted.items():
        now = context.bike.get(name)
        if now is not None and now.on != spot.on and now.is_main and now.on is not None:
            causes.setdefault(name, (f"the {now.on.replace('-', ' ')} comes to lie under it", ""))
    for name, (cause, due_to) in sorted(causes.items()):
        if name not in context.changed and _is_main(context, name) and _kind(context, name) not in LINE_KINDS:
            carrier = context.bike[name].on
            gone = carrier is not None and carrier not in context.bike
            verb = Verb.TAKE_OFF if gone else Verb.MOVE
            yield Act(name, verb, _kind(context, name), cause, "" if gone else due_to)


def _disturb(before: Build, spot: Fitted, in_the_way: list[str], causes: dict[str, tuple[str, str]]) -> None:
    """Note what has to move so that a part can come off or go on, and what has to move for that."""
    todo = [(name, spot.position) for name in in_the_way]
    while todo:
        name, cause = todo.pop()
        home = before.bike[name].home
        if home in causes or home == spot.home:
            continue
        causes[home] = f"it has to come off for the {cause.replace('-', ' ')}", spot.home
        stacked = [rider for rider in carried_by(before.support, name) if before.view.row(rider).stacked]
        riders = stacked if before.view.row(name).stacked else []
        todo += [(rider, cause) for rider in _in_the_way(before, name, riders)]


def _in_the_way(before: Build, position: str, riders: list[str]) -> list[str]:
    """The riders of a part, and the positions that hold it fast."""
    return [*riders, *_holders(before, position)]


def _holders(build: Build, position: str) -> list[str]:
    """What must be off before the part can come off: what holds it, or what it sits inside of."""
    row, carrier = build.view.row(position), build.bike[position].on
    inside = [carrier] if row.after_carrier and carrier is not None else []
    return [name for name in (*row.held_by, *inside) if name in build.bike]


def order_graph(build: Build) -> nx.DiGraph[str]:
    """An edge from each part to those that must be on while it is: its support, what it holds, what its line
    runs through. Stripping follows the edges, fitting goes against them. A one-piece part is one node.
    """
    graph: nx.DiGraph[str] = nx.DiGraph(build.support)
    for name in build.bike.fitted:
        for holder in _holders(build, name):
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


def _lines(context: Context) -> Iterator[Act]:
    before = context.before
    assert before is not None
    for line in context.view.of_kind(LINE_KINDS):
        name = line.position
        if name in context.changed:
            continue
        old, new = before.routing.routes.get(name), _new_route(context, name)
        homes = context.changed
        kind, by_old, by_new = _kind(context, name), _closed_in(old, homes, None), _closed_in(new, homes, old)
        if home := by_new or by_old:
            words = f"its way leads through the {home.replace('-', ' ')}"
            yield Act(name, Verb.THREAD, kind, words, by_old or home, by_way=not by_old)
        elif home := _touched(old, homes) or _touched(new, homes):
            words = f"it runs along the {home.replace('-', ' ')}"
            yield Act(name, Verb.RELAY, kind, words, home, by_way=True)


def _new_route(context: Context, name: str) -> Route | None:
    choices = context.routing.homeless.get(name)
    return context.routing.routes.get(name) or (choices[0] if choices else None)


def _closed_in(route: Route | None, homes: frozenset[str], other: Route | None) -> str | None:
    """A part with a closed bore on the way that is new to the line, or that comes off."""
    known = {way.id for way in other.ways} if other is not None else set()
    for way in route.ways if route is not None else ():
        if way.closed and (way.spot.home in homes or (other is not None and way.id not in known)):
            return way.spot.home
    return None


def _touched(route: Route | None, homes: frozenset[str]) -> str | None:
    for way in route.ways if route is not None else ():
        if way.spot.home in homes:
            return way.spot.home
    return None
