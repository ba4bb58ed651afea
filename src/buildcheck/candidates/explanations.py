"""Why a finding is there, as explanations that the search can learn from: its evidence, cut down to what is needed.

That the evidence of a finding is enough by itself is a law of the vetting. Of this evidence a fact is not
needed if the finding stays when the fact is unknown: then it stays whatever the fact is.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from buildcheck.candidates.entailment import Again, Entailment, FindingReason, TrialBikes, nothing_known, only
from buildcheck.candidates.evidence import positions_named, stays_with_fewer_ways
from buildcheck.candidates.features import PART, WAYS, PartCandidate, Within
from buildcheck.candidates.lengths import OfLengths, other_lengths, with_every_way
from buildcheck.fit.context import Context
from buildcheck.fit.facts import Fact
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
    Limits,
    first_limits,
    minimal_subset,
    weakest_of_each,
    widest_limits,
)

SizesOf = Callable[[str], list[float]]  # of a domain, by the name of the size
_NOTHING: Features = frozenset()
_NO_HINT: frozenset[str] = frozenset()
# With fewer sizes in a domain than this, trying one after the other is quicker than finding the limits.
_MANY_SIZES = 3
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
        self._limits: dict[object, Limits] = {}
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
        as_before = self._as_before(trial, needs, droppable, domains)
        if as_before is not None:
            return as_before
        left_out = self._unneeded(trial, droppable)
        cut = _Cut.by(trial, needs, left_out)
        if stays_with_fewer_ways(finding):
            cut.take_ways(self._of_any_ways(trial, cut, domains))
        cut.take_lengths(self._of_other_lengths(trial, cut, domains))
        for position in finding.positions:
            if position in droppable - left_out:
                sizes = partial(_sizes, domains[position])
                cut.needs[position], cut.parts[position] = self._widened(trial, cut, position, needs[position], sizes)
        return cut.needs

    def _as_before(
        self, trial: Entailment, needs: Explanation, droppable: frozenset[str], domains: Domains[PartCandidate]
    ) -> Explanation | None:
        """What was enough for the last finding of its name at its place, if that is enough for this one, too.

        It is what step by step would come to where each step finds that it holds, in one trial instead of several.
        """
        finding = trial.finding
        if finding.key not in self._left_out:
            return None
        left_out = self._left_out[finding.key] & droppable
        cut = _Cut.by(trial, needs, left_out)
        if stays_with_fewer_ways(finding):
            able = self._with_any_ways(trial, cut, domains)
            cut.take_ways({position: parts[0] for position, parts in able.items()})
        hint = self._lengths.get(finding.key, {})
        tries = self._tries_of_lengths(trial, cut, domains)
        cut.take_lengths({at: rows[min(hint.get(at, 0), len(rows) - 1)] for at, rows in tries.items() if rows})
        for position in finding.positions:
            if position in droppable - left_out and PART not in needs[position]:
                sizes = partial(_sizes, domains[position])
                cut.needs[position], cut.parts[position] = self._as_wide(trial, position, needs[position], sizes)
        if not trial.still_entailed(cut.parts):
            return None
        for position in finding.positions:
            for each in cut.needs.get(position, _NOTHING):
                if isinstance(each, Within):
                    self._limits[finding.key, position, each.attribute] = each.low, each.high
        return cut.needs

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

    def _of_any_ways(self, trial: Entailment, cut: _Cut, domains: Domains[PartCandidate]) -> dict[str, Part]:
        """Parts with all the ways that any in their domain has, at those positions at which that does not help."""
        able, found = self._with_any_ways(trial, cut, domains), dict[str, Part]()
        # Where the finding is itself comes last: there more ways help most often, and all others are tried at once.
        for last in (False, True):
            some = {at: parts for at, parts in able.items() if (at in trial.finding.positions) is last}
            numbers = weakest_of_each(some, {}, lambda more: trial.still_entailed({**cut.parts, **found, **more}))
            found.update({at: some[at][number] for at, number in numbers.items()})
        self._of_no_help[trial.finding.key] = frozenset(found)
        return found

    def _with_any_ways(
        self, trial: Entailment, cut: _Cut, domains: Domains[PartCandidate]
    ) -> dict[str, Sequence[Part]]:
        bike, key = trial.context.bike, trial.finding.key
        return {
            position: [self._with_every_way(position, bike[position].part, domains[position])]
            for position, names in cut.needs.items()
            if "passages" in names and position in bike and bike[position].part.passages is not None
            and position in self._of_no_help.get(key, cut.needs)
        }  # fmt: skip

    def _with_every_way(self, position: str, part: Part, domain: Collection[PartCandidate]) -> Part:
        key = position, token_of(part)
        if key not in self._every_way:
            self._every_way[key] = with_every_way(part, domain)
        return self._every_way[key]

    def _of_other_lengths(self, trial: Entailment, cut: _Cut, domains: Domains[PartCandidate]) -> dict[str, OfLengths]:
        """Parts whose ways have any of the lengths in their domain, at those positions at which the finding stays."""
        tries = self._tries_of_lengths(trial, cut, domains)
        hint = self._lengths.setdefault(trial.finding.key, {})
        found = weakest_of_each(
            tries,
            hint,
            lambda some: trial.still_entailed({**cut.parts, **{at: other.part for at, other in some.items()}}),
        )
        hint.update(found)
        return {at: tries[at][number] for at, number in found.items()}

    def _tries_of_lengths(
        self, trial: Entailment, cut: _Cut, domains: Domains[PartCandidate]
    ) -> dict[str, list[OfLengths]]:
        bike = trial.context.bike
        return {
            position: self._lengths_at(position, bike[position].part, domains[position])
            for position, names in cut.needs.items() if "passages" in names and position in bike
        }  # fmt: skip

    def _lengths_at(self, position: str, part: Part, domain: Collection[PartCandidate]) -> list[OfLengths]:
        key = position, token_of(part)
        if key not in self._other_lengths:
            self._other_lengths[key] = other_lengths(part, domain)
        return self._other_lengths[key]

    def _widened(
        self, trial: Entailment, cut: _Cut, position: str, names: Features, sizes_of: SizesOf
    ) -> tuple[Features, Part]:
        """The same for one part, a size of many with the limits within which the finding stays."""
        found = set(names)
        if PART in names:
            return names, trial.context.bike[position].part
        part = _known_at(trial.context, position, names)
        widened = False
        for name, value, sizes in _of_many_sizes(part, names, sizes_of):

            def stays(limits: Limits, of: Part = part, name: str = name) -> bool:
                return trial.still_entailed({**cut.parts, position: _of_size(of, name, limits)})

            key = (trial.finding.key, position, name)
            limits = widest_limits(value, sizes, self._limits.get(key, value), stays)
            self._limits[key] = limits
            widened = widened or limits != value
            part = _of_size(part, name, limits)
            found.discard(name)
            found.add(Within(name, *limits))
        # What holds within wider limits was tried; the part itself has to be only where nothing could be widened.
        if not widened and not trial.still_entailed({**cut.parts, position: part}):
            raise LessonError(trial.finding)
        return frozenset(found), part

    def _as_wide(
        self, trial: Entailment, position: str, names: Features, sizes_of: SizesOf
    ) -> tuple[Features, Part]:
        """As `_widened`, with the limits that it tries first."""
        found = set(names)
        part = _known_at(trial.context, position, names)
        for name, value, sizes in _of_many_sizes(part, names, sizes_of):
            limits = first_limits(value, sizes, self._limits.get((trial.finding.key, position, name), value))
            part = _of_size(part, name, limits)
            found.discard(name)
            found.add(Within(name, *limits))
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


@dataclass
class _Cut:
    """How far the explanation of a finding is cut down, and the parts with which it was tried."""

    needs: dict[str, Features]
    parts: dict[str, Part]

    @classmethod
    def by(cls, trial: Entailment, needs: Explanation, left_out: Collection[str]) -> _Cut:
        """With nothing known of the parts at some positions."""
        context = trial.context
        kept: dict[str, Features] = {
            position: _always_known(context, position, names) | names & {CHANGED} if position in left_out else names
            for position, names in needs.items()
        }  # fmt: skip
        return cls(kept, _all_unknown(context, left_out))

    def take_ways(self, found: Mapping[str, Part]) -> None:
        """What ways these have does not matter."""
        for position, part in found.items():
            self.needs[position] = self.needs[position] - {"passages"} | {WAYS}
            self.parts[position] = part

    def take_lengths(self, found: Mapping[str, OfLengths]) -> None:
        """Of the ways of these the lengths may be others."""
        for position, other in found.items():
            self.needs[position] = self.needs[position] - {"passages"} | {other.name}
            self.parts[position] = other.part


def _known_at(context: Context, position: str, names: Features) -> Part:
    """The part at a position with nothing known but what is named, and its lists.

    What is named and was read off a neighbour is known of the part itself: the neighbour may be another one here.
    """
    part = context.bike[position].part
    read_off = {
        attribute: fact.held if fact.held is not None else _any_of(fact)
        for (home, attribute), fact in context.view.inferred.items()
        if home == position and attribute in names and attribute in type(part).model_fields
    }  # fmt: skip

    def known() -> Part:
        kept = only(part, names)
        return kept.model_copy(update=read_off) if read_off else kept

    return context.view.memo.recall(("only", token_of(part), names, *sorted(read_off.items())), known)


def _of_many_sizes(part: Part, names: Features, sizes_of: SizesOf) -> Iterator[tuple[str, Limits, list[float]]]:
    """The sizes of a part, among those named, of which its domain has so many that limits are worth while."""
    for name in sorted(name for name in names if isinstance(name, str)):
        value = getattr(part, name, None)
        if isinstance(value, Interval) and len(sizes := sizes_of(name)) >= _MANY_SIZES:
            yield name, (value.low, value.high), sizes


def _of_size(part: Part, name: str, limits: Limits) -> Part:
    return part.model_copy(update={name: Interval(*limits)})


def _sizes(domain: Collection[PartCandidate], name: str) -> list[float]:
    values = [getattr(candidate.part, name, None) for candidate in domain]
    return sorted({end for value in values if isinstance(value, Interval) for end in (value.low, value.high)})


def _known_by(context: Context, whole: Explanation) -> dict[str, Part]:
    """The parts of a bike with nothing known but what an explanation names, and their lists."""
    named = {spot.home: whole.get(spot.home, _NOTHING) for spot in context.bike.main_spots()}
    return {home: _known_at(context, home, names) for home, names in named.items() if PART not in names}


def _any_of(fact: Fact) -> object:
    """One of the words that it can be: what rests on that it is one of them rests on no other word less."""
    return fact.possible[0] if fact.one_word else (fact.possible[0],)


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
    """Those of the attributes that cannot be made unknown: lists, what is read off them, and where none means none."""
    if PART in names:
        return frozenset(_LISTS)
    blank = _all_unknown(context, [position])[position]
    stays = type(blank).model_fields.keys() - nothing_known(type(blank)).keys()
    words = (name for name in names if isinstance(name, str))
    return frozenset(name for name in words if name in stays or getattr(blank, name, None) is not None)


def _all_unknown(context: Context, positions: Collection[str]) -> dict[str, Part]:
    """The parts at these positions with nothing known of them but their lists."""
    parts = {position: context.bike[position].part for position in positions}
    memo = context.view.memo
    return {
        at: memo.recall(("only", token_of(part), _NOTHING), partial(only, part, _NOTHING)) for at, part in parts.items()
    }
