"""Root causes: which findings that block are one, and which others are there with them, by the places they share."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.report import FindingRef, RootCause


def root_causes(
    findings: Iterable[Finding], follows_from: Mapping[str, Sequence[str]], asked: Collection[str] = ()
) -> tuple[RootCause, ...]:
    """What blocks and counts, as causes: what was there and endangers the rider first, then what is at the `asked`
    positions, then that with which most is there.

    A finding folds under another if its row of the standards says that it follows from that one and the two share a
    place, or if it is about the very same positions. Findings of one name that share a place are one cause.
    """
    counting = (finding for finding in findings if finding.level is Level.BLOCKS and finding.counts)
    blocking = sorted(counting, key=lambda finding: (finding.name, finding.positions))
    under = {id(finding): _root_of(finding, blocking, follows_from) for finding in blocking}
    heads: list[Finding] = []
    for finding in blocking:
        if under[id(finding)] is not finding:
            continue
        same = next((head for head in heads if frozenset(head.positions) == frozenset(finding.positions)), None)
        if same is None:
            heads.append(finding)
        else:
            under[id(finding)] = same
    groups: list[list[Finding]] = []
    for head in heads:
        group = next((g for g in groups if g[0].name == head.name and any(_share(head, other) for other in g)), None)
        if group is None:
            groups.append([head])
        else:
            group.append(head)
    causes = [_cause(group, blocking, under) for group in groups]
    at = frozenset(asked)
    dangers = {_ref(finding) for finding in blocking if finding.endangers}
    return tuple(sorted(causes, key=lambda cause: _rank(cause, at, dangers)))


def _rank(
    cause: RootCause, asked: frozenset[str], dangers: Collection[FindingRef]
) -> tuple[bool, bool, int, str, tuple[str, ...]]:
    elsewhere = asked.isdisjoint(cause.root.positions)
    with_it = len(cause.alike) + len(cause.follow)
    return cause.root not in dangers, elsewhere, -with_it, cause.root.name, cause.root.positions


def _cause(group: Sequence[Finding], blocking: Iterable[Finding], under: Mapping[int, Finding]) -> RootCause:
    heads = {id(finding) for finding in group}
    follow = (f for f in blocking if id(f) not in heads and id(_top(f, under)) in heads)
    return RootCause(_ref(group[0]), tuple(map(_ref, group[1:])), tuple(map(_ref, follow)))


def _top(finding: Finding, under: Mapping[int, Finding]) -> Finding:
    """The cause that a finding folds under, by way of others."""
    while under[id(finding)] is not finding:
        finding = under[id(finding)]
    return finding


def _root_of(finding: Finding, blocking: Iterable[Finding], follows_from: Mapping[str, Sequence[str]]) -> Finding:
    """What a finding follows from, or itself. The rows go in one direction, so there is an end."""
    for name in follows_from.get(finding.name, ()):
        for other in blocking:
            if other.name == name and _concerns(finding, other):
                return other
    return finding


def _concerns(finding: Finding, other: Finding) -> bool:
    """Is a finding about a place of another one, or does it rest on what the other is about first?"""
    if not set(finding.positions).isdisjoint(other.positions):
        return True
    return other.positions[:1] != () and other.positions[0] in {item.position for item in finding.evidence}


def _share(one: Finding, other: Finding) -> bool:
    return not _places(one).isdisjoint(_places(other))


def _places(finding: Finding) -> set[str]:
    return {*finding.positions, *(item.position for item in finding.evidence)}


def _ref(finding: Finding) -> FindingRef:
    return FindingRef(finding.name, finding.positions)
