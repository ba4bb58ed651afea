"""What was probably meant by a word that is none: words of the trade, kinds for positions, and the words there are."""

from __future__ import annotations

from collections.abc import Iterable

from buildcheck.library.catalogue import Catalogue
from buildcheck.library.looking import trade_word
from buildcheck.library.problems import did_you_mean, words_there_are
from buildcheck.model.standards import Standards

_MOST_WORDS = 8  # as many as are read before one looks elsewhere: our choice


def position_hint(word: str, standards: Standards, known: Iterable[str]) -> str:
    """What to say after `… is not a position of a bike`: where such parts sit, what is near, or what there is."""
    names = [name for name in known if name != word]
    row = trade_word(word, standards)
    places = list(row.positions) if row is not None else []
    if not places and (kind := _kind(word, standards)):
        places = [row.id for row in standards.positions.values() if kind in row.kinds]
    if places:
        sort = f"-{row.id}" if row is not None and places == ["accessory"] else ""
        called = [f"{place}{sort}" for place in places[:_MOST_WORDS]]
        return f"; that is {' or '.join(map(repr, called))}"
    return did_you_mean(word, names) or words_there_are(word, dict.fromkeys(names, ()))


def part_hint(word: str, catalogue: Catalogue, ids: Iterable[str]) -> str:
    """What to say after `no part …`: how to find such parts, or the id that is near."""
    standards = catalogue.standards
    row = trade_word(word, standards)
    if (row is not None and row.kinds) or _kind(word, standards):
        return f"; `buildcheck parts find {word}` tells those that there are"
    return did_you_mean(word, ids)


def _kind(word: str, standards: Standards) -> str:
    plain = word.casefold()
    return next((kind for kind in (plain, plain.removesuffix("s")) if kind in standards.kinds), "")
