"""Small cases for the search for remedies: so few parts to choose from that every set of them can be tried.

A bundled bike, a change to it that blocks, and a catalogue with a few candidates for a few positions and nothing else.
Candidates are bundled parts, designs of the part there, and that part with a size or a word of a neighbour, which
often clears what blocks. Each is tried while the case is made, so that there are, where possible, some that
clear a finding, one that clears it but brings another, and some that are of no use.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import product
from math import prod
from random import Random
from typing import Any, NamedTuple

from hypothesis import strategies as st
from pydantic import ValidationError

from buildcheck.candidates.domains import ANOTHER_BIKE
from buildcheck.library.alike import signature
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Bike, Change, Fitted
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level
from buildcheck.model.parts import PART_KINDS, Part
from buildcheck.model.quantities import Interval, Unit, Vocabulary, plain_interval
from buildcheck.model.standards import PositionRow
from buildcheck.vetting import Vetting
from generated import bundled_parts, catalogue_of, design, entries, load_once
from laws.bench import BIKES, bike

Facts = dict[str, Any]

# The wires of its shifting may each be left off: too many sets.
SMALL_BIKES = tuple(name for name in BIKES if name != "allroad-wired")
# Our choice: how many parts are tried at a position, how far designs of the part there go, and how many
# findings a change may bring; at how many positions a change that blocks is looked for.
MENDED, DESIGNS, BUNDLED, FARTHEST_DESIGN, MOST_FINDINGS, SPOTS = 6, 4, 6, 40, 4, 8
# The share of cases that is kept, by how many sets were seen to clear everything: none, one, or more.
KEPT = (0.05, 0.4, 1.0)


class SmallCase(NamedTuple):
    """A bike, a change that blocks, and all that there is to choose from.

    `choices` has, for each position that may be touched, what can be there in place of what is there after the
    change: ids of parts of `catalogue`, and None where it may be left off. The positions are those of the bike and
    the empty ones that a finding named while the case was made.
    """

    bike: Bike
    change: Change
    catalogue: Catalogue
    choices: Mapping[str, tuple[str | None, ...]]

    def changes(self) -> Iterator[Change]:
        """The change with every set of parts on top of it, the empty set first."""
        for picks in product(*(("", *options) for options in self.choices.values())):
            pairs = [(pick, at) for at, pick in zip(self.choices, picks, strict=True) if pick != ""]
            fits = tuple((pick, at) for pick, at in pairs if pick is not None)
            yield Change((*self.change.fit, *fits), tuple(at for pick, at in pairs if pick is None))

    def __repr__(self) -> str:
        return f"SmallCase({self.bike.id}, {self.change}, {dict(self.choices)})"


def small_cases(positions: int = 3, per_position: int = 4, most_sets: int = 200) -> st.SearchStrategy[SmallCase]:
    """Small cases; the numbers are those of `small_case`."""
    return st.builds(lambda seed: small_case(seed, positions, per_position, most_sets), st.integers(0, 2**32 - 1))


def small_case(seed: int, positions: int = 3, per_position: int = 4, most_sets: int = 200) -> SmallCase:
    """The small case of a seed: candidates for at most so many positions, for each at most so many.

    There are fewer where they would make more than `most_sets` sets of parts to try, the empty set among them.
    """
    random = Random(seed)
    while True:
        making = _Making(_bare(random.choice(SMALL_BIKES), random), random)
        if making.ask():
            making.choose(positions, per_position)
            if random.random() < KEPT[min(2, len(making.solutions))] and making.thin(most_sets):
                return making.case()


def sets_of(choices: Mapping[str, Collection[str | None]]) -> int:
    """How many sets of parts there are to try, the empty one among them."""
    return prod(1 + len(options) for options in choices.values())


def _bare(name: str, random: Random) -> Bike:
    """A bundled bike with at most one accessory, and no lamp with a wire: each of them may be left off."""
    whole = bike(name)
    loose = [spot.position for spot in whole.main_spots() if _row(spot.position).id in ("accessory", "wire")]
    alone = [at for at in loose if whole[at].part.kind == "accessory" and whole[at].on not in loose
             and not any(at in (spot.start, spot.end) for spot in whole.fitted.values())]  # fmt: skip
    kept = random.choice([None, *alone])
    return whole.with_fitted({at: spot for at, spot in whole.fitted.items() if at not in loose or at == kept})


class _Vetted(NamedTuple):
    """The bike after a change, and what blocks."""

    bike: Bike
    blocking: tuple[Finding, ...]


class _Making:
    """A case in the making. Parts have passing names until the end; `picked` are those that the case will have."""

    def __init__(self, of: Bike, random: Random) -> None:
        self.bike, self.random = of, random
        self.asked = Change()
        self.pinned: set[str] = set()
        self.picked: list[str] = []
        self.solutions: list[set[str]] = []  # candidates that were seen to clear everything together
        self.empty: dict[Change, set[str]] = {}  # positions that a finding named although nothing is there
        self.facts: dict[str, Facts] = {}
        self.own: dict[str, tuple[Part, Mapping[str, str]]] = {}
        self.names: dict[object, str] = {}
        self.bench = Vetting(replace(of, own_parts=self.own), load_once())

    # ---- step by step ----

    def ask(self) -> bool:
        """Find a change that blocks, but not in too many ways, with something beside it that may be exchanged."""
        least = self.random.choice([1, 2])
        for spot in self.random.sample(self.bike.main_spots(), SPOTS):
            for part_id in self.named([*self.designs(spot.position, 3), *self.bundled(spot.position, 3)]):
                self.asked, self.picked = _with(Change(), part_id, spot.position), [part_id]
                vetted = self.vetted(self.asked)
                self.pinned = {at for at, other in vetted.bike.fitted.items() if other.home == spot.position}
                if least <= len(vetted.blocking) <= MOST_FINDINGS and self.free(vetted):
                    return True
        return False

    def choose(self, positions: int, per_position: int) -> None:
        """Candidates where it blocks, and where it blocks still or anew with one of them; in the end of no use."""
        first = now = self.vetted(self.asked)
        change, done = self.asked, set[str]()
        while len(done) < positions and (at := _first([*self.free(now), *self.free(first)], done)) is not None:
            done.add(at)
            helpful = self.candidates(at, change, per_position)
            trials = [_with(change, part_id, at) for part_id in helpful]
            cleared = [trial for trial in trials if not self.vetted(trial).blocking]
            self.solutions += [{part_id for part_id, _ in trial.fit} for trial in cleared]
            change = self.asked if cleared else trials[0] if trials else change
            now = self.vetted(change)
        kinds = [spot.part.kind for spot in self.bike.main_spots()]
        spare = [spot.position for spot in self.bike.main_spots() if kinds.count(spot.part.kind) == 1]
        spare = [at for at in self.random.sample(spare, len(spare)) if self.may_change(at) and at not in done]
        for at in spare[: positions - len(done)]:
            self.picked += self.named(self.designs(at, per_position))

    def candidates(self, at: str, change: Change, most: int) -> list[str]:
        """Pick candidates for a position; those that clear something are returned, first those that bring something."""
        vetted = self.vetted(change)
        before = {finding.key for finding in vetted.blocking}
        clean, mixed, useless = list[str](), list[str](), list[str]()
        drawn = [*self.mended(at, vetted), *self.designs(at, DESIGNS), *self.bundled(at, BUNDLED)]
        for part_id in self.named(drawn):
            after = {finding.key for finding in self.vetted(_with(change, part_id, at)).blocking}
            (useless if before <= after else clean if after < before else mixed).append(part_id)
        for sort in (clean, mixed, useless):
            self.random.shuffle(sort)
        some = (most + 1) // 2
        picked = [*clean[:some], *mixed[:1], *useless[:1], *clean[some:], *useless[1:], *mixed[1:]][:most]
        self.picked += picked
        return [part_id for part_id in (*mixed, *clean) if part_id in picked]

    def thin(self, most_sets: int) -> bool:
        """Leave out what makes too many sets, but not what two solutions need; False if that is too much already."""
        needed = {self.picked[0]}.union(*self.random.sample(self.solutions, min(2, len(self.solutions))))
        while sets_of(self.choices([self.own[part_id][0] for part_id in self.picked])) > most_sets:
            needless = [part_id for part_id in self.picked if part_id not in needed]
            if not needless:
                return False
            self.picked.remove(self.random.choice(needless))
        return True

    def case(self) -> SmallCase:
        """The case, its parts under names and prices of their own."""
        asked, *others = self.picked
        self.random.shuffle(others)
        made = catalogue_of(entries([self.facts[part_id] for part_id in (asked, *others)], self.random))
        change = replace(self.asked, fit=tuple((next(iter(made.ids)), at) for _, at in self.asked.fit))
        return SmallCase(self.bike, change, made, self.choices([made.part(part_id) for part_id in made.ids]))

    def choices(self, parts: Sequence[Part]) -> dict[str, tuple[str | None, ...]]:
        """What can be in each position, if these are all the parts that there are."""
        after = self.vetted(self.asked).bike
        tried = [change for change in self.empty if {part_id for part_id, _ in change.fit} <= {*self.picked}]
        empty = {at for change in tried for at in self.empty[change]}
        found = {}
        for at in [*(spot.position for spot in after.main_spots()), *sorted(empty)]:
            was = self.bike.get(at) or after.get(at)
            fitting = (part for part in parts if part.kind in _row(at).kinds and _keeps(part, at, was))
            options: list[str | None] = [part.id for part in fitting]
            if _row(at).left_off != "never" and at in after:
                options.append(None)
            if options and self.may_change(at):
                found[at] = tuple(options)
        return found

    # ---- parts to try ----

    def named(self, drawn: Sequence[Facts]) -> list[str]:
        """Names for those of these parts that are whole records and were not drawn before."""
        found = []
        for facts in drawn:
            name = f"try-{len(self.names)}"
            try:
                record = PART_KINDS[facts["kind"]].model_validate({**facts, "id": name})
            except ValidationError:
                continue
            if self.names.setdefault(signature(facts), name) == name:
                self.facts[name], self.own[name] = facts, (record, {})
                found.append(name)
        return found

    def designs(self, at: str, most: int) -> list[Facts]:
        """Some designs of the part that is there."""
        numbers = self.random.sample(range(1, FARTHEST_DESIGN), most)
        return [design(self.bike[at].part.id, number) for number in numbers if self.is_bundled(at)]

    def bundled(self, at: str, most: int) -> list[Facts]:
        """Some bundled parts of the kinds that go there."""
        ids = [part_id for part_id, data in bundled_parts().items() if data["kind"] in _row(at).kinds]
        return [design(part_id, 0) for part_id in self.random.sample(ids, min(most, len(ids)))]

    def mended(self, at: str, vetted: _Vetted) -> list[Facts]:
        """The part that is there, with a size or a word of what it meets where it blocks."""
        found = []
        for finding in vetted.blocking if self.is_bundled(at) else ():
            part = self.bike[at].part
            ours = {item.attribute for item in finding.evidence if item.position == at}
            for item in finding.evidence:
                met = vetted.bike.get(item.position)
                value = getattr(met.part, item.attribute, None) if met is not None and item.position != at else None
                changed = {name: _as_fact(type(part), name, value) for name in sorted(ours)}
                found += [{**design(part.id, 0), name: raw} for name, raw in changed.items() if raw is not None]
        return self.random.sample(found, min(MENDED, len(found)))

    def is_bundled(self, at: str) -> bool:
        return at in self.bike and self.bike[at].part.id in bundled_parts()

    # ---- the bike with a change ----

    def vetted(self, change: Change) -> _Vetted:
        vetted, _ = self.bench._vet(change)
        after = vetted.context.bike
        blocking = tuple(finding for finding in vetted.findings if finding.level is Level.BLOCKS)
        named = {at for finding in blocking for at in finding.positions}
        self.empty[change] = named - after.fitted.keys() - self.bike.fitted.keys()
        return _Vetted(after, blocking)

    def free(self, vetted: _Vetted) -> list[str]:
        """The positions that block and that may be changed."""
        return [at for finding in vetted.blocking for at in finding.positions if self.may_change(at)]

    def may_change(self, at: str) -> bool:
        """Not what was asked for; no frame or fork; no position that a part of another position fills."""
        spot = self.bike.get(at)
        return at not in self.pinned and _row(at).way_rank < ANOTHER_BIKE and (spot is None or spot.is_main)


def _first(names: Iterable[str], done: Collection[str]) -> str | None:
    return next((name for name in names if name not in done), None)


def _with(change: Change, part_id: str, at: str) -> Change:
    return replace(change, fit=(*change.fit, (part_id, at)))


def _row(at: str) -> PositionRow:
    row = load_once().standards.position(at)
    assert row is not None
    return row


def _keeps(part: Part, at: str, was: Fitted | None) -> bool:
    """Does it do what the part there did?"""
    old = {} if was is None else {name: getattr(was.part, name, None) for name in _row(at).keeps}
    return all(value is None or getattr(part, name, None) == value for name, value in old.items())


def _as_fact(record: type[Part], name: str, value: object) -> object:
    """A size or a word of another part as a fact of this record, if it can be one."""
    for mark in fields_of(record)[name].metadata if name in fields_of(record) else ():
        if isinstance(mark, Unit) and isinstance(value, Interval):
            return plain_interval(value)
        if isinstance(mark, Vocabulary) and isinstance(value, (str, tuple)):
            words = (value,) if isinstance(value, str) else value
            return list(words) if mark.many else words[0]
    return None
