"""Why a finding is there, as explanations that the search can learn from: its evidence, cut down to what is needed.

That the evidence of a finding is enough by itself is a law of the vetting. Of this evidence a fact is not
needed if the finding stays when the fact is unknown: then it stays whatever the fact is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from functools import partial

from buildcheck.candidates.entailment import Again, Entailment, FindingReason, TrialBikes, only
from buildcheck.candidates.evidence import positions_named, stays_with_fewer_ways
from buildcheck.candidates.features import PART, WAYS, PartCandidate, Within
from buildcheck.candidates.lengths import OfLengths, other_lengths, with_every_way
from buildcheck.fit.context import Context
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.parts.base import token_of
from buildcheck.model.quantities import Interval
from buildcheck.remedies import (
    CHANGED,
    ContradictionError,
    Domains,
    Explanation,
    Features,
    minimal_subset,
    weakest_of_each,
    widest_limits,
)

_NOTHING: Features = frozenset()
_NO_HINT: frozenset[str] = frozenset()
# With fewer sizes in a domain than this, trying one after the other is quicker than finding the limits.
_MANY_SIZES = 8
# Lists whose being left out means that there are none: they cannot be made unknown.
_LISTS = frozenset({"places", "mounts", "ports"})


class LessonError(ContradictionError):
    """A finding does not come again from its own evidence, so nothing can be learned from it: a fault of its rule.

    To go on would call a remedy the cheapest that is not.
    """

    def __init__(self, finding: Finding) -> None:
        named = sorted({f"{item.position}.{item.attribute}" for item in finding.evidence})
        super().__init__(f"{finding.name} at {finding.positions} does not come again from its evidence: {named}")


class ExplanationMinimiser:
    """Cuts what findings rest on down to what they cannot do without.

    What could be left out for one finding is tried first, as a whole, for the next one of its name at its place; where
    more ways for lines were no help for one, they are tried for the next.
    """

    def __init__(self, again: Again, settled: Callable[[str], bool]) -> None:
        self.again, self.settled = again, settled
        self._bikes = TrialBikes()
        self._left_out: dict[tuple[str, str], frozenset[str]] = {}
        self._of_no_help: dict[tuple[str, str], frozenset[str]] = {}
        self._limits: dict[object, Interval] = {}
        self._lengths: dict[tuple[str, str], dict[str, int]] = {}
        # The same parts each time, so that what was worked out with them for one finding is known for the next.
        self._every_way: dict[tuple[str, object], Part] = {}
        self._other_lengths: dict[tuple[str, object], list[OfLengths]] = {}
        self._proven: set[object] = set()

    def minimise(self, reason: FindingReason, domains: Domains[PartCandidate]) -> Explanation:
        """What is enough for a reason: with what it may be there for lack of, cut down at the open positions."""
        trial = Entailment(reason, self.again, self.settled, self._bikes)
        self._prove(reason, trial)
        return {**self._absences(reason, trial), **reason.whole, **self._needed(reason, domains, trial)}

    def _prove(self, reason: FindingReason, trial: Entailment) -> None:
        """What blocks must come again from its evidence alone; once for each sort of it. Raises LessonError."""
        finding = reason.finding
        sort = finding.key, frozenset(reason.whole.items())
        if finding.level is not Level.BLOCKS or sort in self._proven:
            return
        if not trial.still_entailed(_known_by(reason.context, reason.whole)):
            raise LessonError(finding)
        self._proven.add(sort)

    def _needed(self, reason: FindingReason, domains: Domains[PartCandidate], trial: Entailment) -> Explanation:
        """Of the whole that a finding rests on at the open positions, the part that it cannot do without."""
        context, finding = reason.context, reason.finding
        needs = {position: names for position, names in reason.whole.items() if position in domains}
        droppable = frozenset(
            position for position in needs
            if not trial.by_way and _can_be_unknown(context, position, needs[position])
            and not (stays_with_fewer_ways(finding) and _could_lead_anywhere(context, position, needs[position]))
        )  # fmt: skip
        left_out = self._unneeded(trial, droppable)
        found: dict[str, Features] = {
            position: _always_known(context, position, names) | names & {CHANGED} if position in left_out else names
            for position, names in needs.items()
        }  # fmt: skip
        parts = _all_unknown(context, left_out)
        if stays_with_fewer_ways(finding):
            for position, part in self._of_any_ways(trial, parts, found, domains).items():
                found[position] = found[position] - {"passages"} | {WAYS}
                parts[position] = part
        for position, other in self._of_other_lengths(trial, parts, found, domains).items():
            found[position] = found[position] - {"passages"} | {other.name}
            parts[position] = other.part
        for position in finding.positions:
            if position in droppable - left_out:
                sizes = partial(_sizes, domains[position])
                found[position], parts[position] = self._widened(trial, parts, position, needs[position], sizes)
        return found

    def _unneeded(self, trial: Entailment, droppable: frozenset[str]) -> frozenset[str]:
        """The positions of which the finding needs to know nothing."""
        context, finding = trial.context, trial.finding
        hint = self._left_out.get(finding.key, _NO_HINT) & droppable
        if finding.key in self._left_out and trial.still_entailed(_all_unknown(context, hint)):
            return hint
        left_out: frozenset[str] = frozenset()
        # Where the finding is itself stays known at first: with that unknown, too, a trial is dear and seldom holds.
        for some in (droppable.difference(finding.positions), droppable.intersection(finding.positions)):
            left_out |= some - minimal_subset(sorted(some, reverse=True), partial(self._holds, trial, left_out | some))
        self._left_out[finding.key] = left_out
        return left_out

    @staticmethod
    def _holds(trial: Entailment, unknown: frozenset[str], but_for: frozenset[str]) -> bool:
        return trial.still_entailed(_all_unknown(trial.context, unknown - but_for))

    def _of_any_ways(
        self, trial: Entailment, parts: Mapping[str, Part], needs: Explanation, domains: Domains[PartCandidate]
    ) -> dict[str, Part]:
        """Parts with all the ways that any in their domain has, at those positions at which that does not help."""
        bike, key = trial.context.bike, trial.finding.key
        able = {
            position: [self._with_every_way(position, bike[position].part, domains[position])]
            for position, names in needs.items()
            if "passages" in names and position in bike and bike[position].part.passages is not None
            and position in self._of_no_help.get(key, needs)
        }  # fmt: skip
        found = weakest_of_each(able, {}, lambda some: trial.still_entailed({**parts, **some}))
        self._of_no_help[key] = frozenset(found)
        return {at: able[at][number] for at, number in found.items()}

    def _with_every_way(self, position: str, part: Part, domain: Collection[PartCandidate]) -> Part:
        key = position, token_of(part)
        if key not in self._every_way:
            self._every_way[key] = with_every_way(part, domain)
        return self._every_way[key]

    def _of_other_lengths(
        self, trial: Entailment, parts: Mapping[str, Part], needs: Explanation, domains: Domains[PartCandidate]
    ) -> dict[str, OfLengths]:
        """Parts whose ways have any of the lengths in their domain, at those positions at which the finding stays."""
        bike, key = trial.context.bike, trial.finding.key
        tries = {
            position: self._lengths_at(position, bike[position].part, domains[position])
            for position, names in needs.items() if "passages" in names and position in bike
        }  # fmt: skip
        found = weakest_of_each(
            tries,
            self._lengths.setdefault(key, {}),
            lambda some: trial.still_entailed({**parts, **{at: other.part for at, other in some.items()}}),
        )
        self._lengths[key].update(found)
        return {at: tries[at][number] for at, number in found.items()}

    def _lengths_at(self, position: str, part: Part, domain: Collection[PartCandidate]) -> list[OfLengths]:
        key = position, token_of(part)
        if key not in self._other_lengths:
            self._other_lengths[key] = other_lengths(part, domain)
        return self._other_lengths[key]

    def _widened(
        self,
        trial: Entailment,
        parts: Mapping[str, Part],
        position: str,
        names: Features,
        sizes_of: Callable[[str], list[float]],
    ) -> tuple[Features, Part]:
        """The same for one part, a size of many with the limits within which the finding stays."""
        own, found = trial.context.bike[position].part, set(names)
        if PART in names:
            return names, own
        part = trial.context.view.memo.recall(("only", token_of(own), names), partial(only, own, names))
        widened = False
        for name in sorted(name for name in names if isinstance(name, str)):
            value, sizes = getattr(part, name, None), sizes_of(name)
            if isinstance(value, Interval) and len(sizes) >= _MANY_SIZES:

                def stays(limits: tuple[float, float], of: Part = part, name: str = name) -> bool:
                    wider = of.model_copy(update={name: Interval(*limits)})
                    return trial.still_entailed({**parts, position: wider})

                key = (trial.finding.key, position, name)
                hint = self._limits.get(key, value)
                low, high = widest_limits((value.low, value.high), sizes, (hint.low, hint.high), stays)
                self._limits[key] = Interval(low, high)
                widened = widened or (low, high) != (value.low, value.high)
                part = part.model_copy(update={name: Interval(low, high)})
                found.discard(name)
                found.add(Within(name, low, high))
        # What holds within wider limits was tried; the part itself has to be only where nothing could be widened.
        if not widened and not trial.still_entailed({**parts, position: part}):
            raise LessonError(trial.finding)
        return frozenset(found), part

    def _absences(self, reason: FindingReason, trial: Entailment) -> Explanation:
        """The positions that the change leaves empty, unless the finding stays, too, with the old parts back there."""
        context = reason.context
        if context.before is None:
            return {}
        lost = {name: spot for name, spot in context.before.bike.fitted.items() if name not in context.bike}
        others = lost.keys() - positions_named(reason.finding)
        back = {name: lost[name] for name in others}
        # Evidence is enough by itself: where it does not name what came back, it matters neither there nor gone.
        named = others & trial.named_with(back) if back else others
        return dict.fromkeys((lost[name].home for name in (lost.keys() - others) | named), _NOTHING)


def _sizes(domain: Collection[PartCandidate], name: str) -> list[float]:
    values = [getattr(candidate.part, name, None) for candidate in domain]
    return sorted({end for value in values if isinstance(value, Interval) for end in (value.low, value.high)})


def _known_by(context: Context, whole: Explanation) -> dict[str, Part]:
    """The parts of a bike with nothing known but what an explanation names, and their lists."""
    parts, memo = {spot.home: spot.part for spot in context.bike.main_spots()}, context.view.memo
    named = {home: whole.get(home, _NOTHING) for home in parts}
    return {
        home: memo.recall(("only", token_of(parts[home]), names), partial(only, parts[home], names))
        for home, names in named.items() if PART not in names
    }  # fmt: skip


def _can_be_unknown(context: Context, position: str, names: Features) -> bool:
    """CHANGED never is: a rule tells another part by its id, which a part with unknowns keeps."""
    spot = context.bike.get(position)
    return spot is not None and names - {CHANGED} != _always_known(context, position, names)


def _could_lead_anywhere(context: Context, position: str, names: Features) -> bool:
    """Would a line have a way at once if nothing were known of the part? Then what is there for lack of one is gone."""
    bike, row = context.bike, context.view.row
    homes = (name for name, spot in bike.fitted.items() if spot.home == position)
    return "passages" in names and any(row(name).ways for name in homes)


def _always_known(context: Context, position: str, names: Features) -> Features:
    """Those of the attributes that cannot be made unknown: lists, and what is read off them."""
    if PART in names:
        return frozenset(_LISTS)
    blank = _all_unknown(context, [position])[position]
    return frozenset(name for name in names if isinstance(name, str) and getattr(blank, name, None) is not None)


def _all_unknown(context: Context, positions: Collection[str]) -> dict[str, Part]:
    """The parts at these positions with nothing known of them but their lists."""
    parts = {position: context.bike[position].part for position in positions}
    memo = context.view.memo
    return {
        at: memo.recall(("only", token_of(part), _NOTHING), partial(only, part, _NOTHING)) for at, part in parts.items()
    }
