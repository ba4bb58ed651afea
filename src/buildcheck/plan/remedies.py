"""Parts of the catalogue that clear what blocks: one full set if it is found, and the choices for each finding.

The search knows no rule. For each blocking finding it tries the parts that fit the positions which the
finding names, the cheapest first, and looks with that finding's own rule whether it is gone. After each
round the whole bike is vetted again, since a new part can bring a new finding. At the end every part that
proves needless is dropped. The result works; that it is the cheapest of all is not proven here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from itertools import islice
from typing import NamedTuple

import networkx as nx

from buildcheck.fit.context import Context
from buildcheck.fit.joints import clashes, neighbours
from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import Part
from buildcheck.model.report import Minutes, Remedy, RemedyPart

# A bike that needs more rounds than this goes round in circles.
_MOST_ROUNDS = 12
_CHOICES_PER_FINDING = 3
# More clashes than any part has joints: the part cannot stay.
_NEVER = 1000
# From this rank on a part is the bike: see way_rank in catalog/standards/positions.yaml.
_ANOTHER_BIKE = 10_000
# Rows of positions whose part nothing else needs.
_MAY_BE_LEFT_OFF = ("accessory", "wire", "dropper-line", "bb-spacer", "freehub-spacer")
_SERIOUS = (Level.BLOCKS, Level.UNKNOWN)


Key = tuple[str, str]


class Vetted(NamedTuple):
    """One vetting inside the search."""

    context: Context
    findings: tuple[Finding, ...]

    @property
    def blocking(self) -> tuple[Finding, ...]:
        """The findings that block."""
        return tuple(finding for finding in self.findings if finding.level is Level.BLOCKS)


class Workbench(NamedTuple):
    """What the search is given: how to vet, which parts there are, what the work takes.

    `still` gives the findings of one name.
    """

    vet: Callable[[Change], Vetted]
    context: Callable[[Change], Context]
    still: Callable[[Context, str], Sequence[Finding]]
    parts_for: Callable[[str], Sequence[Part]]
    minutes: Callable[[Vetted], Minutes]
    minutes_for: Callable[[str, Part | None], Minutes]
    shop_rate_eur_per_hour: float


class Found(NamedTuple):
    """The remedies, how the search ended, and the bike with the full set where there is one."""

    remedies: tuple[Remedy, ...] = ()
    note: str = ""
    full: Vetted | None = None


class _Step(NamedTuple):
    """A part tried in a position, or the position emptied (part None), and the change with it."""

    position: str
    part: Part | None
    change: Change
    context: Context
    finding: Finding
    clashes: int
    adds: tuple[str, ...] = ()


def find_remedies(bench: Workbench, change: Change, start: Vetted, pinned: frozenset[str]) -> Found:
    """The full set first, then the choices for each finding. `pinned` positions are left alone."""
    if not start.blocking:
        return Found()
    search = _Search(bench, change, start, pinned)
    full, note = search.full_set()
    choices = [(step, finding) for finding in start.blocking for step in search.choices(finding)]
    if full is None:
        choices += [(step, finding) for finding in start.blocking for step in search.instead(finding)]
        return Found(tuple(search.single(*choice) for choice in choices), note)
    return Found((search.remedy(*full), *(search.single(*choice) for choice in choices)), note, full[1])


class _Search:
    def __init__(self, bench: Workbench, change: Change, start: Vetted, pinned: frozenset[str]) -> None:
        self.bench, self.change, self.start, self.pinned = bench, change, start, pinned
        self.by_position: dict[str, list[Part]] = {}
        self.picked: dict[str, _Step] = {}
        self.tried: set[tuple[Key, str, str | None]] = set()
        self.offers: dict[Key, list[_Step]] = {}

    def choices(self, finding: Finding) -> list[_Step]:
        """The parts that by themselves make one finding go away: those that bring no other, if there are any."""
        found = self.offers.get(finding.key) or list(self.picked.values())
        alone = [step for step in (self._alone(s.position, s.part, finding) for s in found) if step is not None]
        clean = [step for step in alone if not step.adds]
        return (clean or [step for step in alone if step.part is not None])[:_CHOICES_PER_FINDING]

    def instead(self, finding: Finding) -> list[_Step]:
        """Other parts in the place of one that was asked for, with which the finding is gone."""
        now = self.start.context
        asked = [position for _, position in self.change.fit if position in finding.positions]
        parts = [(part, position) for position in asked for part in self._one_of_each(position, now)]
        mating = (pair for pair in sorted(parts, key=_price_first) if not self._clashes(now, pair[1], pair[0]))
        alone = (self._alone(position, part, finding) for part, position in mating)
        return list(islice((step for step in alone if step is not None and not step.adds), _CHOICES_PER_FINDING))

    def _alone(self, position: str, part: Part | None, finding: Finding) -> _Step | None:
        """One part on top of what was asked for, if it clears the finding, with what blocks because of it."""
        trial = _with(self.change, position, part, self.start.context)
        if trial is None or finding.key in self._serious(self.bench.context(trial), finding.name):
            return None
        vetted = self.bench.vet(trial)
        old = {f.key for f in self.start.blocking}
        # A thing that is left off must not be missed anywhere; a part answers for its own place.
        new = [f for f in vetted.blocking if f.key not in old and (part is None or position in f.positions)]
        return _Step(position, part, trial, vetted.context, finding, len(new), tuple(sorted({f.name for f in new})))

    def _serious(self, context: Context, name: str) -> set[Key]:
        return {f.key for f in self.bench.still(context, name) if f.level in _SERIOUS}

    def _helpful(self, change: Change, now: Context, finding: Finding) -> Iterator[_Step]:
        """Parts with which the finding is gone: with fewest clashes first, then the cheapest.

        A neighbour that is itself in the way will be exchanged later; one that the customer asked for will not.
        """
        homes = dict.fromkeys(now.bike[name].home if name in now.bike else name for name in finding.positions)
        candidates = [
            (self._clashes(now, position, part), *_price_first((part, position)), part)
            for position in homes if self._may_change(now, position)
            for part in (*self._one_of_each(position, now), None)
            if not _same_evidence(finding, now, position, part)
        ]  # fmt: skip
        failed: list[object] = []
        for clashing, _, position, _, part in sorted(candidates, key=lambda row: row[:4]):
            trial = _with(change, position, part, now) if clashing < _NEVER else None
            alike = (position, _rests_on(finding, position, part))
            if trial is None or (part is not None and alike[1] and alike in failed):
                continue
            context = self.bench.context(trial)
            if finding.key in self._serious(context, finding.name):
                failed.append(alike)
            else:
                yield _Step(position, part, trial, context, finding, clashing)

    def _may_change(self, now: Context, position: str) -> bool:
        """Not what was asked for; and with another frame or fork it would be another bike."""
        return position not in self.pinned and now.view.row(position).way_rank < _ANOTHER_BIKE

    def _clashes(self, now: Context, position: str, part: Part | None) -> int:
        """With how many neighbours a part would not mate; one that was asked for is one too many."""
        if part is None:
            return 0
        found = now.view.local.recall(("neighbours", position), None, lambda: neighbours(now.view, position))
        return sum(_NEVER if other in self.pinned else 1 for other in clashes(now.view, found, position, part))

    def _one_of_each(self, position: str, now: Context) -> list[Part]:
        """Parts for a position that do what the part there did; of parts that differ in price only, the cheapest."""
        if position not in self.by_position:
            self.by_position[position] = one_of_each(self.bench.parts_for(position))
        before = now.before.bike if now.before is not None else now.bike
        spot = before.get(position) or now.bike.get(position)
        was = {name: getattr(spot.part, name, None) for name in now.view.row(position).keeps} if spot else {}
        return [
            part for part in self.by_position[position]
            if all(value is None or getattr(part, name, None) == value for name, value in was.items())
        ]  # fmt: skip

    def full_set(self) -> tuple[tuple[Change, Vetted] | None, str]:
        """Round by round: clear each finding, vet the whole bike again, until nothing blocks."""
        change, now = self.change, self.start
        for _ in range(_MOST_ROUNDS):
            before = change
            for finding in self._outwards(now):
                change = self._cleared(change, finding)
            if change == before:
                return None, f"No full set was found. What the search did not clear: {_names(now)}."
            now = self.bench.vet(change)
            if not now.blocking:
                return self._pruned(change, now), ""
        return None, f"The search gave up after {_MOST_ROUNDS} rounds; at the end these blocked: {_names(now)}."

    def _outwards(self, now: Vetted) -> list[Finding]:
        """What blocks, beginning at the parts that were asked for and going outwards from mount to mount."""
        mounts = now.context.support.to_undirected(as_view=True)
        start = {name for name in self.pinned if name in mounts}
        steps = nx.multi_source_dijkstra_path_length(mounts, start) if start else {}
        return sorted(
            now.blocking, key=lambda finding: (steps.get(finding.positions[0], len(mounts)), finding.sort_key())
        )

    def _cleared(self, change: Change, finding: Finding) -> Change:
        """The change with the first part that clears a finding, unless an earlier part has cleared it."""
        now = self.bench.context(change)
        if finding.key not in self._serious(now, finding.name):
            return change
        steps = list(islice(self._helpful(change, now, finding), _CHOICES_PER_FINDING))
        self.offers.setdefault(finding.key, steps)
        for step in steps:
            mark = (finding.key, step.position, step.part.id if step.part is not None else None)
            if mark not in self.tried:
                self.tried.add(mark)
                self.picked[step.position] = step
                return step.change
        return change

    def _pruned(self, change: Change, now: Vetted) -> tuple[Change, Vetted]:
        """Drop parts, the dearest first, until no single one can be dropped without something blocking."""
        steps = sorted(self.picked.values(), key=lambda step: _price_first((step.part, step.position)), reverse=True)
        while True:
            for step in steps:
                smaller = _without(change, step.position)
                if (
                    smaller != change
                    and not self._comes_back(smaller, step.finding)
                    and not self.bench.vet(smaller).blocking
                ):
                    change, now = smaller, self.bench.vet(smaller)
                    break
            else:
                return change, now

    def _comes_back(self, change: Change, finding: Finding) -> bool:
        """Does what a part was picked for block again? Cheaper to ask than a whole vetting."""
        return any(f.level is Level.BLOCKS for f in self.bench.still(self.bench.context(change), finding.name))

    def single(self, step: _Step, finding: Finding) -> Remedy:
        """What one part does by itself: the price, and the minutes to fit it during this change."""
        price = 0.0 if step.part is None else step.part.best_price_eur()
        part = _remedy_part(step.position, step.part, self.start)
        minutes = self.bench.minutes_for(step.position, step.part)
        instead = "In place of what was asked for: " if step.position in self.pinned else ""
        proof = f"{instead}With it alone {finding.name} at the {finding.positions[0]} is gone; the rest is not cleared."
        return Remedy((part,), price, minutes, self._total(price, minutes), (finding.name,), step.adds, proof, False)

    def remedy(self, change: Change, vetted: Vetted) -> Remedy:
        """The full set with its price, its minutes and the proof of what it does."""
        fits = [item for item in change.fit if item not in self.change.fit]
        offs = [position for position in change.take_off if position not in self.change.take_off]
        parts = (
            *(_remedy_part(position, vetted.context.bike[position].part, self.start) for _, position in fits),
            *(_remedy_part(position, None, self.start) for position in offs),
        )
        prices = [part.price for part in parts]
        cost = None if None in prices else round(sum(price or 0.0 for price in prices), 2)
        minutes = self.bench.minutes(vetted)
        old = {finding.key for finding in self.start.findings}
        return Remedy(
            parts=tuple(sorted(parts, key=lambda part: part.position)),
            parts_cost=cost,
            extra_minutes=minutes,
            total_cost=self._total(cost, minutes),
            clears=tuple(sorted({finding.name for finding in self.start.blocking})),
            adds=tuple(sorted({finding.name for finding in vetted.findings if finding.key not in old})),
            proof="Vetted again with these parts, nothing blocks; without any one of them something does."
            + (" It stays undecided: measure first." if any(f.level is Level.UNKNOWN for f in vetted.findings) else ""),
            complete=True,
        )

    def _total(self, cost: float | None, minutes: Minutes) -> float | None:
        return None if cost is None else round(cost + minutes.mean / 60 * self.bench.shop_rate_eur_per_hour, 2)


def _names(vetted: Vetted) -> str:
    return ", ".join(sorted({finding.name for finding in vetted.blocking}))


def _without(change: Change, position: str) -> Change:
    return replace(
        change,
        fit=tuple(item for item in change.fit if item[1] != position),
        take_off=tuple(name for name in change.take_off if name != position),
    )


def _remedy_part(position: str, part: Part | None, start: Vetted) -> RemedyPart:
    if part is None:
        return RemedyPart(None, f"leave off {start.context.bike[position].part.name}", position, 0.0)
    return RemedyPart(part.id, part.name, position, part.best_price_eur())


def _rests_on(finding: Finding, position: str, part: Part | None) -> tuple[object, ...]:
    """What a finding rests on at one position, as a part there has it. Equal parts bring the finding about equally."""
    names = sorted({item.attribute.partition(".")[0] for item in finding.evidence if item.position == position})
    return tuple(getattr(part, name, None) for name in names)


def _same_evidence(finding: Finding, now: Context, position: str, part: Part | None) -> bool:
    """Is a part like the one there now in all that the finding rests on? Then it cannot clear the finding."""
    spot = now.bike.get(position)
    rests_on = _rests_on(finding, position, part)
    return (
        part is not None and spot is not None and bool(rests_on) and rests_on == _rests_on(finding, position, spot.part)
    )


def one_of_each(parts: Sequence[Part]) -> list[Part]:
    """Of parts that differ in name and price only, the cheapest: the others cannot do anything that it cannot."""
    best: dict[str, Part] = {}
    for part in sorted(parts, key=lambda part: _price_first((part, ""))):
        best.setdefault(interface_signature(part), part)
    return list(best.values())


def _price_first(candidate: tuple[Part | None, str]) -> tuple[float, str, str]:
    """Leaving a thing off is the last resort; an unknown price counts as the dearest part."""
    part, position = candidate
    price = float("inf") if part is None else part.best_price_eur()
    return (1e9 if price is None else price), position, part.id if part is not None else ""


def interface_signature(part: Part) -> str:
    """Everything about a part that a rule can see."""
    hidden = {"id", "maker", "name", "price_eur", "weight_g", "offers", "note"}
    return repr([(name, getattr(part, name)) for name in sorted(part.model_fields_set - hidden)])


def _with(change: Change, position: str, part: Part | None, context: Context) -> Change | None:
    """The change with one more part, or with an accessory left off; None where that changes nothing."""
    fit = tuple(item for item in change.fit if item[1] != position)
    spot = context.bike.get(position)
    if part is not None:
        return (
            None if spot is not None and spot.part.id == part.id else replace(change, fit=(*fit, (part.id, position)))
        )
    if spot is None or context.view.row(position).id not in _MAY_BE_LEFT_OFF:
        return None  # anything else is needed by something
    return replace(change, fit=fit, take_off=(*change.take_off, position))
