"""What may be fitted at each position of a bike for a remedy, and what it costs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from typing import NamedTuple

from buildcheck.fit.context import Context
from buildcheck.fit.joints import Neighbour
from buildcheck.library.alike import Group
from buildcheck.model.parts import Part
from buildcheck.model.terms import Terms
from buildcheck.plan.charges import PARTS_OF_A_EURO
from buildcheck.plan.options import Option
from buildcheck.plan.pairs import Pairs

# From this rank on a part is the bike: see way_rank in catalog/standards/positions.yaml.
ANOTHER_BIKE = 10_000
# A part without a price is the last resort: it counts more than any that has one (our choice).
UNPRICED_EUR = 100_000.0
# No bike has more spacers or wires than this; further ones are not offered (our choice).
MOST_OF_MANY = 40
_NOTHING = "none"


class Store(NamedTuple):
    """Where parts come from: the catalogue's groups of parts that are alike, its records, the shop's terms."""

    groups: Callable[[Iterable[str]], Sequence[Group]]
    part: Callable[[str], Part]
    terms: Terms


class Shelves:
    """The options of each position for one change. `pinned` positions are left alone."""

    def __init__(self, store: Store, start: Context, pinned: frozenset[str]) -> None:
        self.store, self.start, self.pinned = store, start, pinned
        self.pairs = Pairs(start.view)

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

    def wired(self, position: str) -> bool:
        """Has what is there sockets for wires?"""
        spot = self.start.bike.get(position)
        return spot is not None and bool(spot.part.ports)

    def of(self, position: str) -> list[Option]:
        """The part as it is first, then what could come in its place, the cheapest first."""
        spot = self.start.bike.get(position)
        options = [Option(spot.part if spot is not None else None, 0, self.start.view)]
        fixed = self._firm_to_fixed(position)
        options += (option for option in self._others(position) if self.pairs.clash(position, option, fixed) is None)
        if spot is not None and self.start.view.row(position).left_off != "never":
            options.append(Option(None, self._worth(position)))
        return options

    def _firm_to_fixed(self, position: str) -> list[Neighbour]:
        return [each for each in self.pairs.firm(position) if self.fixed(each.other.home)]

    def everything(self, position: str) -> list[Part]:
        """Every sort of part that may come to a position, whether it clashes there or not."""
        return [option.part for option in self._others(position) if option.part is not None]

    def refused(self, position: str) -> tuple[int, dict[str, str]]:
        """How many sorts of part there are, and of those that clash with what stays, by which joint."""
        options, fixed = list(self._others(position)), self._firm_to_fixed(position)
        clashes = {option.id: self.pairs.clash(position, option, fixed) for option in options}
        return len(options), {name: row for name, row in clashes.items() if row is not None}

    def _others(self, position: str) -> Iterator[Option]:
        """One option for each sort of part, and those in stock that are cheaper but few."""
        for group in self.store.groups(self.start.view.row(position).kinds):
            part = self.store.part(group.ids[0])
            if self.may_follow(position, part):
                yield from self._offers(position, group)

    def _offers(self, position: str, group: Group) -> Iterator[Option]:
        spot, terms = self.start.bike.get(position), self.store.terms
        wanted = [name for name in group.ids if name not in terms.exclude and (spot is None or name != spot.part.id)]
        best = None
        if wanted:
            part = self.store.part(wanted[0])
            best = cost_of(part.best_price_eur())
            yield Option(part, best)
        stock = [(terms.stock[name].price_eur, name) for name in wanted if name in terms.stock]
        for price, name in sorted(stock):
            if terms.stock[name].quantity and (best is None or cost_of(price) < best):
                yield Option(self.store.part(name), cost_of(price), in_stock=terms.stock[name].quantity)

    def may_follow(self, position: str, part: Part) -> bool:
        """Does a part fill the same positions as the part there did, and do what that did?"""
        row, spot = self.start.view.row(position), self.start.bike.get(position)
        if row.fills.get(part.kind, ()) != (row.fills.get(spot.part.kind, ()) if spot is not None else ()):
            return False
        before = self.start.before.bike.get(position) if self.start.before is not None else None
        was = before or spot
        if was is None:
            return True
        kept = all(getattr(was.part, name, None) in (None, getattr(part, name, None)) for name in row.keeps)
        done = (name for name in row.does if getattr(was.part, name, None) not in (None, _NOTHING))
        return kept and all(getattr(part, name, None) != _NOTHING for name in done)

    def _worth(self, position: str) -> int:
        """What is missed costs the rider what it would cost to buy (our choice); other things only serve."""
        if self.start.view.row(position).left_off != "missed":
            return 0
        return cost_of(self.start.bike[position].part.best_price_eur() or 0.0)


def cost_of(price_eur: float | None) -> int:
    """A price in the search's unit."""
    return round((UNPRICED_EUR if price_eur is None else price_eur) * PARTS_OF_A_EURO)
