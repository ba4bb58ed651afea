"""What a remedy takes away beside what it clears: no set that does so is offered where another one does.

A part takes away where the bike had more of something with the one before, or where the rider would feel another size.
A set of parts takes away, too, where it brings a caution that the change as asked did not have, such as one about a
size, or leaves something undecided.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace

from buildcheck.candidates.features import Lost
from buildcheck.fit.context import Context
from buildcheck.fit.reading import has_attribute, read_fact
from buildcheck.fit.view import called
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval, is_fact
from buildcheck.model.sentences import At, Attribute, Said, Several, Size, Word, say

_NONE = "none"
# A size that is not known is taken to be so far off (our choice).
_MOST_STEPS = 100


class Worth:
    """What the parts of a bike gave before a change."""

    def __init__(self, start: Context) -> None:
        self.start = start

    def lost_with(self, position: str, part: Part | None) -> tuple[Lost, ...]:
        """What is lost with a part in place of the one that was there; with None there is none any more."""
        view = self.start.before.view if self.start.before is not None else self.start.view
        spot = view.bike.get(position) or self.start.bike.get(position)
        if spot is None:
            return ()
        row = view.row(position)
        if part is None:
            return (Lost(say("{part} is left off", part=called(spot))),) if row.left_off == "missed" else ()
        lost = [Lost(_instead(spot, part, name)) for name in row.worth if _is_less(spot.part, part, name)]
        poor = (name for name, words in row.poor.items() if _is_poor(spot.part, part, name, words))
        lost += [Lost(_instead(spot, part, name)) for name in poor]
        apart = {name: _apart(spot.part, part, name) for name in row.felt}
        felt = [
            Lost(_instead(spot, part, name), min(_MOST_STEPS, int(apart[name] // (by or 1.0))))
            for name, by in row.felt.items() if apart[name] > by
        ]  # fmt: skip
        return (*lost, *felt)


def _is_less(before: Part, part: Part, name: str) -> bool:
    was, now = getattr(before, name, None), getattr(part, name, None)
    if isinstance(was, Interval):
        return not isinstance(now, Interval) or now.low < was.low
    return was not in (None, False, _NONE) and now != was


def _is_poor(before: Part, part: Part, name: str, poor: Collection[str]) -> bool:
    was = getattr(before, name, None)
    return was not in (None, _NONE, *poor) and getattr(part, name, None) in poor


def _apart(before: Part, part: Part, name: str) -> float:
    """How far a size may be from what it was; 0 where it was not known, or there is none on such a part."""
    was, now = getattr(before, name, None), getattr(part, name, None)
    if not isinstance(was, Interval) or not has_attribute(type(part), name):
        return 0.0
    return max(now.high - was.low, was.high - now.low) if isinstance(now, Interval) else float(_MOST_STEPS)


def _instead(spot: Fitted, part: Part, name: str) -> Said:
    now, was = _told(replace(spot, part=part), name), _told(spot, name)
    return say(
        "{position}: {attribute} {now} instead of {was}",
        position=At(spot.position), attribute=Attribute(name), now=now, was=was,
    )  # fmt: skip


def _told(spot: Fitted, name: str) -> Word | Size | Several:
    """A fact in words; where an attribute is no fact, nothing on record means that there is none."""
    field = fields_of(type(spot.part)).get(name)
    if getattr(spot.part, name, None) is None and field is not None and not is_fact(field.metadata):
        return Word(_NONE)
    return read_fact(spot, name).told()


class Brought:
    """What sets of parts bring that the change as asked, with these findings, did not have.

    What is `settled_at_work` (names of findings) does not count: no other part would be better for it.
    """

    def __init__(self, asked: Iterable[Finding], settled_at_work: Collection[str]) -> None:
        self.asked = frozenset((finding.level, finding.key) for finding in asked)
        self.settled_at_work = settled_at_work

    def among(self, findings: Iterable[Finding]) -> list[Finding]:
        """Of these findings those that are brought and count, each fault at its place once."""
        found: dict[object, Finding] = {}
        for finding in findings:
            key = finding.level, finding.key
            if key not in self.asked and self._counts(finding):
                found.setdefault(key, finding)
        return list(found.values())

    def _counts(self, finding: Finding) -> bool:
        """Does it count for a set? A caution that is itself undecided does not."""
        if finding.level is Level.CAUTION:
            return not (finding.undecided or finding.name in self.settled_at_work)
        return finding.level is Level.UNKNOWN
