"""Making a change to a bike: what is fitted, what comes off, and what that does to the neighbours.

A line that is fitted where none was leads where the table of functions says, by what was on the bike before. A line
whose end comes off leads to what else it can work then, as to a gear hub in place of a derailleur.
A part that is renewed is the same one without what belonged to its old piece.
The layout keeps the positions that a change empties, as they lay. What stands on an emptied position of the
stack stands in truth on the next filled one below; when the position is filled again, all is as it was.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from dataclasses import replace

from buildcheck.fit.functions import ends_named, ends_of_new
from buildcheck.fit.places import by_shape, options, sits
from buildcheck.model.bikes import Bike, Change, Fitted, Placing, default_support
from buildcheck.model.parts import Part
from buildcheck.model.pieces import new_piece, of_the_piece
from buildcheck.model.standards import PositionRow, Standards

LookUp = Callable[[str], tuple[Part, Mapping[str, str]]]


def apply_change(bike: Bike, change: Change, look_up: LookUp, standards: Standards) -> Bike:
    """The bike after a change. Fitting the part that is there already changes nothing.

    Raises KeyError for a part or a position that is not known.
    """
    layout = _Layout(bike, standards)
    for position in change.take_off:
        if position in layout:
            layout.empty(layout.together([position]))
    for position in change.renew:
        if position in layout:
            layout.renew(position, look_up)
    for part_id, position in change.fit:
        if layout.holds(position, part_id):
            continue
        known = bike.to_come.get((part_id, position))
        if known is None:
            part, where = look_up(part_id)
            known = Fitted(position, position, part, where=where)
            if layout.put_back(known):
                continue
        layout.fit(known)
    layout.moved.update((position, Placing(position, on)) for position, on in change.move)
    layout.place(change.placed)
    layout.give_way()
    fitted = layout.fitted()
    untold = bike.untold and bike.untold - {*change.take_off, *change.renew, *(name for _, name in change.fit)}
    return replace(bike, fitted=fitted, layout=layout.spots, first=bike.first or bike.fitted, untold=untold)


class _Layout:
    """The positions of a bike, those that were emptied among them."""

    def __init__(self, bike: Bike, standards: Standards) -> None:
        self.standards = standards
        self.spots = {**bike.layout, **bike.fitted}
        self.first = bike.first or bike.fitted
        self.gone = self.spots.keys() - bike.fitted.keys()
        self.loose: set[str] = set()  # things that came with a change: they look for a place themselves
        self.moved: dict[str, Placing] = {}  # where a thing is to go that is told where
        self.order = {row_id: index for index, row_id in enumerate(standards.positions)}
        for name, spot in bike.fitted.items():
            lay = bike.layout.get(name, spot)
            if lay.end != spot.end and lay.part.id == spot.part.id:
                self.spots[name] = spot = replace(spot, end=lay.end)  # before it had to look for another end
            if spot.part.mounts and lay.part.id == spot.part.id and (lay.on, lay.place) != (spot.on, spot.place):
                self.loose.add(name)
                self.spots[name] = replace(spot, on=lay.on, place=lay.place)  # before it had to look for a place
            elif lay.on != spot.on and spot.on in (self._filled_below(lay.on), self._next_carrier(name, lay.on)):
                self.spots[name] = replace(spot, on=lay.on)  # as it stood before what carried it came off

    def __contains__(self, position: str) -> bool:
        return position in self.spots and position not in self.gone

    def holds(self, position: str, part_id: str) -> bool:
        """Is this very part entered at this position?"""
        spot = self.spots.get(position)
        return position in self and spot is not None and spot.home == position and spot.part.id == part_id

    def together(self, names: Iterable[str]) -> list[str]:
        """These positions, and the others that their one-piece parts fill."""
        homes = {self.spots[name].home for name in names if name in self}
        return [name for name, spot in self.spots.items() if spot.home in homes and name in self]

    def empty(self, names: Iterable[str]) -> None:
        """Take the parts off."""
        self.gone |= set(names)

    def renew(self, position: str, look_up: LookUp) -> None:
        """Put the same part in new, in all positions that it fills: what was seen on the old piece is gone with it."""
        old = self.spots[position]
        try:
            sold, where = look_up(old.part.id)
        except KeyError:  # a part that no record tells of
            sold, where = None, {}
        part, gone = new_piece(old.part, old.measured, sold), of_the_piece(old.part.kind)
        told = {name: at for name, at in old.where.items() if name not in gone}
        told |= {name: at for name, at in where.items() if name in gone}
        for name in self.together([position]):
            self.spots[name] = replace(
                self.spots[name], part=part, measured=old.measured - gone, condition=(), where=told, renewed=True
            )

    def place(self, placings: Iterable[Placing]) -> None:
        """Put parts where they were told to go; what is not there yet waits for it."""
        for placing in placings:
            name = placing.position
            spot = self.spots.get(name)
            if spot is None or name not in self:
                continue
            start, end = placing.start or spot.start, placing.end or spot.end
            self.spots[name] = replace(spot, start=start, end=end)
            if placing.on is not None and self._row(name).stacked:
                self._restack(name, placing.on)
            elif (placing.on, placing.place) != (None, None):
                self.moved[name] = replace(placing, on=placing.on or spot.on)

    def _restack(self, name: str, on: str) -> None:
        """Take a part out of the stack and put it on another: what stood on either stands on the next one."""
        spot = self.spots[name]
        if spot.on == on:
            return
        self._hand_on(name, spot.on)
        self._hand_on(on, name)
        self.spots[name] = replace(spot, on=on)

    def _hand_on(self, below: str, to: str | None) -> None:
        """What stood on a part of the stack stands on another one from now on."""
        for name, spot in self.spots.items():
            if spot.on == below and name != to and self._row(name).stacked:
                self.spots[name] = replace(spot, on=to)

    def put_back(self, new: Fitted) -> bool:
        """Fit the part again that was taken off here; False if it was another one."""
        names = self._filled_by(new)
        for name in names:
            old = self.spots.get(name)
            if old is None or name not in self.gone or old.part.id != new.part.id or old.home != new.home:
                return False
        self.gone -= set(names)
        first = self.first.get(new.position)
        if new.part.mounts and (first is None or first.part.id != new.part.id):
            self.loose.add(new.position)  # it came with a change and had looked for a place itself
        return True

    def fit(self, new: Fitted) -> None:
        """Put a part in its position, and in the others that it fills; what sat in one of them goes."""
        names = self._filled_by(new)
        self.empty(self.together(names))
        self.gone -= set(names)
        for name in names:
            old = self.spots.get(name)
            if old is not None:
                lies = replace(
                    old, home=new.home, part=new.part, measured=new.measured, condition=new.condition, where=new.where,
                    renewed=False,
                )  # fmt: skip
            else:
                start, end = ends_of_new(self.standards, name, self.first)
                lies = replace(new, position=name, on=self._support(name, names), start=start, end=end)
            self.spots[name] = lies
        if new.part.mounts:
            self.loose.add(new.position)

    def give_way(self) -> None:
        """A pair comes off where each of its two was put on apart, and what is apart where a new pair was."""
        for pair, row in self.standards.pairs.items():
            if pair not in self:
                continue
            apart, any_new = row.needed_unless, any(map(self._is_new, row.needed_unless))
            if self._is_new(pair) and not any_new:
                self.empty(apart)
            elif not self._is_new(pair) and any_new and all(name in self for name in apart):
                self.empty([pair])

    def _is_new(self, name: str) -> bool:
        before = self.first.get(name)
        return name in self and (before is None or before.part.id != self.spots[name].part.id)

    def fitted(self) -> dict[str, Fitted]:
        """The filled positions, each in the stack upon the next filled one below."""
        found = {name: spot for name, spot in self.spots.items() if name in self}
        for name, spot in found.items():
            row = self._row(name)
            if row.stacked:
                on = self._filled_below(spot.on)
            else:
                on = default_support(row, found) if spot.on is None else self._next_carrier(name, spot.on)
            if on != spot.on:
                found[name] = replace(spot, on=on)
        for name in sorted(self.moved.keys() & found.keys()):
            self._move(name, found)
        for name in sorted((self.loose & found.keys()) - self.moved.keys()):
            self._settle(name, found)
        for name in [name for name, spot in found.items() if spot.end in self.gone and self._row(name).line]:
            _, end = ends_of_new(self.standards, name, found)
            found[name] = replace(found[name], end=end if end in found else found[name].end)
        return found

    def _row(self, position: str) -> PositionRow:
        row = self.standards.position(position)
        if row is None:
            raise KeyError(position)
        return row

    def _filled_by(self, new: Fitted) -> tuple[str, ...]:
        return (new.position, *self._row(new.position).fills.get(new.part.kind, ()))

    def _filled_below(self, on: str | None) -> str | None:
        while on in self.gone:
            on = self.spots[on].on
        return on

    def _next_carrier(self, name: str, on: str | None) -> str | None:
        """What carries a part that is not in the stack; where that came off, what else may if the part goes on."""
        row = self._row(name)
        if on not in self.gone or not row.goes_on:
            return on
        return default_support(row, [other for other in self.spots if other in self]) or on

    def _support(self, name: str, with_it: Collection[str]) -> str | None:
        """Where a part goes whose position was never filled; what stood there in the stack is put upon it."""
        row = self._row(name)
        if not row.stacked:
            return default_support(row, [*(spot for spot in self.spots if spot in self), *with_it])
        stack = {key: spot for key, spot in self.spots.items() if self._row(key).stacked}
        rank = self.order[row.id]
        upon = {spot.on: key for key, spot in stack.items()}
        roots = sorted(
            (self.order[self._row(key).id], key) for key, spot in stack.items() if spot.on not in stack
        )  # fmt: skip
        below = next((key for index, key in roots if index <= rank), None)
        while below is not None and below in upon and self.order[self._row(upon[below]).id] <= rank:
            below = upon[below]
        on = below if below is not None else default_support(row, self.spots)
        above = upon.get(on) or next((key for index, key in roots if index > rank and stack[key].on is None), None)
        if above is not None:
            self.spots[above] = replace(self.spots[above], on=name)
        return on

    def _settle(self, position: str, fitted: dict[str, Fitted]) -> None:
        """A thing that does not go into the place of its forerunner goes to the first free place that takes it."""
        rider = fitted[position]
        on = fitted.get(rider.on or "")
        if _sits(rider, on):
            return
        taken = _taken(fitted, position)
        for carrier in sorted(fitted.values(), key=lambda spot: (spot.position != rider.on, spot.position)):
            place = _first_place(rider, carrier, {name for on, name in taken if on == carrier.position and name})
            if place is not None:
                fitted[position] = replace(rider, on=carrier.position, place=place)
                return
        if on is None:
            self._settle_by_shape(rider, fitted)
        rider = fitted[position]
        on = fitted.get(rider.on or "")
        if on is None or sits(self.standards, rider, on).is_no:
            self._settle_where_it_may(rider, fitted)

    def _settle_where_it_may(self, rider: Fitted, fitted: dict[str, Fitted]) -> None:
        """A thing that certainly goes nowhere that is known goes to a part of which nobody knows the places."""
        may = [name for name, spot in fitted.items() if name != rider.position and not spot.part.lists("places")]
        if may:
            likeliest = min(may, key=lambda name: (self.order[self._row(name).id], name))
            fitted[rider.position] = replace(rider, on=likeliest, place=None)

    def _move(self, position: str, fitted: dict[str, Fitted]) -> None:
        """A thing that is moved goes to the place that is named, or else to the first free one of its new carrier.

        Unless it is named, it does not go to the one that it had. A wire is led where the position says that it takes.
        """
        rider, to = fitted[position], self.moved[position]
        carrier, place = to.on, to.place
        if self._row(position).line:
            fitted[position] = _led(rider, ends_named(self.standards, carrier or ""))
            return
        if place is None and rider.part.mounts:
            was = self.first.get(position, rider)
            taken = {place for on, place in _taken(fitted, position) if on == carrier and place is not None}
            if was.on == carrier and was.place is not None and was.part.id == rider.part.id:
                taken.add(was.place)
            place = _first_place(rider, fitted.get(carrier or ""), taken)
        fitted[position] = replace(rider, on=carrier, place=place)

    def _settle_by_shape(self, rider: Fitted, fitted: dict[str, Fitted]) -> None:
        """A thing with no place goes to a part with a tube or an axle for it: one that takes it, may, or else does not.

        It is put there even where it does not go, so that what is said of it names the part and its sizes.
        """
        in_order = sorted(fitted.values(), key=lambda spot: (self.order[self._row(spot.position).id], spot.position))
        found = [(test, spot) for spot in in_order if (test := by_shape(self.standards, spot, rider)) is not None]
        if found:
            _, carrier = min(found, key=lambda pair: (not pair[0].is_yes, pair[0].is_no))
            fitted[rider.position] = replace(rider, on=carrier.position, place=None)


def _led(line: Fitted, ends: tuple[str, str] | None) -> Fitted:
    """A line that leads between other ends, the same way round where it keeps one of them. Raises KeyError."""
    if ends is None:
        raise KeyError(line.position)
    start, end = reversed(ends) if line.start == ends[1] or line.end == ends[0] else ends
    return replace(line, start=start, end=end)


def _taken(fitted: Mapping[str, Fitted], but_for: str) -> set[tuple[str | None, str | None]]:
    """Carriers and their places in which something sits that shares it with nothing."""
    return {
        (spot.on, place)
        for spot in fitted.values()
        if spot.part.mounts and spot.position != but_for
        for place in (spot.place or _first_place(spot, fitted.get(spot.on or "")),)
        if not _shared(fitted.get(spot.on or ""), place)
    }


def _shared(carrier: Fitted | None, name: str | None) -> bool:
    """Has a place a width that several things may share?"""
    places = carrier.part.places if carrier is not None else ()
    return any(place.id == name and place.width_mm is not None for place in places)


def _sits(rider: Fitted, carrier: Fitted | None) -> bool:
    """Does a carrier certainly take the rider, in the place named for it if the carrier has one of that name?"""
    if carrier is None:
        return False
    named = any(place.id == rider.place for place in carrier.part.places)
    return any(test.is_yes and (place.id == rider.place or not named) for place, _, test in options(carrier, rider))


def _first_place(rider: Fitted, carrier: Fitted | None, taken: Collection[str] = ()) -> str | None:
    """The first place of a carrier that certainly takes the rider."""
    if carrier is None:
        return None
    return next((place.id for place, _, test in options(carrier, rider) if test.is_yes and place.id not in taken), None)
