"""Reading bike files, and looking up their parts."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any, NoReturn

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.contradictions import refuse_contradictions, set_aside, within
from buildcheck.library.folders import Content, bike_content
from buildcheck.library.hints import part_hint, position_hint
from buildcheck.library.likes import whole
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean
from buildcheck.library.records import read_part, validated
from buildcheck.library.supports import beside_the_stack, carriers, may_carry, unfit_ends, wrong_kind
from buildcheck.library.told import measure, noted
from buildcheck.library.untold import untold_of, with_presence
from buildcheck.library.yaml_text import Document, Where, read_document
from buildcheck.model.bikes import NONE, NOT_KNOWN, PRESENCE, Bike, BikeFile, Change, Fitted, Spot, default_support
from buildcheck.model.parts import Part
from buildcheck.model.quantities import brief
from buildcheck.model.slots import with_plain_value
from buildcheck.model.standards import PositionRow
from buildcheck.model.untold import part_of_kind


def load_bike(path: Path, catalogue: Catalogue) -> Bike:
    """A bike from its file; a bare name of a bundled bike works too. Raises InputError."""
    return bike_of(bike_content(path), catalogue)


def bike_of(content: Content, catalogue: Catalogue) -> Bike:
    """A bike from the bytes of its file. Raises InputError."""
    return bike_from(read_document(content.data, content.shown), catalogue, content.beside)


def bike_from(document: Document, catalogue: Catalogue, beside: str = ".") -> Bike:
    """The schema stage, then the meaning stage, of one bike file; what it is like is looked for from `beside`."""
    document = whole(document, beside)
    record = validated(BikeFile, document.value, document, ())
    reader = _BikeReader(document, record, catalogue)
    bike = reader.read()
    if reader.problems:
        raise InputError(reader.problems)
    return bike


class _BikeReader:
    """The meaning stage of one bike file; gathers every problem."""

    def __init__(self, document: Document, record: BikeFile, catalogue: Catalogue) -> None:
        self.document, self.record, self.catalogue = document, record, catalogue
        self.standards = catalogue.standards
        self.problems: list[Problem] = []
        self.own: dict[str, tuple[Part, dict[str, str]]] = {}
        self.broken: set[str] = set()

    def read(self) -> Bike:
        self._own_parts()
        fitted: dict[str, Fitted] = {}
        said = self.record.parts.items()
        for position, spot in sorted(said, key=lambda item: self._is_taken_over(item[0])):
            self._fit(position, spot, fitted)
        order = {position: number for number, position in enumerate(self.record.parts)}
        fitted = {name: fitted[name] for name in sorted(fitted, key=lambda name: order[fitted[name].home])}
        untold = untold_of(self.record, fitted, self.document, self.standards)
        fitted = {name: self._with_support(spot, fitted) for name, spot in fitted.items()}
        if not self.problems:
            self._refuse_cycles(fitted)
            self._refuse_forks_in_the_stack(fitted)
            self._refuse_unknown_places(fitted)
        record = self.record
        return Bike(
            record.bike, record.name, record.use, fitted, self.own, motor=record.motor,
            fixed_wheel_brakes=record.fixed_wheel_brakes, untold=untold, in_use=record.in_use,
        )  # fmt: skip

    def _problem(self, path: Where, text: str) -> None:
        self.problems.append(Problem(self.document.place(path), text, "meaning"))

    def _own_parts(self) -> None:
        for index, raw in enumerate(self.record.own_parts):
            path: Where = ("own_parts", index)
            try:
                part = read_part(raw, self.document, path, self.catalogue.words, self.catalogue.openings)
                refuse_contradictions(part, self.catalogue.constraints, within(self.document, path, raw))
            except InputError as error:
                self.problems.extend(error.problems)
                self.broken |= {str(raw["id"])} if isinstance(raw, dict) and "id" in raw else set()
                continue
            if part.id in self.own or part.id in self.catalogue:
                where = self.own[part.id][1] if part.id in self.own else self.catalogue.where(part.id)
                self._problem((*path, "id"), f"the part id {part.id!r} stands already in {where['']}")
                continue
            where = {str(name): self.document.place((*path, name)).at_line for name in raw}
            self.own[part.id] = part, {**where, "": self.document.place(path).at_line}

    def _fit(self, position: str, spot: Spot, fitted: dict[str, Fitted]) -> None:
        path: Where = ("parts", position)
        row = self.standards.position(position)
        if row is None:
            known = [*self.standards.positions, *self.record.parts]
            self.problems.append(
                Problem(self.document.key_place(path), f"{brief(position)} is not a position of a bike"
                        f"{position_hint(position, self.standards, known)}", "meaning")
            )  # fmt: skip
            return
        if spot.is_empty or spot.is_not_known:
            return
        found = self._part_of(path, spot, row)
        if found is None:
            return
        part, where = found
        base = Fitted(position, position, part, frozenset(), (), spot.on, spot.place, spot.start, spot.end, where)
        try:
            base = measure(base, spot.measured, self.catalogue, self.document, (*path, "measured"))
            if base.measured:  # a record was looked at when it was read
                written = within(self.document, (*path, "measured"), spot.measured)
                refuse_contradictions(base.part, self.catalogue.constraints, written, base.measured)
            base = noted(base, spot, self.catalogue, self.document, path)
        except InputError as error:
            self.problems.extend(error.problems)
            return
        for name in (position, *row.fills.get(part.kind, ())):
            if name in fitted:
                if self._is_taken_over(position) and not self._is_taken_over(fitted[name].home):
                    fitted[name] = replace(fitted[name], on=fitted[name].on or spot.on)
                    return  # the file itself fills what the one that it is like filled
                self._problem(
                    path, f"the position {name!r} is filled twice: by {fitted[name].home!r} and by {position!r}"
                )
                continue
            fitted[name] = replace(base, position=name)

    def _is_taken_over(self, position: str) -> bool:
        """Is what is said of a position taken over from a file that this one is like?"""
        return self.document.key_place(("parts", position)).file != self.document.file

    def _part_of(self, path: Where, spot: Spot, row: PositionRow) -> tuple[Part, Mapping[str, str]] | None:
        """The part that a spot names, or one without a record, and where its facts are written; None after a problem.

        Of a position that takes one kind of parts alone, nobody need say the kind.
        """
        kind = spot.kind or (row.kinds[0] if len(row.kinds) == 1 else None)
        if spot.part is None:
            if kind is None:
                text = f"what is there? Say a part, or kind: {' or '.join(row.kinds)}, or {NONE}, or {NOT_KNOWN}"
                self._problem(path, text)
            elif kind not in row.kinds:
                hint = did_you_mean(kind, row.kinds)
                text = f"{brief(kind)} is no kind that goes to {path[-1]!r}, which takes {' or '.join(row.kinds)}{hint}"
                self._problem((*path, "kind"), text)
            else:
                return part_of_kind(kind, str(path[-1])), {"": self.document.key_place(path).at_line}
            return None
        try:
            part, where = self._look_up(spot.part)
        except KeyError:
            if spot.part not in self.broken:  # what is wrong with one of the file's own was told where it stands
                hint = part_hint(spot.part, self.catalogue, [*self.catalogue.ids, *self.own])
                self._problem((*path, "part"), f"no part {brief(spot.part)} in the catalogue or among own_parts{hint}")
            return None
        if part.kind not in row.kinds:
            self._problem((*path, "part"), wrong_kind(part.id, part.kind, row, self.standards))
            return None
        return part, where

    def _look_up(self, part_id: str) -> tuple[Part, Mapping[str, str]]:
        if part_id in self.own:
            return self.own[part_id]
        return self.catalogue.part(part_id), self.catalogue.where(part_id)

    def _with_support(self, spot: Fitted, fitted: dict[str, Fitted]) -> Fitted:
        row = self.standards.position(spot.position)
        if row is None:
            return spot
        if spot.is_main:
            self._check_ends(spot, fitted)
        names = [name for name, other in fitted.items() if other.home == spot.home]
        if spot.on is None:
            return replace(spot, on=default_support(row, fitted))
        if spot.on in names:
            return spot  # a part on itself: told as a ring
        able = [name for name in names if may_carry(fitted[name], spot.on, self.standards)]
        told = self.problems and spot.on not in fitted and spot.on in self.record.parts  # why it is empty
        if spot.is_main and not told and (spot.on not in fitted or not able):
            self._problem(("parts", spot.home, "on"), self._why_not_on(spot, names, fitted))
        # `on` of a one-piece part says where that side of it stands which can stand there
        return spot if spot.position in able or not able else replace(spot, on=default_support(row, fitted))

    def _why_not_on(self, spot: Fitted, names: Iterable[str], fitted: dict[str, Fitted]) -> str:
        if spot.on not in fitted:
            hint = did_you_mean(str(spot.on), fitted)
            return f"{spot.home!r} is mounted on {brief(spot.on)}, which is empty{hint}"
        able = sorted({on for name in names for on in carriers(fitted[name], fitted, self.standards)} - set(names))
        known = " or ".join(able) or "none of what is on this bike"
        return f"{spot.home!r} cannot be mounted on {brief(spot.on)}; it goes on {known}{did_you_mean(spot.on, able)}"

    def _check_ends(self, spot: Fitted, fitted: dict[str, Fitted]) -> None:
        for key, name in (("from", spot.start), ("to", spot.end)):
            if name is not None and self.standards.position(name) is None:
                hint = position_hint(name, self.standards, [*fitted, *self.standards.positions])
                self._problem(("parts", spot.home, key), f"{brief(name)} is not a position of a bike{hint}")
        for key, text in unfit_ends(spot, self.standards):
            self._problem(("parts", spot.home, key), text)

    def _refuse_cycles(self, fitted: dict[str, Fitted]) -> None:
        cycle: list[str] = next(filter(None, (_ring_under(name, fitted) for name in fitted)), [])
        if not cycle:
            return
        first = min(cycle, key=lambda name: self.document.place(("parts", fitted[name].home)).line)
        while cycle[0] != first:
            cycle.append(cycle.pop(0))
        chain = " on ".join([*cycle, first])
        self._problem(("parts", fitted[first].home, "on"), f"these are mounted in a ring, each on the next: {chain}")

    def _refuse_forks_in_the_stack(self, fitted: dict[str, Fitted]) -> None:
        standing: dict[str, str] = {}
        for name, spot in fitted.items():
            row = self.standards.position(name)
            if row is None or not row.stacked or spot.on is None:
                continue
            other = standing.setdefault(spot.on, name)
            if other != name:
                text = f"{name!r} and {other!r} both stand on {spot.on!r}: the stack has one order; say `on` for each"
                self._problem(("parts", spot.home, "on"), text)
            elif beside := beside_the_stack(spot, fitted, self.standards) if self._says_on(spot) else ():
                text = f"{name!r} on {spot.on!r} would stand beside {' and '.join(beside)}, not on it"
                self._problem(("parts", spot.home, "on"), text)

    def _says_on(self, spot: Fitted) -> bool:
        said = self.record.parts.get(spot.home)
        return said is not None and said.on is not None

    def _refuse_unknown_places(self, fitted: dict[str, Fitted]) -> None:
        for spot in fitted.values():
            carrier = fitted.get(spot.on or "")
            known = [place.id for place in carrier.part.places] if carrier is not None else []
            if carrier is not None and not carrier.part.lists("places"):
                continue
            if spot.is_main and spot.place is not None and spot.place not in known:
                hint = did_you_mean(spot.place, known)
                text = (
                    f"{spot.on!r} has no place {brief(spot.place)}{hint}" if spot.on else "nothing carries it; say `on`"
                )
                self._problem(("parts", spot.home, "place"), text)


def _ring_under(name: str, fitted: Mapping[str, Fitted]) -> list[str]:
    """The ring that a position is mounted on, each on the next; empty where it stands on something that ends."""
    chain: list[str] = []
    below: str | None = name
    while below is not None and below not in chain:
        chain.append(below)
        below = fitted[below].on if below in fitted else None
    return [] if below is None else chain[chain.index(below) :]


def read_change(fits: Iterable[str], take_off: Iterable[str], bike: Bike, catalogue: Catalogue) -> Change:
    """The change that `--fit PART[@POSITION]` and `--take-off POSITION` ask for. Raises InputError."""
    pairs = tuple(_fit_pair(text, bike, catalogue) for text in fits)
    for position in take_off:
        if position not in bike:
            hint = position_hint(position, catalogue.standards, bike.fitted)
            _refuse("--take-off", f"nothing sits in {brief(position)} on this bike{hint}")
    filled = [name for pair in pairs for name in _fills(pair, bike, catalogue)]
    twice = sorted({name for name in filled if filled.count(name) > 1})
    if twice:
        _refuse("--fit", f"two parts are to be fitted at {twice[0]!r}")
    return Change(pairs, tuple(take_off))


def _fills(pair: tuple[str, str], bike: Bike, catalogue: Catalogue) -> tuple[str, ...]:
    """The position of a part that is to be fitted, and those that it fills too."""
    part_id, position = pair
    own = bike.own_parts.get(part_id)
    kind = own[0].kind if own is not None else catalogue.kind_of(part_id)
    row = catalogue.standards.position(position)
    return (position, *(row.fills.get(kind, ()) if row is not None else ()))


def _fit_pair(text: str, bike: Bike, catalogue: Catalogue) -> tuple[str, str]:
    part_id, _, position = text.partition("@")
    if part_id not in catalogue and part_id not in bike.own_parts:
        _refuse(
            "--fit",
            f"no part {brief(part_id)} in the catalogue"
            f"{part_hint(part_id, catalogue, [*catalogue.ids, *bike.own_parts])}",
        )
    own = bike.own_parts.get(part_id)
    kind = own[0].kind if own is not None else catalogue.kind_of(part_id)
    if position:
        takes = check_position("--fit", position, bike, catalogue)
        if kind not in takes.kinds:
            _refuse("--fit", wrong_kind(part_id, kind, takes, catalogue.standards))
        return part_id, position
    rows = [row for row in catalogue.standards.positions.values() if kind in row.kinds]
    # The one place for it, or of several the one that every bike has where this bike has none of the others.
    likely = rows if len(rows) == 1 else [row for row in rows if row.needed or row.id in bike]
    if len(likely) == 1 and not likely[0].many and (likely is rows or likely[0].needed):
        return part_id, likely[0].id
    names = [name for name in bike.fitted if (row := catalogue.standards.position(name)) and kind in row.kinds]
    candidates = ", ".join(names or [row.id for row in rows]) or "none"
    return _refuse("--fit", f"say where {part_id!r} is to go: {part_id}@POSITION; positions for a {kind}: {candidates}")


def set_facts(bike: Bike, change: Change, settings: Iterable[str], catalogue: Catalogue) -> Bike:
    """The bike with facts of `--set POSITION.ATTRIBUTE=VALUE`; for a part that is to be fitted, on that one part."""
    last: dict[str, Fitted] = {}
    for text in settings:
        name, equals, value = text.partition("=")
        position, dot, attribute = name.partition(".")
        document = read_document(f"{attribute}: {value}", "--set") if equals and dot and attribute and value else None
        if document is None or not isinstance(document.value, dict):
            _refuse("--set", f"POSITION.ATTRIBUTE=VALUE is expected, not {brief(text)}")
        if attribute == PRESENCE:
            bike = _looked(bike, position, str(document.value[PRESENCE]), catalogue)
            continue
        told = partial(_told, facts=document.value, document=document, catalogue=catalogue, last=last)
        try:
            bike = with_told(bike, change, position, told, catalogue)
        except KeyError:
            known = [*bike.fitted, *newly_filled(bike, change, catalogue)]
            hint = position_hint(position, catalogue.standards, known)
            _refuse("--set", f"nothing sits in {brief(position)} on this bike{hint}")
    for spot in last.values():  # once all is set: what is set first may contradict what is corrected after it
        refuse_contradictions(spot.part, catalogue.constraints, partial(_set_at, spot), spot.measured, all_told=True)
        part, gone = set_aside(spot.part, catalogue.constraints, spot.measured)
        if gone:
            where = {**spot.where, **dict.fromkeys(gone, FileLine("--set", 1, 1).at_line)}
            fresh = replace(spot, part=part, measured=spot.measured | gone, where=where)
            bike = with_told(bike, change, spot.home, partial(_instead, fresh), catalogue)
    return bike


def _looked(bike: Bike, position: str, word: str, catalogue: Catalogue) -> Bike:
    """The bike on which somebody looked what is at a position that nobody told of."""
    row = check_position("--set", position, bike, catalogue)
    if position not in bike.untold:
        known = did_you_mean(position, bike.untold)
        _refuse("--set", f"what is at {brief(position)} is told already{known}")
    looked = with_presence(bike, position, word, row, catalogue.standards)
    if looked is None:
        expected = NONE if row.many else " or ".join((NONE, *row.kinds))
        _refuse("--set", f"{position}.{PRESENCE} is {expected}, not {brief(word)}")
    return looked


def _instead(fresh: Fitted, _: Fitted) -> Fitted:
    return fresh


def _set_at(spot: Fitted, way: Where) -> FileLine | None:
    """Where a fact was set. What else only the record tells is that of another part: a fact set asks what if."""
    return FileLine("--set", 1, 1) if way[0] in spot.measured else None


def with_told(
    bike: Bike, change: Change, position: str, told: Callable[[Fitted], Fitted], catalogue: Catalogue
) -> Bike:
    """The bike with more known of the part at a position, which `told` adds; of one that is to be fitted, if so.

    Raises KeyError where nothing sits and nothing is to be fitted.
    """
    new = newly_filled(bike, change, catalogue)
    if position in new:
        key = new[position].part.id, new[position].home
        return replace(bike, to_come={**bike.to_come, key: told(bike.to_come.get(key, new[position]))})
    home = bike.fitted[position].home
    spot = told(bike.fitted[home])
    fitted = {
        name: replace(old, part=spot.part, measured=spot.measured, condition=spot.condition, where=spot.where)
        if old.home == home
        else old
        for name, old in bike.fitted.items()
    }
    return replace(bike, fitted=fitted)


def _told(
    spot: Fitted, facts: dict[str, Any], document: Document, catalogue: Catalogue, last: dict[str, Fitted]
) -> Fitted:
    """The part with one fact, or with what was seen on it, which becomes the `last` there. Raises InputError."""
    if "condition" not in facts:
        for name, value in facts.items():
            told = with_plain_value(spot.part, name, value) or {name: value}
            spot = measure(spot, told, catalogue, document, ())
        last[spot.home] = spot
        return spot
    record = validated(Spot, {"part": spot.part.id, **facts}, document, ())
    return noted(spot, record, catalogue, document, ())


def newly_filled(bike: Bike, change: Change, catalogue: Catalogue) -> dict[str, Fitted]:
    """The part that a change puts in each position; a part that is there already stays the one that is there."""
    new: dict[str, Fitted] = {}
    for part_id, position in change.fit:
        old = bike.get(position)
        if old is None or old.home != position or old.part.id != part_id:
            part, where = bike.own_parts.get(part_id) or (catalogue.part(part_id), catalogue.where(part_id))
            row = catalogue.standards.position(position)
            filled = row.fills.get(part.kind, ()) if row is not None else ()
            new.update(dict.fromkeys((position, *filled), Fitted(position, position, part, where=where)))
    return new


def check_position(option: str, position: str, bike: Bike, catalogue: Catalogue) -> PositionRow:
    """The row of a position. Raises InputError for a name that is no position of any bike."""
    row = catalogue.standards.position(position)
    if row is None:
        known = [*catalogue.standards.positions, *bike.fitted]
        hint = position_hint(position, catalogue.standards, known)
        _refuse(option, f"{brief(position)} is not a position of a bike{hint}")
    return row


def _refuse(option: str, text: str) -> NoReturn:
    raise InputError([Problem(FileLine(option, 1, 1), text, "meaning")])
