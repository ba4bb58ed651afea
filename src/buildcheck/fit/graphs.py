"""What can be reached over the steps of a small graph.

networkx tells it, too, but to import it takes as long as to vet a bike: it serves where wiring is drawn or has a ring.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping


def reached(steps: Mapping[str, Iterable[str]], start: str) -> set[str]:
    """All that steps lead to from a node, however many it takes; the node itself only if they lead back to it."""
    found: set[str] = set()
    todo = [start]
    while todo:
        new = set(steps.get(todo.pop(), ())) - found
        found |= new
        todo += new
    return found


def pieces(steps: Mapping[str, Iterable[str]]) -> list[list[str]]:
    """The nodes that hang together, where each step leads back, too; the largest piece first, each in order."""
    found: list[list[str]] = []
    seen: set[str] = set()
    for name in steps:
        if name not in seen:
            piece = reached(steps, name) | {name}
            seen |= piece
            found.append(sorted(piece))
    return sorted(found, key=lambda piece: (-len(piece), piece))
