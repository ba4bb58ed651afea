"""Which causes a text report tells: each once in the whole report, none that adds nothing, few for each fault.

Causes are pruned by the facts that they tell, before they are worded. What is pruned stands in the JSON report, which
has the whole trees.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Iterator
from dataclasses import dataclass, field
from itertools import groupby
from pathlib import PurePath
from typing import NamedTuple

from buildcheck.model.findings import Cause, Finding
from buildcheck.model.levels import Level, Origin, Since
from buildcheck.model.sentences import Said, say
from buildcheck.report.lines import TextLine, wrapped

# What fits between two faults without hiding them from one another: our choice.
MOST_LINES = 12
_INDENT = 4
_ABOVE = Cause(say("as told above"))
_AS_TOLD_AT = "as told at {name}"


class Told(NamedTuple):
    """Findings that are told together, with the causes that all of them share. `more` causes found no room."""

    findings: tuple[Finding, ...]
    because: tuple[Cause, ...]
    more: int = 0


# By the name of the fault, since when it is there, and its level.
Groups = dict[tuple[str, Since, Level], tuple[Told, ...]]


@dataclass(eq=False)
class _Node:
    """A cause while it is pruned. `heard` is what was told above it, by the messages and on the way down."""

    cause: Cause
    heard: frozenset[Hashable]
    children: list[_Node] = field(default_factory=list)

    @property
    def news(self) -> int:
        """How much it tells that was not heard above it."""
        return 0 if _refers(self.cause) else len(_told_by(self.cause) - self.heard)

    def lines(self, depth: int) -> int:
        return len(list(_worded(self.cause, depth)))

    def tree(self) -> Cause:
        cause = self.cause
        return Cause(cause.text, tuple(child.tree() for child in self.children), cause.origin, cause.where)


def told_groups(findings: Iterable[Finding]) -> Groups:
    """What is told of each fault, the most serious first. In which order the findings come does not matter."""
    ordered = sorted(findings, key=lambda finding: (*finding.sort_key(), str(finding.message)))
    told: dict[Said, str] = {}
    return {
        key: _group(key[0], list(group), told)
        for key, group in groupby(ordered, key=lambda finding: (finding.name, finding.since, finding.level))
    }


def cause_lines(told: Told) -> Iterator[TextLine]:
    """The causes as text: at most as many lines in all as one fault may have."""
    for cause in told.because:
        yield from _tree_lines(cause, 0)
    if told.more:
        yield TextLine(f"{' ' * _INDENT}… {told.more} more in the JSON report")


def _group(name: str, findings: list[Finding], told: dict[Said, str]) -> tuple[Told, ...]:
    """The findings of one fault, those with the same causes together; `told` gathers what was told where."""
    by_causes: dict[tuple[Cause, ...], list[Finding]] = {}
    for finding in findings:
        by_causes.setdefault(finding.because, []).append(finding)
    forest, here = [], dict(told)
    for because, same in by_causes.items():
        heard = frozenset[Hashable].intersection(*(frozenset(finding.message.shows) for finding in same))
        forest.append(_once(_simple(because, heard), heard, name, here))
    more = _fit(forest)
    for roots in forest:
        for cause in _each(roots):
            if not _refers(cause):
                told[cause.text] = name
    pairs = list(zip(by_causes.values(), forest, strict=True))
    return tuple(
        Told(tuple(same), tuple(node.tree() for node in roots), more if number == len(pairs) else 0)
        for number, (same, roots) in enumerate(pairs, 1)
    )


def _simple(causes: Iterable[Cause], heard: frozenset[Hashable]) -> list[_Node]:
    """The causes without those that repeat what stands above them."""
    nodes: list[_Node] = []
    for cause in causes:
        node = _Node(cause, heard)
        if node.news or _refers(cause):
            node.children = _simple(cause.because, heard | _told_by(cause))
            nodes.append(node)
        else:
            nodes.extend(_simple(cause.because, heard))
    return list({node.cause.text: node for node in reversed(nodes)}.values())[::-1]


def _once(nodes: list[_Node], heard: frozenset[Hashable], name: str, told: dict[Said, str]) -> list[_Node]:
    """The causes that were not told yet, with a word on where the others were."""
    places: dict[str, None] = {}
    left = _untold(nodes, name, told, places)
    at = [place for place in places if place != name or not left]
    told_at = [_ABOVE if place == name else Cause(say(_AS_TOLD_AT, name=place)) for place in at]
    again = [node.tree() for node in left]
    return _simple([*again, *(cause for cause in told_at if cause not in again)], heard)


def _untold(nodes: list[_Node], name: str, told: dict[Said, str], places: dict[str, None]) -> list[_Node]:
    left: list[_Node] = []
    for node in nodes:
        text = node.cause.text
        if text in told:
            places[told[text]] = None
            continue
        if not _refers(node.cause):
            told[text] = name
        node.children = _untold(node.children, name, told, places)
        left.append(node)
    return left


def _fit(forest: list[list[_Node]]) -> int:
    """Take off the causes that tell least, from the ends of the branches, until the rest has room; how many."""
    gone = 0
    while _length(forest) > MOST_LINES - (gone > 0):
        ends = [end for number, roots in enumerate(forest) for end in _ends(roots, 0, number)]
        _, _, siblings, node = min(ends, key=lambda end: end[:2])
        siblings.remove(node)
        gone += not _refers(node.cause)
    return gone


End = tuple[tuple[int, bool, int, int], str, list[_Node], _Node]


def _ends(siblings: list[_Node], depth: int, number: int) -> Iterator[End]:
    """The ends of the branches with their rank: details go first, then what tells least, then what comes last.

    The only thing that is told of a finding stays longest.
    """
    for node in siblings:
        if node.children:
            yield from _ends(node.children, depth + 1, number)
        else:
            only = depth == 0 and len(siblings) == 1 and node.cause != _ABOVE
            yield (-depth, only, node.news, -number), str(node.cause.text), siblings, node


def _length(forest: list[list[_Node]]) -> int:
    return sum(_node_length(node, 0) for roots in forest for node in roots)


def _node_length(node: _Node, depth: int) -> int:
    return node.lines(depth) + sum(_node_length(child, depth + 1) for child in node.children)


def _each(nodes: list[_Node]) -> Iterator[Cause]:
    for node in nodes:
        yield node.cause
        yield from _each(node.children)


def _tree_lines(cause: Cause, depth: int) -> Iterator[TextLine]:
    yield from _worded(cause, depth)
    for below in cause.because:
        yield from _tree_lines(below, depth + 1)


def _worded(cause: Cause, depth: int) -> Iterator[TextLine]:
    indent = _INDENT + 2 * depth
    origin = f", measured ({PurePath(cause.where).name})" if cause.origin is Origin.MEASURED else ""
    text = f"({cause.text})" if _refers(cause) else f"because {cause.text}{origin}"
    return wrapped(text, indent, indent + 2)


def _refers(cause: Cause) -> bool:
    """Does it only say where the cause was told?"""
    return cause == _ABOVE or cause.text.template == _AS_TOLD_AT


def _told_by(cause: Cause) -> frozenset[Hashable]:
    """What a cause tells: the facts whose values it shows, and what was worked out from them.

    Of a fact that is its value, and where it was measured or read off, that as well.
    """
    shows: frozenset[Hashable] = frozenset(cause.text.shows)
    if cause.origin is Origin.STATED:
        return shows or frozenset({cause.text})
    return shows | {cause.text}
