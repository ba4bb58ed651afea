"""Looking for parts in the words of the trade, and the sizes by which one is told from the next."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.records import fields_of
from buildcheck.model.counter import TradeWord
from buildcheck.model.parts import Part
from buildcheck.model.parts.base import vocabulary_of
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import attribute_words, shown
from buildcheck.model.standards import Standards

_JOINTS = re.compile(r"[\s_/-]+")
_NONE = "none"


def shape(word: str) -> str:
    """A word as it is compared: `V-brake`, `v brake` and `vbrake` are one."""
    return _JOINTS.sub("", word.casefold())


def trade_word(word: str, standards: Standards) -> TradeWord | None:
    """The row of a word of the trade."""
    wanted = shape(word)
    return next((row for row in standards.trade_words if wanted in map(shape, row.names)), None)


def parts_found(words: Iterable[str], catalogue: Catalogue) -> Iterator[Part]:
    """The parts that all words fit, by id: id, name, maker, kind, a name of what it takes, or a word of the trade."""
    asked = list(words)
    together = trade_word(" ".join(asked), catalogue.standards)
    rows = {" ".join(asked): together} if together else {word: trade_word(word, catalogue.standards) for word in asked}
    for part_id in sorted(catalogue.ids):
        part = catalogue.part(part_id)
        plain = shape_of(part_id, part.name, part.maker, part.kind)
        wide = ""
        for word, row in rows.items():
            if shape(word) in plain or (row is not None and is_meant(part, row)):
                continue
            wide = wide or shape_of(*_also_called(part, catalogue))
            if row is not None or shape(word) not in wide:
                break
        else:
            yield part


def is_meant(part: Part, row: TradeWord) -> bool:
    """Is it a part of the kinds of a trade word, with what the word says of them?"""
    if part.kind not in row.kinds:
        return False
    known = fields_of(type(part))
    return all(_is_one_of(getattr(part, name), words) for name, words in row.where.items() if name in known)


def sizes_told(part: Part, standards: Standards) -> str:
    """The key sizes of a part on one line: `bar clamp 31.8, length 100`. What nobody knows is left out."""
    told = []
    for name in standards.key_sizes.get(part.kind, ()):
        value = getattr(part, name)
        if value is None or value in ((), _NONE, (_NONE,)):
            continue
        if isinstance(value, bool):
            told += [attribute_words(name)] if value else []
        elif isinstance(value, Interval):
            told.append(f"{attribute_words(name)} {value}")
        else:
            told.append(_words(value))
    return ", ".join(told)


def belonging(position: str, standards: Standards) -> Mapping[str, tuple[str, ...]]:
    """For a position of many that is called by what belongs there: the words that parts may have; else nothing."""
    row = next((row for row in standards.sorts if position == row.id or position.startswith(f"{row.id}-")), None)
    return {} if row is None else row.takes


def shape_of(*texts: str) -> str:
    """Several texts as they are compared, each by itself."""
    return "\n".join(map(shape, texts))


def _words(value: Any) -> str:
    if isinstance(value, tuple):
        return " or ".join(str(getattr(item, "type", item)) for item in value)
    return shown(value)


def _also_called(part: Part, catalogue: Catalogue) -> Iterator[str]:
    """Every name of every word that a part has from a vocabulary."""
    for name in fields_of(type(part)):
        vocabulary = vocabulary_of(type(part), name)
        value = getattr(part, name, None)
        for word in value if isinstance(value, tuple) else (value,):
            if vocabulary and isinstance(word, str):
                yield from catalogue.words.names_of(vocabulary, word)


def _is_one_of(value: Any, words: Iterable[str]) -> bool:
    values = [str(item) for item in value] if isinstance(value, tuple) else [] if value is None else [str(value)]
    return any(_is_word(values, word) for word in words)


def _is_word(values: list[str], word: str) -> bool:
    if word == f"!{_NONE}":
        return bool(values) and _NONE not in values
    if word == _NONE:
        return not values or values == [_NONE]
    beginning = word.removesuffix("*")
    return any(value.startswith(beginning) if beginning != word else value == word for value in values)
