"""What is found whatever is in the positions of which nobody knows, put together from what is found on each filling.

What blocks on every filling blocks. What blocks on some, or is not known on some, is not known: it depends on what is
there, which one question settles for each of these positions.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from typing import NamedTuple

from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since

# The name of the rule that asks for each of the positions.
QUESTION = "position-untold"
_Key = tuple[str, str]


class Across(NamedTuple):
    """The findings, and for each question that is left the names of what it decides."""

    findings: tuple[Finding, ...]
    decides: Mapping[str, tuple[str, ...]]


class World(NamedTuple):
    """What is found on one filling; `filled` gives the position that is not known by the one that is filled."""

    findings: Sequence[Finding]
    filled: Mapping[str, str]


def across(told: Sequence[Finding], worlds: Sequence[World]) -> Across:
    """The findings on a bike as it is told, with what other fillings make of them."""
    every = [_that_count(told), *(_that_count(world.findings) for world in worlds)]
    questions = {finding.positions[0]: finding for finding in told if finding.name == QUESTION}
    sure = {key for key, found in every[0].items() if all(_blocks(other.get(key)) for other in every)}
    kept = [
        finding for finding in told
        if finding.name != QUESTION and (finding.level is not Level.BLOCKS or finding.key in sure)
    ]  # fmt: skip
    known = _that_count(kept)
    blamed: dict[str, list[Finding]] = {}
    for key in dict.fromkeys(key for found in every for key in found):
        open_here = [found[key] for found in every if key in found and not _tells(known.get(key), found[key])]
        if open_here:
            present = [key in found for found in every]
            for name in _to_blame(open_here, present, worlds, questions):
                blamed.setdefault(name, []).append(min(open_here, key=Finding.sort_key))
    asked = [_asked(questions[name], found) for name, found in blamed.items()]
    decides = {name: tuple(sorted({finding.name for finding in found})) for name, found in blamed.items()}
    return Across(tuple(sorted((*kept, *asked), key=Finding.sort_key)), decides)


def _that_count(findings: Sequence[Finding]) -> dict[_Key, Finding]:
    """What blocks or is not known, the gravest of each fault at each place."""
    found: dict[_Key, Finding] = {}
    for finding in sorted(findings, key=Finding.sort_key):
        if finding.level in (Level.BLOCKS, Level.UNKNOWN) and finding.name != QUESTION:
            found.setdefault(finding.key, finding)
    return found


def _blocks(finding: Finding | None) -> bool:
    return finding is not None and finding.level is Level.BLOCKS


def _tells(known: Finding | None, other: Finding) -> bool:
    """Is it told already what another filling makes of the same fault? Not if the change only matters there."""
    return known is not None and (known.since is other.since or known.since is Since.CHANGE)


def _asked(question: Finding, found: Sequence[Finding]) -> Finding:
    """The question counts where the change brings any of what turns on it."""
    brought = any(finding.since is Since.CHANGE for finding in found)
    return replace(question, since=Since.CHANGE if brought else Since.BEFORE, counts=brought)


def _to_blame(
    found: Sequence[Finding], present: Sequence[bool], worlds: Sequence[World], questions: Collection[str]
) -> list[str]:
    """The positions whose filling makes the difference: those that are named, or else the likeliest one."""
    places = {position for finding in found for position in finding.positions}
    places |= {item.position for finding in found for item in finding.evidence}
    named = {world.filled.get(position, position) for world in worlds for position in places}
    near = sorted(named.intersection(questions))
    return near or sorted(questions, key=lambda name: (_misses(name, present, worlds), name))[:1]


def _misses(name: str, present: Sequence[bool], worlds: Sequence[World]) -> int:
    """On how many fillings does the fault not go with this position being filled, or with its being empty?"""
    filled = [False, *(name in world.filled.values() for world in worlds)]
    alike = sum(here is there for here, there in zip(present, filled, strict=True))
    return min(alike, len(filled) - alike)
