"""The positions of which nobody told what is there, and what may be."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from buildcheck.library.yaml_text import Document
from buildcheck.model.bikes import NONE, Bike, BikeFile, Fitted, default_support
from buildcheck.model.sentences import shown
from buildcheck.model.standards import PositionRow, Standards
from buildcheck.model.untold import part_of_kind


def untold_of(record: BikeFile, fitted: dict[str, Fitted], document: Document, standards: Standards) -> frozenset[str]:
    """The positions of which nobody knows what is there. What the bike needs is fitted: a part without a record.

    A position that takes many parts is one of them where there may be more than were told of.
    """
    open_to = _open_to(record, fitted, standards)
    for name, row in open_to.items():
        if _is_needed(row, fitted) and not any(standards.position(other) is row for other in fitted):
            part, where = part_of_kind(row.kinds[0], name), {"": document.key_place(("parts", name)).at_line}
            fitted[name] = Fitted(name, name, part, on=_top(row, fitted, standards), where=where)
    apart = {name for pair, row in standards.pairs.items() if pair in fitted for name in row.needed_unless}
    pairs = {pair for pair, row in standards.pairs.items() if all(name in fitted for name in row.needed_unless)}
    sure = {name for name, row in open_to.items() if name in fitted and len(row.kinds) == 1 and not row.many}
    return frozenset(open_to.keys() - apart - pairs - sure)


def _open_to(record: BikeFile, fitted: Mapping[str, Fitted], standards: Standards) -> dict[str, PositionRow]:
    said = record.parts
    if record.others == NONE:
        names = [name for name, spot in said.items() if spot.is_not_known]
    else:
        rows = standards.positions.values()
        told = fitted.keys() | {name for name, spot in said.items() if spot.is_empty}
        names = [row.id for row in rows if row.id not in told]
        names += [name for name, spot in said.items() if spot.is_not_known and name not in names]
    return {name: row for name in names if (row := standards.position(name)) is not None}


def with_presence(bike: Bike, name: str, word: str, row: PositionRow, standards: Standards) -> Bike | None:
    """The bike on which somebody looked what is at a position: `none`, or a part of a kind; None for another word.

    Of a position that takes many parts only `none` says all: that there are no more.
    """
    untold = bike.untold - {name}
    if word == NONE:
        gone = bike.with_whole_parts([name])
        return replace(bike, fitted={at: spot for at, spot in bike.fitted.items() if at not in gone}, untold=untold)
    if word not in row.kinds or row.many:
        return None
    on = _top(row, bike.fitted, standards) or default_support(row, bike.fitted)
    spot = Fitted(name, name, part_of_kind(word, name), on=on, where={"": "--set:1"})
    return replace(bike, fitted={**bike.fitted, name: spot}, untold=untold)


def _top(row: PositionRow, fitted: Mapping[str, Fitted], standards: Standards) -> str | None:
    """What carries a part of the stack of which nobody said where it stands: the last one of those that are there."""
    on = next((name for name in row.on if name in fitted), None) if row.stacked else None
    upon = {
        spot.on: name for name, spot in fitted.items()
        if spot.on is not None and (above := standards.position(name)) is not None and above.stacked
    }  # fmt: skip
    while on in upon:
        on = upon.pop(on)
    return on


def _is_needed(row: PositionRow, fitted: Mapping[str, Fitted]) -> bool:
    """Does every bike, or one with what is on this one for sure, have something there?"""
    if row.needed:
        return not (row.needed_unless and all(name in fitted for name in row.needed_unless))
    return any(_is_met(fitted, key, words) for key, words in row.needed_if.items())


def _is_met(fitted: Mapping[str, Fitted], key: str, words: str) -> bool:
    position, _, attribute = key.partition(".")
    spot = fitted.get(position)
    value = getattr(spot.part, attribute, None) if spot is not None else None
    if value is None:
        return False
    return (shown(value) in words.removeprefix("!").split("|")) is not words.startswith("!")
