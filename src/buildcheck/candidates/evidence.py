"""What a finding rests on, read off its evidence. Nothing else here looks at what a finding says of itself."""

from __future__ import annotations

from buildcheck.candidates.features import PART
from buildcheck.fit.context import Context
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.remedies import CHANGED, Explanation, Feature, Features

_WHOLE: Features = frozenset({PART})
# With more ways for lines these findings stay as they are or go away, and with fewer none goes.
_MORE_WAYS_HELP = frozenset({"line-has-no-way", "line-too-short"})


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
        found.setdefault(item.position, set()).add(item.attribute.partition(".")[0])
    for position, names in found.items():
        spot = context.bike.get(position)
        # The place that a bike file names is that of the part as it is.
        if "mounts" in names and spot is not None and spot.place is not None:
            names.add(CHANGED)
    for name in finding.turns_on:
        found.setdefault(_home(context, name), set()).add(CHANGED)
    return {position: frozenset(names) for position, names in found.items()}


def positions_named(finding: Finding) -> set[str]:
    """Every position that a finding or its evidence names."""
    return {item.position for item in finding.evidence}.union(finding.positions)


def stays_with_fewer_ways(finding: Finding) -> bool:
    """Is a finding there, too, with fewer ways for lines?"""
    return finding.name in _MORE_WAYS_HELP


def stays_with_its_line(finding: Finding) -> bool:
    """Is a finding there wherever the line at its first position is threaded anew?"""
    return bool(finding.threaded)


def goes_by_the_way(finding: Finding, whole: Explanation) -> bool:
    """Does work go by the way that a line is thought to take? Where a way is unknown, one is assumed all the same."""
    return finding.level is not Level.BLOCKS and any("passages" in names for names in whole.values())


def values_of(finding: Finding) -> list[tuple[str, object]]:
    """The known facts of the evidence: attribute and value."""
    return [(item.attribute, item.fact) for item in finding.evidence if not item.open]


def _home(context: Context, position: str) -> str:
    spot = context.bike.get(position)
    return position if spot is None else spot.home
