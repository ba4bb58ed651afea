"""Which drawings a change calls for: those of what it changes, or of what was found because of it."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from buildcheck.model.pictures import LinePath, SharedBore, Side, Stack, WiringTree


def sides_that_matter(before: Side, after: Side, found_at: frozenset[str]) -> tuple[Side, Side]:
    """Both sides with the lines, systems and stack that differ between them or that a finding is about."""
    lines = _differing(((path.line, _bare(path)) for path in before.lines), ((p.line, _bare(p)) for p in after.lines))
    systems = _differing(((tree.system, tree) for tree in before.wiring), ((t.system, t) for t in after.wiring))
    systems |= {tree.system for tree in after.wiring if not found_at.isdisjoint(_things(tree))}
    stack = before.stack != after.stack or not found_at.isdisjoint(_standing(after.stack))
    kept = lines.union(found_at)
    return _only(before, kept, systems, stack), _only(after, kept, systems, stack)


def bores_that_matter(bores: Iterable[SharedBore], touched: Collection[str]) -> tuple[SharedBore, ...]:
    """The bores that changed or have a line in them that did; equal sections of several parts once."""
    found: dict[SharedBore, SharedBore] = {}
    for bore in bores:
        if bore.position in touched or any(line.line in touched for line in bore.lines):
            section = replace(bore, position="")
            first = found.setdefault(section, bore)
            if first is not bore:
                found[section] = replace(first, also=(*first.also, (bore.position, bore.row)))
    return tuple(found.values())


def _bare(path: LinePath) -> LinePath:
    return replace(path, level=None)


def _differing(before: Iterable[tuple[str, object]], after: Iterable[tuple[str, object]]) -> set[str]:
    old, new = dict(before), dict(after)
    return {name for name in old.keys() | new.keys() if old.get(name) != new.get(name)}


def _things(tree: WiringTree) -> set[str]:
    return {device.position for device in tree.devices} | {wire.wire for wire in tree.wires}


def _standing(stack: Stack | None) -> set[str]:
    return set() if stack is None else {item.position for item in stack.items}


def _only(side: Side, lines: Collection[str], systems: Collection[str], stack: bool) -> Side:
    return Side(
        tuple(path for path in side.lines if path.line in lines),
        tuple(tree for tree in side.wiring if tree.system in systems),
        side.stack if stack else None,
    )
