"""What is mounted on what: the support graph, and the stack on the steerer that follows from it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from heapq import heappop, heappush

from buildcheck.fit.view import Memo, View


def _mounted(view: View) -> Memo:
    """Answers about what is mounted on what, shared by all bikes on which it is the same, whatever the parts."""
    return view.layout.recall("mounted", lambda: _mounted_so(view))


def _mounted_so(view: View) -> Memo:
    lies = tuple((name, spot.on) for name, spot in view.bike.fitted.items())
    return view.memo.recall(("mounted", lies), Memo)


Support = Mapping[str, Sequence[str]]


def build_support(view: View) -> Support:
    """What is mounted straight on each position, in the order of the names; what is mounted on none stands under ""."""
    return _mounted(view).recall("support", lambda: _support(view))


def _support(view: View) -> Support:
    graph: dict[str, list[str]] = {}
    for name, spot in sorted(view.bike.fitted.items()):
        graph.setdefault(spot.on if spot.on is not None and spot.on in view.bike.fitted else "", []).append(name)
    return graph


def carried_by(graph: Support, position: str) -> list[str]:
    """What is mounted straight on a position, in a fixed order."""
    return list(graph.get(position, ()))


def steerer_stack(view: View) -> list[str]:
    """The positions on the steerer from the bottom up: bearing, cover, spacers, stem, spacers above."""
    return _mounted(view).recall("steerer-stack", lambda: _stack(view))


def _stack(view: View) -> list[str]:
    stacked = [name for name in view.bike.fitted if view.row(name).stacked]
    order: dict[str, int] = {}
    support = build_support(view)
    todo = carried_by(support, "")
    while todo:  # of what lies on something that has its place already, the first by name
        name = heappop(todo)
        order[name] = len(order)
        for rider in carried_by(support, name):
            heappush(todo, rider)
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
