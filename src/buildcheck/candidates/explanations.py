"""Why a finding is there, as conditions that the search can learn from: its evidence, cut down to what is needed.

That the evidence of a finding is enough by itself is a law of the vetting. Of this evidence a fact is not
needed if the finding stays when the fact is unknown: then it stays whatever the fact is.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import partial
from math import inf

from buildcheck.candidates.entailment import Names, Needs, Shelved, Still, Trials, only, vague
from buildcheck.candidates.features import CHANGED, PART, WAYS, Laid, Within, laid
from buildcheck.fit.context import Context
from buildcheck.model.findings import Finding
from buildcheck.model.parts import Part, Passage
from buildcheck.model.quantities import Interval

_NOTHING: Names = frozenset()
# With fewer sizes on a shelf than this, trying one after the other is quicker than finding the limits.
_MANY_SIZES = 8
# Lists whose being left out means that there are none: they cannot be made unknown.
_LISTS = frozenset({"places", "mounts", "ports"})


class LessonError(Exception):
    """A finding does not come again from its own evidence, so nothing can be learned from it: a fault of its rule.

    To go on would call a remedy the cheapest that is not.
    """

    def __init__(self, finding: Finding, position: str) -> None:
        super().__init__(f"{finding.name} at {finding.positions}: its evidence at {position} does not bring it about")


class Needed:
    """Cuts what findings rest on down to what they cannot do without.

    What could be left out for one finding is tried first, as a whole, for the next one of its name at its place.
    """

    def __init__(self, still: Still, shelves: Shelved, settled: Callable[[str], bool]) -> None:
        self.still, self.shelves, self.settled = still, shelves, settled
        self._left_out: dict[tuple[str, str], frozenset[str]] = {}
        self._limits: dict[object, Interval] = {}
        self._longer: dict[tuple[tuple[str, str], str], int] = {}
        self._every: dict[tuple[str, int], tuple[Part, Part]] = {}

    def of(self, context: Context, finding: Finding, whole: Needs) -> Needs:
        """Of the whole that a finding rests on at the shelves, the part that it cannot do without."""
        needs = {position: names for position, names in whole.items() if position in self.shelves}
        trials = Trials(context, finding, whole, self.still, self.settled)
        droppable = frozenset(
            position for position in needs
            if not trials.by_way and _can_be_vague(context, position, needs[position])
        )  # fmt: skip
        left_out = self._as_before(trials, droppable)
        if left_out is None:
            left_out = self._left_out[finding.key] = _one_by_one(trials, droppable)
        found: dict[str, Names] = {
            position: _always_known(context, position, names) | names & {CHANGED} if position in left_out else names
            for position, names in needs.items()
        }  # fmt: skip
        parts = _all_vague(context, left_out)
        if finding.ways_help:
            for position, part in self._with_every_way(trials, parts, found).items():
                found[position] = found[position] - {"passages"} | {WAYS}
                parts[position] = part
        for position, (name, part) in self._of_other_lengths(trials, parts, found).items():
            found[position], parts[position] = found[position] - {"passages"} | {name}, part
        for position in finding.positions:
            if position in droppable - left_out:
                found[position], parts[position] = self._widened(trials, parts, position, needs[position])
        return found

    def _as_before(self, trials: Trials, droppable: frozenset[str]) -> frozenset[str] | None:
        hint = self._left_out.get(trials.finding.key)
        if hint is None:
            return None
        hint &= droppable
        return hint if trials.stays(_all_vague(trials.context, hint)) else None

    def _with_every_way(self, trials: Trials, parts: Mapping[str, Part], needs: Needs) -> dict[str, Part]:
        """Parts with all the ways that any on their shelf has, at those positions at which that does not help."""
        bike = trials.context.bike
        able = {
            position: self._every_way(position, bike[position].part)
            for position, names in needs.items()
            if "passages" in names and position in bike and bike[position].part.passages is not None
        }
        if able and trials.stays({**parts, **able}):
            return able
        kept: dict[str, Part] = {}
        for position, part in sorted(able.items()):
            if trials.stays({**parts, **kept, position: part}):
                kept[position] = part
        return kept

    def _of_other_lengths(
        self, trials: Trials, parts: Mapping[str, Part], needs: Needs
    ) -> dict[str, tuple[Laid, Part]]:
        """Parts whose ways have any of the lengths on their shelf, at those positions at which the finding stays."""
        bike, key = trials.context.bike, trials.finding.key
        tries = {
            position: self._lengths(position, bike[position].part)
            for position, names in needs.items() if "passages" in names and position in bike
        }  # fmt: skip
        tries = {position: rows for position, rows in tries.items() if rows}
        before = {at: min(self._longer.get((key, at), 0), len(rows) - 1) for at, rows in tries.items()}
        hint = {at: rows[before[at]] for at, rows in tries.items()}
        if not hint or trials.stays({**parts, **{at: part for at, (_, part) in hint.items()}}):
            return hint
        kept: dict[str, tuple[Laid, Part]] = {}
        for position, rows in sorted(tries.items()):
            for number, (name, part) in enumerate(rows):
                others = {at: other for at, (_, other) in kept.items()}
                if trials.stays({**parts, **others, position: part}):
                    kept[position] = name, part
                    self._longer[key, position] = number
                    break
        return kept

    def _lengths(self, position: str, part: Part) -> list[tuple[Laid, Part]]:
        """The part with ways of any length on its shelf, with any shorter ones, with any longer ones."""
        own = laid(part)
        if own is None or not own.limits:
            return []
        shelf = (laid(option.part) for option in self.shelves[position] if option.part is not None)
        alike = [each.limits for each in shelf if each is not None and each.ways == own.ways]
        least = tuple(min(low for low, _ in way) for way in zip(*alike, strict=True))
        most = tuple(max(high for _, high in way) for way in zip(*alike, strict=True))
        lows, highs = zip(*own.limits, strict=True)
        if (least, most) == (lows, highs):
            return []
        tries = [(least, most), (least, highs), (lows, most)]
        return [_of_lengths(part, own.ways, tuple(zip(*each, strict=True))) for each in dict.fromkeys(tries)]

    def _every_way(self, position: str, part: Part) -> Part:
        key = (position, id(part))
        if key not in self._every:
            kin = (option.part for option in self.shelves[position] if option.part is not None)
            ways = [passage for other in kin if other.kind == part.kind for passage in other.passages or ()]
            # Of ways that differ in length only the shortest is enough: a longer one makes no line reach.
            unlike = {_but_for_length(way): way for way in sorted(ways, key=_shortest_last)}.values()
            named = tuple(way.model_copy(update={"id": f"{way.id}-{number}"}) for number, way in enumerate(unlike))
            self._every[key] = part, part.model_copy(update={"passages": named})
        return self._every[key][1]

    def _widened(self, trials: Trials, parts: dict[str, Part], position: str, names: Names) -> tuple[Names, Part]:
        """The same for one part, a size of many with the limits within which the finding stays."""
        own, found = trials.context.bike[position].part, set(names)
        if PART in names:
            return names, own
        part = only(own, names)
        if not trials.stays({**parts, position: part}):
            raise LessonError(trials.finding, position)
        for name in sorted(name for name in names if isinstance(name, str)):
            value, sizes = getattr(part, name, None), self._sizes(position, name)
            if isinstance(value, Interval) and len(sizes) >= _MANY_SIZES:

                def stays(limits: Interval, of: Part = part, name: str = name) -> bool:
                    trial = of.model_copy(update={name: limits})
                    return trials.stays({**parts, position: trial})

                key = (trials.finding.key, position, name)
                limits = self._limits[key] = _widest(value, sizes, self._limits.get(key, value), stays)
                part = part.model_copy(update={name: limits})
                found.discard(name)
                found.add(Within(name, limits.low, limits.high))
        return frozenset(found), part

    def _sizes(self, position: str, name: str) -> list[float]:
        values = [getattr(option.part, name, None) for option in self.shelves[position]]
        return sorted({end for value in values if isinstance(value, Interval) for end in (value.low, value.high)})

    def gone(self, context: Context, finding: Finding, whole: Needs) -> Needs:
        """The positions that the change leaves empty, unless the finding stays, too, with the old parts back there."""
        if context.before is None:
            return {}
        lost = {name: spot for name, spot in context.before.bike.fitted.items() if name not in context.bike}
        others = lost.keys() - {item.position for item in finding.evidence}.union(finding.positions)
        back = {name: lost[name] for name in others}
        # Evidence is enough by itself: where it does not name what came back, it matters neither there nor gone.
        named = others & Trials(context, finding, whole, self.still, self.settled).named_with(back) if back else others
        return dict.fromkeys((lost[name].home for name in (lost.keys() - others) | named), _NOTHING)


def _one_by_one(trials: Trials, droppable: frozenset[str]) -> frozenset[str]:
    """The positions of which the finding needs to know nothing."""
    context, positions = trials.context, trials.finding.positions
    left_out: frozenset[str] = frozenset()
    others = droppable.difference(positions)
    if len(others) > 1 and trials.stays(_all_vague(context, others)):
        left_out = others
    for position in sorted(droppable - left_out, key=lambda name: (name in positions, name)):
        if trials.stays(_all_vague(context, left_out | {position})):
            left_out |= {position}
    return left_out


def _shortest_last(way: Passage) -> float:
    """An unknown length may be none at all."""
    return inf if way.length_mm is None else -way.length_mm.low


def _but_for_length(way: Passage) -> str:
    return repr(way.model_copy(update={"id": "", "length_mm": None}))


def _of_lengths(part: Part, ways: str, limits: tuple[tuple[float, float], ...]) -> tuple[Laid, Part]:
    passages = tuple(
        way.model_copy(update={"length_mm": Interval(low, high)})
        for way, (low, high) in zip(part.passages or (), limits, strict=True)
    )
    return Laid(ways, limits), part.model_copy(update={"passages": passages})


def _widest(value: Interval, sizes: Sequence[float], hint: Interval, stays: Callable[[Interval], bool]) -> Interval:
    """The widest limits around a value, with ends among these sizes, within which something stays."""
    for other in (hint, Interval(sizes[0], sizes[-1])):
        limits = Interval(min(value.low, other.low), max(value.high, other.high))
        if limits != value and stays(limits):
            return limits
    above = [size for size in sizes if size > value.high]
    high = _last(above, lambda size: stays(Interval(value.low, size)), value.high)
    below = [size for size in reversed(sizes) if size < value.low]
    return Interval(_last(below, lambda size: stays(Interval(size, high)), value.low), high)


def _last(sizes: Sequence[float], holds: Callable[[float], bool], otherwise: float) -> float:
    """The last size up to which something holds, found by halving."""
    count = bisect_left(range(len(sizes)), True, key=lambda index: not holds(sizes[index]))
    return sizes[count - 1] if count else otherwise


def _can_be_vague(context: Context, position: str, names: Names) -> bool:
    """CHANGED never is: a rule tells another part by its id, which a vague part keeps."""
    spot = context.bike.get(position)
    return spot is not None and not spot.condition and names - {CHANGED} != _always_known(context, position, names)


def _always_known(context: Context, position: str, names: Names) -> Names:
    """Those of the attributes that cannot be made unknown: lists, and what is read off them."""
    if PART in names:
        return frozenset(_LISTS)
    blank = _all_vague(context, [position])[position]
    return frozenset(name for name in names if isinstance(name, str) and getattr(blank, name, None) is not None)


def _all_vague(context: Context, positions: Collection[str]) -> dict[str, Part]:
    """The parts at these positions with nothing known of them but their lists."""
    parts = {position: context.bike[position].part for position in positions}
    memo = context.view.memo
    return {at: memo.recall(("vague", id(part)), part, partial(vague, part)) for at, part in parts.items()}
