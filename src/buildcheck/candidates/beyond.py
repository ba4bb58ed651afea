"""Sets beyond those that the search for remedies knows, tried where none of these does: those with one more junction.

A few are put together (`junctions`) and vetted whole. Where none of them does as it is, each is taken for a part of the
change, and the search looks for what else it takes. That nothing cheaper does is proven of none.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from functools import cached_property
from itertools import combinations, islice
from typing import NamedTuple

from buildcheck.candidates.domains import PartDomains
from buildcheck.candidates.evidence import rests_on_wiring
from buildcheck.candidates.features import PartCandidate
from buildcheck.candidates.junctions import Composite, composites, price_of
from buildcheck.candidates.oracle import PartsOracle
from buildcheck.candidates.told import euros, told_parts
from buildcheck.candidates.vetter import Vetted
from buildcheck.candidates.worth import Brought
from buildcheck.fit.context import Context
from buildcheck.fit.wiring import ends_of, systems
from buildcheck.model.findings import Finding
from buildcheck.model.report import Rejected
from buildcheck.remedies import Assessment, GaveUpError, RemedySearch, taken_away

# So many sets with one more junction are tried. So many vettings may it take to find what else one of them needs, and
# all of them (our choice: some seconds).
MOST_TRIED, _MOST_FOR_ONE, _MOST_FOR_ALL = 10, 8, 24

PartAssessment = Assessment[PartCandidate]


class Beyond(NamedTuple):
    """What was tried beyond the search: how many sets, the best that does if one does, and those that do not."""

    found: PartAssessment | None = None
    tried: int = 0
    rejected: tuple[Rejected, ...] = ()


def with_a_junction(oracle: PartsOracle, start: Vetted) -> Beyond:
    """Sets with one more junction, where what blocks is about sockets, plugs or wires."""
    if not any(_is_about_wires(start, finding) for finding in start.blocking) or _stopped(oracle):
        return Beyond()
    some = list(islice(composites(oracle, start), MOST_TRIED))
    do = [_assessed(oracle, each) for each in some if not oracle.vetted(each).blocking]
    do = do or list(islice(_with_others(oracle, some), 1))
    rejected = tuple(_rejected(oracle, start, each) for each in some if oracle.vetted(each).blocking)
    best = min(do, key=lambda each: each.cost, default=None)
    return Beyond(None if best is None else _least(oracle, best), len(some), rejected)


def _is_about_wires(start: Vetted, finding: Finding) -> bool:
    spots = (start.context.bike.get(at) for at in finding.positions)
    return rests_on_wiring(finding) or any(spot is not None and spot.part.kind == "wire" for spot in spots)


def _stopped(oracle: PartsOracle) -> bool:
    stop = oracle.vetter.stop
    return stop is not None and bool(stop(0))


def _assessed(oracle: PartsOracle, picked: Mapping[str, PartCandidate]) -> PartAssessment:
    conflicts, costs = oracle.assess(picked)
    return Assessment(picked, tuple(conflicts), price_of(picked) + sum(each.cost for each in costs))


def _rejected(oracle: PartsOracle, start: Vetted, composite: Composite) -> Rejected:
    blocking = oracle.vetted(composite).blocking
    return Rejected(
        parts=told_parts(composite, start.context.view),
        total_cost=euros(_assessed(oracle, composite).cost),
        blocked_by=tuple(sorted({finding.name for finding in blocking})),
        message=blocking[0].message,
    )


def _with_others(oracle: PartsOracle, some: Sequence[Composite]) -> Iterator[PartAssessment]:
    """Sets with what else they take, those first that leave least of what blocks."""
    left = _MOST_FOR_ALL
    for composite in sorted(some, key=lambda each: len(oracle.vetted(each).blocking)):
        beside = _Beside(oracle, composite)
        search = RemedySearch(beside, min(left, _MOST_FOR_ONE), stop=oracle.vetter.stop)
        with suppress(GaveUpError):
            yield from (_assessed(oracle, {**each.picked, **composite}) for each in islice(search, 1))
        left -= len(search.assessed)
        if left <= 0 or _stopped(oracle):
            return


class _Beside(PartsOracle):
    """The same oracle, with a composite that is there whatever is picked beside it."""

    def __init__(self, of: PartsOracle, composite: Composite) -> None:
        more = of.change_with(composite)
        bike, pinned = of.vetter.context(more), of.stock.pinned | composite.keys()
        super().__init__(of.vetter, of.change, PartDomains(of.vetter, more, bike, pinned, on_record=of.stock.on_record))
        self.of, self.composite = of, composite

    def vetted(self, picked: Mapping[str, PartCandidate]) -> Vetted:
        """The bike with these candidates and the composite."""
        return super().vetted({**picked, **self.composite})

    @cached_property
    def brought(self) -> Brought:
        """What sets bring, beside the change as asked without the composite."""
        return self.of.brought


def _least(oracle: PartsOracle, whole: PartAssessment) -> PartAssessment:
    """Of the sets within this one that do and take no more away one of the smallest; without the junction none does."""
    junctions = (at for at, each in whole.picked.items() if each.part is not None and each.part.kind == "junction")
    new = next(at for at in junctions if at not in oracle.stock.start.bike)
    others = sorted(whole.picked.keys() - {new})
    for size in range(len(others)):
        for names in combinations(others, size):
            picked = {name: whole.picked[name] for name in (new, *names)}
            if _hangs_together(oracle.vetter.context(oracle.change_with(picked)), new):
                found = _assessed(oracle, picked)
                if not found.conflicts and taken_away(found.cost) <= taken_away(whole.cost):
                    return found
    return whole


def _hangs_together(context: Context, junction: str) -> bool:
    """Is a junction joined to all of its system, with a socket for each wire? Else it blocks, and needs no vetting."""
    for _, graph in systems(context.view):
        if junction in graph.devices:
            sockets = {
                name: sum(port.count for port in spot.part.ports) if spot is not None else 0
                for name, spot in graph.devices.items()
            }
            led = [end for wire in graph.wires for end in ends_of(wire)]
            return len(graph.pieces()) == 1 and all(led.count(name) <= most for name, most in sockets.items())
    return False
