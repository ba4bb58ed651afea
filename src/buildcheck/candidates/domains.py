"""What may be fitted at each position of a bike for a remedy, and what it costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from buildcheck.candidates.costs import PARTS_OF_A_EURO
from buildcheck.candidates.evidence import positions_named
from buildcheck.candidates.features import KIND, WIRED, PartCandidate
from buildcheck.candidates.joints import ADAPTER, Joints
from buildcheck.candidates.plugs import PlugNogoods
from buildcheck.candidates.vetter import Vetter
from buildcheck.candidates.worth import Worth
from buildcheck.fit.context import Context
from buildcheck.fit.joints import Neighbour
from buildcheck.fit.places import may_carry
from buildcheck.library.alike import Group
from buildcheck.library.records import fields_of
from buildcheck.model.bikes import Change
from buildcheck.model.blind import unseen
from buildcheck.model.parts import Part
from buildcheck.model.pieces import new_piece, of_the_piece
from buildcheck.remedies import CHANGED, Cube, Domains, Explanation, Literal

# From this rank on a part is the bike: see way_rank in catalog/standards/positions.yaml.
ANOTHER_BIKE = 10_000
# A part without a price is the last resort: it counts more than any that has one (our choice).
UNPRICED_EUR = 100_000.0
# No bike has more spacers or wires than this; further ones are not offered (our choice).
MOST_OF_MANY = 40
_NOTHING = "none"


class PartDomains:
    """The candidates of each position for one change. `pinned` positions are left alone.

    With `on_record` no part is among them of which less is on record than of the one that it takes the place of: what
    is not known of it would have to be measured before anybody knows whether it does. `told_less`: there were some.
    """

    def __init__(
        self, vetter: Vetter, change: Change, start: Context, pinned: frozenset[str], *, on_record: bool = True
    ) -> None:
        self.told_less = False
        self.vetter, self.change, self.start, self.pinned = vetter, change, start, pinned
        self.on_record = on_record
        self.joints = Joints(start.view, self.adapters)
        self.plugs = PlugNogoods(start.view)
        self.worth = Worth(start)
        self._moves: dict[str, tuple[str, ...]] = {}
        self.taken = Counter(part_id for part_id, _ in change.fit)  # they come out of the stock first

    def adapters(self) -> Iterator[Part]:
        """Every sort of adapter that there is."""
        return (self.vetter.part(group.ids[0]) for group in self.vetter.groups((ADAPTER,)))

    def fixed(self, position: str) -> bool:
        """Does the position stay as it is? So does what was asked for; and with another frame it is another bike."""
        row = self.start.view.standards.position(position)
        spot = self.start.bike.get(position)
        elsewhere = spot is not None and spot.home != position
        return position in self.pinned or row is None or row.way_rank >= ANOTHER_BIKE or elsewhere

    def beside(self, position: str) -> str:
        """The position itself, or where an empty one of many is to stay empty, the next one that is not."""
        row = self.start.view.standards.position(position)
        while row is not None and row.many and position in self.pinned and position not in self.start.bike:
            stem, _, number = position.rpartition("-")
            if not number.isdigit() or int(number) >= MOST_OF_MANY:
                break
            position = f"{stem}-{int(number) + 1}"
        return position

    def whole(self, needs: Explanation) -> Explanation:
        """What holds for an empty place of many that is to stay empty holds for the next one.

        Of a thing that could be moved it holds only where that sits: a finding need not name it.
        """
        return {
            position: names | {CHANGED} if self.moves(position) else names
            for position, names in {**{self.beside(at): names for at, names in needs.items()}, **needs}.items()
        }

    def nogoods(self, domains: Domains[PartCandidate]) -> Iterator[tuple[Cube, str]]:
        """What cannot go together of the open domains, with what says so."""
        yield from self._dangling(domains)
        for position in domains:
            yield from self.joints.nogoods(domains, position)
            yield from self.plugs.nogoods(domains, position)

    def _dangling(self, domains: Domains[PartCandidate]) -> Iterator[tuple[Cube, str]]:
        """A wire is left off only where there is nothing with sockets at one of its ends."""
        for position, candidates in domains.items():
            spot = candidates[0].spot(position)
            if spot is not None and spot.part.kind == "wire":
                ends = [end for end in (spot.start, spot.end) if end is not None]
                if all(end in domains or self.wired(end) for end in ends):
                    both = [Literal(end, (WIRED,), (True,)) for end in ends if end in domains]
                    yield frozenset([Literal(position, (KIND,), (None,)), *both]), "a wire is left off"

    def wired(self, position: str) -> bool:
        """Has what is there sockets for wires?"""
        spot = self.start.bike.get(position)
        return spot is not None and bool(spot.part.ports)

    def of(self, position: str) -> list[PartCandidate]:
        """The part as it is first, then what could come in its place, the cheapest first."""
        spot = self.start.bike.get(position)
        candidates = [PartCandidate(spot.part if spot is not None else None, 0, self.start.view)]
        candidates += (
            PartCandidate(self.start.bike[position].part, 0, self.start.view, onto=at) for at in self.moves(position)
        )
        fixed = self._firm_to_fixed(position)
        others = self._others(position)
        candidates += (each for each in others if self.joints.clash(position, each, fixed) is None)
        candidates += self._renewal(position)
        if spot is not None and self.start.view.row(position).left_off != "never":
            lost = self.worth.lost_with(position, None)
            candidates.append(PartCandidate(None, self._missed(position), takes=lost))
        return candidates

    def _renewal(self, position: str) -> Iterator[PartCandidate]:
        """The part that is there, new, where something was seen on the old piece or it is not as it was sold."""
        spot = self.start.bike.get(position)
        if spot is None or self.fixed(position) or position in self.start.changed:
            return
        terms, name, used = self.vetter.terms, spot.part.id, spot.measured & of_the_piece(spot.part.kind)
        if not (spot.condition or used) or name in terms.exclude:
            return
        try:
            sold = self.vetter.part(name)
        except KeyError:  # a part that only this bike's file tells of: nobody sells it
            return
        part, price, pieces = new_piece(spot.part, spot.measured, sold), cost_of(sold.best_price_eur()), None
        if name in terms.stock and terms.stock[name].quantity and cost_of(terms.stock[name].price_eur) <= price:
            price, pieces = cost_of(terms.stock[name].price_eur), self._left_in_stock(name)
        yield PartCandidate(part, price, supply=pieces, renews=self.start.view)

    def moves(self, position: str) -> tuple[str, ...]:
        """What else could carry the thing there, if the change as asked leaves it badly off where it sits."""
        if position not in self._moves:
            self._moves[position] = tuple(self._carriers(position)) if self._sits_badly(position) else ()
        return self._moves[position]

    def _carriers(self, position: str) -> Iterator[str]:
        view = self.start.view
        rider = view.bike[position]
        anywhere, ahead = rider not in view.hanging("accessory"), self._is_steered(rider.on)
        for name in sorted(carrier.position for carrier in view.bike.main_spots() if carrier.position != position):
            if may_carry(view, view.bike[name], rider) and (anywhere or self._is_steered(name) is ahead):
                yield name

    def _is_steered(self, position: str | None) -> bool:
        """Does a part turn with the bar, or hang on one that does?"""
        while position is not None and not self.start.view.row(position).steered:
            spot = self.start.bike.get(position)
            position = spot.on if spot is not None else None
        return position is not None

    def _sits_badly(self, position: str) -> bool:
        """Does what blocks speak of a thing with its carrier? One that came with the change has the place there is."""
        spot = self.start.bike.get(position)
        if spot is None or not spot.part.mounts or position in self.start.changed or self.fixed(position):
            return False
        about = (finding for finding in self.vetter.vet(self.change).blocking if position in finding.positions)
        return any(spot.on is None or spot.on in positions_named(finding) for finding in about)

    def _firm_to_fixed(self, position: str) -> list[Neighbour]:
        return [each for each in self.joints.firm(position) if self.fixed(each.other.home)]

    def everything(self, position: str) -> list[Part]:
        """Every sort of part that may come to a position, whether it clashes there or not."""
        return [candidate.part for candidate in self._others(position) if candidate.part is not None]

    def refused(self, position: str) -> tuple[int, dict[str, str]]:
        """How many sorts of part there are, and of those that clash with what stays, by which joint."""
        candidates, fixed = list(self._others(position)), self._firm_to_fixed(position)
        clashes = {candidate.id: self.joints.clash(position, candidate, fixed) for candidate in candidates}
        return len(candidates), {name: row for name, row in clashes.items() if row is not None}

    def _others(self, position: str) -> Iterator[PartCandidate]:
        """One candidate for each sort of part, and those in stock that are cheaper but few."""
        for group in self.vetter.groups(self.start.view.row(position).kinds):
            part = self.vetter.part(group.ids[0])
            if not self.may_follow(position, part):
                continue
            if self.on_record and self._tells_less(position, part):
                self.told_less = True
            else:
                yield from self._offers(position, group)

    def _offers(self, position: str, group: Group) -> Iterator[PartCandidate]:
        spot, terms = self.start.bike.get(position), self.vetter.terms
        wanted = [name for name in group.ids if name not in terms.exclude and (spot is None or name != spot.part.id)]
        best, lost = None, self.worth.lost_with(position, self.vetter.part(group.ids[0]))
        if wanted:
            part = self.vetter.part(wanted[0])
            best = cost_of(part.best_price_eur())
            yield PartCandidate(part, best, takes=lost)
        stock = [(terms.stock[name].price_eur, name) for name in wanted if name in terms.stock]
        for price, name in sorted(stock):
            if terms.stock[name].quantity and (best is None or cost_of(price) < best):
                part, pieces = self.vetter.part(name), self._left_in_stock(name)
                yield PartCandidate(part, cost_of(price), supply=pieces, takes=lost)

    def _left_in_stock(self, name: str) -> int:
        return max(0, self.vetter.terms.stock[name].quantity - self.taken[name])

    def may_follow(self, position: str, part: Part) -> bool:
        """Does a part fill the same positions as the part there did, and do what that did?"""
        row, spot = self.start.view.row(position), self.start.bike.get(position)
        if row.fills.get(part.kind, ()) != (row.fills.get(spot.part.kind, ()) if spot is not None else ()):
            return False
        before = self.start.before.bike.get(position) if self.start.before is not None else None
        was = before or spot
        if was is None:
            return all(getattr(part, name, None) == word for name, word in row.when_new.items())
        kept = all(getattr(was.part, name, None) in (None, getattr(part, name, None)) for name in row.keeps)
        done = (name for name in row.does if getattr(was.part, name, None) not in (None, _NOTHING))
        return kept and all(getattr(part, name, None) != _NOTHING for name in done)

    def _tells_less(self, position: str, part: Part) -> bool:
        """Is less on record of a part than of the one of its kind that is there?"""
        spot = self.start.bike.get(position)
        if spot is None or spot.part.kind != part.kind:
            return False
        names = fields_of(type(part)).keys() - unseen(part.kind)
        return any(getattr(part, name) is None and getattr(spot.part, name) is not None for name in names)

    def _missed(self, position: str) -> int:
        """What is missed costs the rider what it would cost to buy (our choice); other things only serve."""
        if self.start.view.row(position).left_off != "missed":
            return 0
        return cost_of(self.start.bike[position].part.best_price_eur() or 0.0)


def cost_of(price_eur: float | None) -> int:
    """A price in the search's unit."""
    return round((UNPRICED_EUR if price_eur is None else price_eur) * PARTS_OF_A_EURO)
