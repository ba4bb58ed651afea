"""Which wires cannot go between which devices, as nogoods: their plugs, asked before any vetting."""

from __future__ import annotations

from collections.abc import Hashable, Iterator
from itertools import product
from typing import NamedTuple

from buildcheck.candidates.features import KIND, GoesBetween, PartCandidate, Plugs, plugs_of
from buildcheck.fit.functions import ends_named
from buildcheck.fit.view import View
from buildcheck.remedies import Cube, Domains, Literal

PLUG_MISMATCH = "plug-mismatch"
_DEVICE = KIND, "plugs"


class _Side(NamedTuple):
    """Sockets that may be at an end of a wire: their plugs, and what shows them there, if that may change."""

    plugs: Plugs
    shown: frozenset[Literal]


class PlugNogoods:
    """The wires of the bike with the change as asked, and those that may be added."""

    def __init__(self, view: View) -> None:
        self.view = view
        self._kept: dict[Hashable, list[Cube]] = {}

    def nogoods(self, domains: Domains[PartCandidate], position: str) -> Iterator[tuple[Cube, str]]:
        """What does not go together of a wire and the devices at its ends, if a wire may come to a position."""
        ends = self._ends(position)
        if ends is None or any(self._is_of_another(end, domains) for end in ends):
            return
        key = position, *(end in domains for end in ends)
        if key not in self._kept:
            self._kept[key] = list(self._of_wire(domains, position, ends))
        yield from ((cube, PLUG_MISMATCH) for cube in self._kept[key])

    def _ends(self, position: str) -> tuple[str, str] | None:
        spot = self.view.bike.get(position)
        if spot is None:
            return ends_named(self.view.standards, position)
        if spot.part.kind != "wire" or spot.start is None or spot.end is None:
            return None
        return spot.start, spot.end

    def _is_of_another(self, end: str, domains: Domains[PartCandidate]) -> bool:
        """Is what is there a part of a thing at another position, which may change?"""
        spot = self.view.bike.get(end)
        return spot is not None and spot.home != end and spot.home in domains

    def _of_wire(self, domains: Domains[PartCandidate], position: str, ends: tuple[str, str]) -> Iterator[Cube]:
        start, end = (self._sides(domains, at) for at in ends)
        for side in (*start, *end):
            yield _apart(position, side, _ANY)
        for a, b in product(start, end):
            # A wire with a plug for each of them goes between them unless that is one plug, which both take.
            if a.plugs and b.plugs and a.plugs & b.plugs:
                yield _apart(position, a, b)

    def _sides(self, domains: Domains[PartCandidate], at: str) -> list[_Side]:
        """The known sockets that may be at an end."""
        if at not in domains:
            spot = self.view.bike.get(at)
            plugs = None if spot is None else self.view.fact(spot, "plugs").held
            return [] if plugs is None else [_Side(frozenset(plugs), frozenset())]
        found: dict[Hashable, _Side] = {}
        for candidate in domains[at]:
            plugs = plugs_of(candidate, at, "plugs")
            if plugs is not None:
                shown = candidate.values(at, _DEVICE)
                found.setdefault(shown, _Side(plugs, frozenset([Literal(at, _DEVICE, shown)])))
        return list(found.values())


_ANY = _Side(None, frozenset())


def _apart(position: str, a: _Side, b: _Side) -> Cube:
    names = (GoesBetween(a.plugs, b.plugs),)
    return frozenset([Literal(position, names, (False,)), *a.shown, *b.shown])
