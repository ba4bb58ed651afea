"""What is mounted on what: the support graph, and the stack on the steerer that follows from it."""

from __future__ import annotations

import networkx as nx

from buildcheck.fit.view import Memo, View


def _mounted(view: View) -> Memo:
    """Answers about what is mounted on what, shared by all bikes on which it is the same, whatever the parts."""
    return view.layout.recall("mounted", lambda: _mounted_so(view))


def _mounted_so(view: View) -> Memo:
    lies = tuple((name, spot.on) for name, spot in view.bike.fitted.items())
    return view.memo.recall(("mounted", lies), Memo)


def build_support(view: View) -> nx.DiGraph[str]:
    """An edge from each position to the one it is mounted on."""
    return _mounted(view).recall("support", lambda: _support(view))


def _support(view: View) -> nx.DiGraph[str]:
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(view.bike.fitted)
    for name, spot in view.bike.fitted.items():
        if spot.on is not None and spot.on in view.bike.fitted:
            graph.add_edge(name, spot.on)
    return graph


def carried_by(graph: nx.DiGraph[str], position: str) -> list[str]:
    """What is mounted straight on a position, in a fixed order."""
    return sorted(graph.predecessors(position)) if position in graph else []


def steerer_stack(view: View) -> list[str]:
    """The positions on the steerer from the bottom up: bearing, cover, spacers, stem, spacers above."""
    return _mounted(view).recall("steerer-stack", lambda: _stack(view))


def _stack(view: View) -> list[str]:
    stacked = [name for name in view.bike.fitted if view.row(name).stacked]
    upwards = nx.lexicographical_topological_sort(build_support(view).reverse(copy=False))
    order = {name: index for index, name in enumerate(upwards)}
    return sorted(stacked, key=lambda name: order[name])


def spacers_below_stem(view: View) -> list[str]:
    """The spacers between the cover and the stem, from the bottom up."""
    stack = steerer_stack(view)
    below = stack[: stack.index("stem")] if "stem" in stack else stack
    return [name for name in below if view.row(name).id == "spacer"]


def spacers_above_stem(view: View) -> list[str]:
    """The spacers on top of the stem, from the bottom up."""
    stack = steerer_stack(view)
    above = stack[stack.index("stem") + 1 :] if "stem" in stack else []
    return [name for name in above if view.row(name).id == "spacer"]
