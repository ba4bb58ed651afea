"""The words of a request: what is fitted, taken off, put in new and moved, and where it is to go.

    fit: PART[@POSITION][,on=POSITION][,place=PLACE][,from=POSITION][,to=POSITION]
    move: POSITION,on=POSITION[,place=PLACE]      take_off: POSITION      renew: POSITION
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import NoReturn

from buildcheck.library.bikes import check_position, newly_filled, read_change
from buildcheck.library.catalogue import Catalogue
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean
from buildcheck.library.supports import beside_the_stack, carriers, may_carry, unfit_ends
from buildcheck.model.bikes import Bike, Change, Fitted, Placing
from buildcheck.model.quantities import brief
from buildcheck.model.standards import Standards

_FIELD = {"on": "on", "place": "place", "from": "start", "to": "end"}


def read_request(words: Mapping[str, Sequence[str]], bike: Bike, catalogue: Catalogue) -> Change:
    """The change that `fit`, `take_off`, `renew` and `move` ask for, in the words of the options. Raises InputError."""
    split = [_split(text, "--fit") for text in words.get("fit", ())]
    change = read_change([name for name, _ in split], words.get("take_off", ()), bike, catalogue)
    renewed = tuple(dict.fromkeys(_renewed(text, bike, change, catalogue) for text in words.get("renew", ())))
    told = [("--fit", position, where) for (_, position), (_, where) in zip(change.fit, split, strict=True) if where]
    told += [("--move", *_moved(text, bike, change, catalogue)) for text in words.get("move", ())]
    reader = _PlacingReader(bike, change, catalogue)
    placed = tuple(reader.read(option, position, where) for option, position, where in told)
    names = [placing.position for placing in placed]
    twice = sorted({name for name in names if names.count(name) > 1})
    if twice:
        _refuse("--move", f"it is said twice where {twice[0]!r} goes")
    return replace(change, renew=renewed, placed=placed)


def _split(text: str, option: str) -> tuple[str, dict[str, str]]:
    """What stands before the first comma, and the words after it by their key."""
    name, *rest = text.split(",")
    found: dict[str, str] = {}
    for word in rest:
        key, equals, value = word.partition("=")
        key, value = key.strip(), value.strip()
        if not (equals and value) or key not in _FIELD:
            hint = did_you_mean(key, _FIELD) if equals else ""
            _refuse(option, f"after the comma one of {_keys()} is expected, not {brief(word)}{hint}")
        if key in found:
            _refuse(option, f"{key} is said twice in {brief(text)}")
        found[key] = value
    return name.strip(), found


def _keys() -> str:
    return "on=POSITION, place=PLACE, from=POSITION, to=POSITION"


def _renewed(position: str, bike: Bike, change: Change, catalogue: Catalogue) -> str:
    """The position under which the part is entered that is to be put in new."""
    home = _there("--renew", position, bike, catalogue)
    if home in bike.with_whole_parts(change.take_off):
        _refuse("--renew", f"{home!r} is taken off by the same change: it cannot be put in new as well")
    if home in newly_filled(bike, change, catalogue):
        _refuse("--renew", f"another part is fitted at {home!r} by the same change: leave one of the two out")
    return home


def _moved(text: str, bike: Bike, change: Change, catalogue: Catalogue) -> tuple[str, dict[str, str]]:
    position, where = _split(text, "--move")
    home = _there("--move", position, bike, catalogue)
    if not where:
        _refuse("--move", f"say where {position!r} goes: {position},on=POSITION")
    if home in bike.with_whole_parts(change.take_off):
        _refuse("--move", f"{home!r} is taken off by the same change: it cannot go elsewhere")
    if home in newly_filled(bike, change, catalogue):
        _refuse("--move", f"another part is fitted at {home!r}: say where that goes as --fit PART@{home},on=POSITION")
    return (position if _is_stacked(position, catalogue.standards) else home), where


def _there(option: str, position: str, bike: Bike, catalogue: Catalogue) -> str:
    """The position under which the part at a position is entered."""
    if position in bike:
        return bike[position].home
    check_position(option, position, bike, catalogue)
    return _refuse(option, f"nothing sits in {brief(position)} on this bike{did_you_mean(position, bike.fitted)}")


def _is_stacked(position: str, standards: Standards) -> bool:
    row = standards.position(position)
    return row is not None and row.stacked


class _PlacingReader:
    """Reads where parts are to go, on the bike with what is fitted and without what is taken off."""

    def __init__(self, bike: Bike, change: Change, catalogue: Catalogue) -> None:
        self.standards = catalogue.standards
        gone = bike.with_whole_parts(change.take_off)
        stays = {name: spot for name, spot in bike.fitted.items() if name not in gone}
        self.fitted = {**stays, **newly_filled(bike, change, catalogue)}

    def read(self, option: str, position: str, where: Mapping[str, str]) -> Placing:
        """One part with its place. Raises InputError."""
        spot = self.fitted[position]
        placing = Placing(position, **{_FIELD[key]: value for key, value in where.items()})
        row = self.standards.position(position)
        if row is not None and row.line:
            self._check_ends(option, spot, placing)
        elif placing.start or placing.end:
            _refuse(option, f"{position!r} is no line, and only a line leads from= and to=")
        if placing.on is not None:
            self._check_carrier(option, spot, placing.on)
        if placing.place is not None:
            placing = replace(placing, on=self._with_place(option, spot, placing))
        return placing

    def _check_ends(self, option: str, spot: Fitted, placing: Placing) -> None:
        for key, name in (("from", placing.start), ("to", placing.end)):
            if name is not None and name not in self.fitted:
                hint = did_you_mean(name, self.fitted)
                _refuse(option, f"{spot.position!r} cannot lead {key} {brief(name)}: nothing sits there{hint}")
        for _, text in unfit_ends(replace(spot, start=placing.start, end=placing.end), self.standards):
            _refuse(option, text)
        if placing.on or placing.place:
            _refuse(option, f"{spot.position!r} is a line: it leads from= and to=, and is mounted on nothing")

    def _check_carrier(self, option: str, spot: Fitted, on: str) -> None:
        able = self._carriers(spot)
        known = f"; it goes on {' or '.join(able)}" if able else "; nothing on this bike carries it"
        if on not in self.fitted:
            _refuse(option, f"nothing sits in {brief(on)} on this bike{did_you_mean(on, able)}{known}")
        if on in self._own(spot):
            _refuse(option, f"{spot.position!r} cannot be mounted on itself{known}")
        if not may_carry(spot, on, self.standards) or not self._keeps_the_stack(spot, on):
            _refuse(option, f"{spot.position!r} cannot be mounted on {brief(on)}{known}{did_you_mean(on, able)}")

    def _carriers(self, spot: Fitted) -> list[str]:
        """The positions that may carry it; of a thing with a mount those that have a place for things."""
        own = self._own(spot)
        able = sorted(
            name for name in carriers(spot, self.fitted, self.standards)
            if name not in own and self._keeps_the_stack(spot, name)
        )  # fmt: skip
        with_places = [name for name in able if self.fitted[name].part.places]
        return with_places if spot.part.mounts else able

    def _keeps_the_stack(self, spot: Fitted, on: str) -> bool:
        """Would it stand in the one stack, and carry what stands there now? A cover, for one, stands on no spacer."""
        row = self.standards.position(spot.position)
        if row is None or not row.stacked:
            return True
        above = (
            other for name, other in self.fitted.items()
            if other.on == on and name != spot.position and _is_stacked(name, self.standards)
        )  # fmt: skip
        beside = beside_the_stack(replace(spot, on=on), self.fitted, self.standards)
        return not beside and all(may_carry(other, spot.position, self.standards) for other in above)

    def _own(self, spot: Fitted) -> frozenset[str]:
        return frozenset(name for name, other in self.fitted.items() if other.home == spot.home)

    def _with_place(self, option: str, spot: Fitted, placing: Placing) -> str:
        """The carrier whose place is named: named with it, or that of now, or the only one with such a place."""
        having = [
            name for name in self._carriers(spot)
            if any(place.id == placing.place for place in self.fitted[name].part.places)
        ]  # fmt: skip
        on = placing.on or (spot.on if spot.on in having else None)
        if on is None and len(having) == 1:
            return having[0]
        if on is None and having:
            _refuse(option, f"say which {brief(placing.place)} is meant: on={' or on='.join(having)}")
        if on is not None and on in having:
            return on
        names = [on] if on is not None else self._carriers(spot)
        places = {place.id: name for name in names for place in self.fitted[name].part.places}
        known = " or ".join(f"{place} of {name}" for place, name in sorted(places.items())) or "none"
        hint = did_you_mean(str(placing.place), places)
        whose = f"{on!r} has" if on is not None else "nothing on this bike has"
        return _refuse(option, f"{whose} no place {brief(placing.place)} for {spot.position!r}{hint}; places: {known}")


def _refuse(option: str, text: str) -> NoReturn:
    raise InputError([Problem(FileLine(option, 1, 1), text, "meaning")])
