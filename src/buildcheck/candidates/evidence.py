"""What a finding rests on, read off its evidence. Nothing else here looks at what a finding says of itself."""

from __future__ import annotations

from collections.abc import Collection

from buildcheck.candidates.features import PART
from buildcheck.fit.context import Context
from buildcheck.fit.reading import has_attribute
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.remedies import CHANGED, Explanation, Feature, Features

_WHOLE: Features = frozenset({PART})
# With more ways for lines these findings stay as they are or go away, and with fewer none goes.
_MORE_WAYS_HELP = frozenset({"line-has-no-way", "line-too-short"})
_WIRING = frozenset({"ports", "start_plug", "end_plug"})


def rests_on(context: Context, finding: Finding) -> Explanation:
    """The positions that a finding rests on, each with the attributes of its part, or PART where none is named.

    CHANGED stands among them where it matters whether the part is another one.
    """
    named = named_by(context, finding)
    unnamed = (
        home for name in finding.positions if not named.get(home := _home(context, name), frozenset()) - {CHANGED}
    )
    return {**named, **{home: named.get(home, _WHOLE) | _WHOLE for home in unnamed}}


def named_by(context: Context, finding: Finding) -> Explanation:
    """What the evidence of a finding names."""
    found: dict[str, set[Feature]] = {}
    for item in finding.evidence:
        if item.behind:  # what the parts were on which the bike is ridden today, whatever comes in their place
            continue
        found.setdefault(item.position, set()).add(item.attribute.partition(".")[0])
    for position, names in found.items():
        spot = context.bike.get(position)
        if spot is not None and _of_the_piece(spot, names):
            names.add(CHANGED)
    for name in finding.turns_on:
        found.setdefault(_home(context, name), set()).add(CHANGED)
    return {position: frozenset(names) for position, names in found.items()}


def _of_the_piece(spot: Fitted, names: Collection[Feature]) -> bool:
    """Is something named that no record of a part has: what was noted on this piece, or the place it sits at?"""
    noted = any(isinstance(name, str) and not has_attribute(type(spot.part), name) for name in names)
    return noted or ("mounts" in names and spot.place is not None)


def positions_named(finding: Finding) -> set[str]:
    """Every position that a finding or its evidence names."""
    return {item.position for item in finding.evidence if not item.behind}.union(finding.positions)


def stays_with_fewer_ways(finding: Finding) -> bool:
    """Is a finding there, too, with fewer ways for lines?"""
    return finding.name in _MORE_WAYS_HELP


def stays_with_its_line(finding: Finding) -> bool:
    """Is a finding there wherever the line at its first position is threaded anew?"""
    return bool(finding.threaded)


def goes_by_the_way(finding: Finding, whole: Explanation) -> bool:
    """Does work go by the way that a line is thought to take? Where a way is unknown, one is assumed all the same."""
    return finding.level is not Level.BLOCKS and any("passages" in names for names in whole.values())


def rests_on_wiring(finding: Finding) -> bool:
    """Does a finding rest on sockets or plugs? Then a wire or a junction more could clear it, wherever that is put."""
    return any(item.attribute.partition(".")[0] in _WIRING for item in finding.evidence)


def values_of(finding: Finding) -> list[tuple[str, object]]:
    """The known facts of the evidence: attribute and value."""
    return [(item.attribute, item.fact) for item in finding.evidence if not (item.open or item.behind)]


def _home(context: Context, position: str) -> str:
    spot = context.bike.get(position)
    return position if spot is None else spot.home
