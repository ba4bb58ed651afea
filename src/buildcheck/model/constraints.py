"""Rows of the table of constraints: what the attributes of one record must be to one another."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from fnmatch import fnmatchcase
from functools import cache
from typing import Annotated, Any, Literal, NamedTuple, Self

from pydantic import Field, model_validator

from buildcheck.model.parts.base import IDENTIFIER, Record
from buildcheck.model.quantities import Interval
from buildcheck.model.sentences import shown

_SIDE = re.compile(r"(?:(count|least|most|value) of )?([a-z][a-z0-9_]*)(?: as ([a-z-]+))?")
_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_NOT_ONE_WORD = frozenset("!|*?[")


class ComparedSide(NamedTuple):
    """What is compared: an attribute, a number, or what is made of a list or of the size that a word stands for."""

    made: str
    attribute: str
    vocabulary: str
    number: float | None = None


class Constraint(Record):
    """A record that is otherwise is refused: `a` compared with `b`, or the patterns of `then`, wherever `when` holds.

    A side is an attribute, a number, `count of LIST`, `least of LIST`, `most of LIST`, or `value of WORD`, the size
    that the word stands for, with ` as VOCABULARY` where the attribute is worked out. In `when` and `then` each
    attribute has patterns as elsewhere (`*` stands for anything, `|` parts them), after a `!` those that it must not
    match; the words of a flag are yes and no. What is unknown contradicts nothing, and an interval only where all of
    it does. Where wear changes a size, the row holds `as_sold` and is not asked of what was measured on a bike.
    """

    id: Annotated[str, Field(pattern=IDENTIFIER)]
    kinds: tuple[str, ...] = Field(description="the kinds of parts; * for all")
    inside: Literal["mounts"] | None = Field(default=None, description="the list of whose entries it holds")
    when: dict[str, str] = Field(default_factory=dict)
    a: str | None = None
    compare: Literal["at-most", "below", "at-least", "equal"] | None = None
    b: str | None = None
    tolerance: Annotated[float, Field(ge=0)] = 0.0
    then: dict[str, str] = Field(default_factory=dict)
    as_sold: bool = False
    why: str
    source: str

    @model_validator(mode="after")
    def _one_form(self) -> Self:
        compared = [self.a, self.compare, self.b]
        if (None in compared and any(compared)) or bool(self.a) == bool(self.then):
            raise ValueError("either a, compare and b are expected, or then")
        for side in filter(None, (self.a, self.b)):
            if not _NUMBER.fullmatch(side) and not _SIDE.fullmatch(side):
                raise ValueError(f"{side!r} is no attribute, no number, and nothing that is made of a list or a word")
        return self

    def sides(self) -> tuple[ComparedSide, ...]:
        """Both sides of what is compared; none where words imply words."""
        return tuple(side_of(side) for side in (self.a, self.b) if side is not None)

    def attributes(self) -> tuple[str, ...]:
        """Every attribute that it names, the one to look at first before the others."""
        compared = (side.attribute for side in self.sides() if side.number is None)
        return tuple(dict.fromkeys((*compared, *self.then, *self.when)))


def side_of(text: str) -> ComparedSide:
    """One side of what is compared, read; its form was checked before."""
    if _NUMBER.fullmatch(text):
        return ComparedSide("", "", "", float(text))
    found = _SIDE.fullmatch(text)
    assert found is not None
    return ComparedSide(found[1] or "", found[2], found[3] or "")


class Implication(NamedTuple):
    """What an attribute can only be where others match these patterns."""

    when: Mapping[str, str]
    word: str


def implications_of(rows: Iterable[Mapping[str, Any]]) -> dict[tuple[str, str], tuple[Implication, ...]]:
    """By kind and attribute: what a record need not say, since it can be but one thing.

    The rows are those of the file, as they were checked: records of all of them would take longer than a whole check.
    """
    found: dict[tuple[str, str], tuple[Implication, ...]] = {}
    for row in rows:
        if not row.get("when") or "inside" in row or row.get("as_sold"):
            continue
        for name, word in row.get("then", {}).items():
            if _NOT_ONE_WORD.isdisjoint(word):
                for key in ((kind, name) for kind in row["kinds"]):
                    found[key] = (*found.get(key, ()), Implication(row["when"], word))
    return found


@cache
def patterns_of(text: str) -> tuple[bool, tuple[str, ...]]:
    """Is it a pattern that must not match; and what it is parted into."""
    return text.startswith("!"), tuple(text.removeprefix("!").split("|"))


def words_of(held: Any) -> tuple[str, ...] | None:
    """The words that a fact holds; None where it is not known for sure."""
    if held is None or (isinstance(held, Interval) and held.low != held.high):
        return None
    return tuple(map(shown, held)) if isinstance(held, tuple) else (shown(held),)


def is_any_of(word: str, patterns: tuple[str, ...]) -> bool:
    """Is a word of one of these patterns?"""
    return any(fnmatchcase(word, pattern) for pattern in patterns)


def surely(held: Any, text: str) -> bool:
    """Does all that a fact holds match?"""
    negated, patterns = patterns_of(text)
    words = words_of(held)
    return words is not None and all(is_any_of(word, patterns) is not negated for word in words)
