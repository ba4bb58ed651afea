"""A row of what to measure first as a question to someone at the bike: in words of the trade, with usual answers."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any

from buildcheck.fit.view import View
from buildcheck.measure.values import records_of
from buildcheck.model.bikes import NONE, PRESENCE
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval, Unit, Vocabulary, is_flag
from buildcheck.model.report import MeasureFirst
from buildcheck.model.sentences import attribute_words
from buildcheck.model.slots import LISTS, paths_of, value_at
from buildcheck.model.standards import Standards

# More sizes than these are told by the smallest and the largest of them: our choice.
_MOST_SIZES = 8
# So many words are offered by number; those that the catalogue's parts have come first: our choice.
_MOST_WORDS = 12


# The question which part it is, as if that were one of its attributes.
PART = "part"
_BY_ITS_NAME = "Read the maker's and the model's name on it: its record in the catalogue tells the rest."


class Shape(StrEnum):
    """What an answer looks like."""

    SIZE = "size"
    WORD = "word"
    WORDS = "words"
    FLAG = "flag"
    PART = "part"  # of the catalogue, or a kind, or that nothing is there
    ROWS = "rows"  # a list of ways or places, as a file has it


@dataclass(frozen=True, slots=True)
class Usual:
    """An answer that can be expected: as a file has it, and what the trade calls it."""

    answer: str
    called: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of one fact. `known` is between which sizes it lies already, `more` the words beyond the usual."""

    position: str
    attribute: str
    title: str
    shape: Shape
    unit: str
    how: str
    minutes: float
    decides: tuple[str, ...]
    usual: tuple[Usual, ...] = ()
    between: tuple[float, float] | None = None
    more: tuple[Usual, ...] = ()
    known: Interval | None = None


def questions_of(
    view: View, rows: Sequence[MeasureFirst], parts_for: Callable[[str], Iterable[Part]]
) -> Iterator[Question]:
    """The questions for what to measure first, in its order.

    Whether something is there, and what, is asked as one thing. Where several facts of a part without a record matter
    its name is asked for before them: a look tells whether it is one of the catalogue, and then nothing is measured.
    """
    matter = Counter(row.position for row in rows)
    named: set[str] = set()
    for row in rows:
        spot = view.bike.get(row.position)
        nameless = spot is not None and not spot.part.has_record() and matter[row.position] > 1
        alike = list(parts_for(row.position))
        if (row.attribute == PRESENCE or nameless) and row.position not in named:
            named.add(row.position)
            decides = tuple(sorted({name for each in rows if each.position == row.position for name in each.decides}))
            yield _of_a_part(view, row, decides, alike)
        question = None if row.attribute == PRESENCE else question_of(view, row, alike)
        if question is not None:
            yield question


def _of_a_part(view: View, row: MeasureFirst, decides: tuple[str, ...], alike: Sequence[Part]) -> Question:
    spot, place = view.bike.get(row.position), view.row(row.position)
    told = Question(
        row.position, PART, f"{row.position.replace('-', ' ')}: which part", Shape.PART, "", _BY_ITS_NAME, 1.0, decides
    )
    likely = [part for part in alike if spot is None or spot.part.has_record() or _may_be(part, spot.part)]
    named = tuple(Usual(part.id, part.name) for part in likely)
    if row.attribute != PRESENCE:
        shown = named if len(named) <= _MOST_SIZES else ()
        return replace(told, usual=shown, more=() if shown else named)
    kinds = tuple(Usual(kind, "there is one, and nobody knows which") for kind in place.kinds)
    return replace(told, how=row.how, minutes=row.minutes, usual=(Usual(NONE, "nothing is there"), *kinds), more=named)


def _may_be(part: Part, known: Part) -> bool:
    """Could what is known of a part without a record be this one of the catalogue?"""
    if type(part) is not type(known):
        return False
    names = (name for name in known.model_fields_set if name not in ("id", "maker", "name"))
    pairs = ((getattr(part, name), getattr(known, name)) for name in names)
    return all(one is None or other is None or one == other for one, other in pairs)


def question_of(view: View, row: MeasureFirst, alike: Iterable[Part]) -> Question | None:
    """The question for a row; None for what nobody can tell of a part. `alike` are the catalogue's parts for there."""
    spot = view.bike.get(row.position)
    path = paths_of(spot.part, row.attribute)[:1] if spot is not None else []
    if spot is None or not path:
        return None
    owner, name = type(value_at(spot.part, path[0][:-1])), str(path[0][-1])
    marks = owner.model_fields[name].metadata
    unit = next((mark.name for mark in marks if isinstance(mark, Unit)), "")
    words = next((mark for mark in marks if isinstance(mark, Vocabulary)), None)
    told = Question(
        row.position, row.attribute, title_of(row.position, row.attribute), Shape.ROWS, unit, row.how, row.minutes,
        row.decides,
    )  # fmt: skip
    had = _had_by(alike, owner, name)
    if unit:
        return _of_a_size(told, had, view.fact(spot, row.attribute).held)
    if words is not None:
        return _of_a_word(told, had, words, view.standards)
    return _with(told, Shape.FLAG if is_flag(marks) else Shape.ROWS)


def title_of(position: str, attribute: str) -> str:
    """`stem: bar clamp` for stem.bar_clamp_mm, `frame: passage port, bore diameter` for a size of a way through it."""
    table, dot, rest = attribute.partition(".")
    where = position.replace("-", " ")
    if not dot or table not in LISTS:
        return f"{where}: {attribute_words(attribute)}"
    row, _, last = rest.rpartition(".")
    bore = ", bore " if row.endswith(".bore") else ", "
    named = row.removesuffix(".bore").replace("-", " ")
    return f"{where}: {table.removesuffix('s')} {named}{bore}{attribute_words(last)}"


def _with(question: Question, shape: Shape, **more: Any) -> Question:
    return replace(question, shape=shape, **more)


def _had_by(alike: Iterable[Part], record: type, name: str) -> Counter[Any]:
    """How often the catalogue's parts have each value."""
    rows = (row for part in alike for row in records_of(part) if type(row) is record)
    found: Counter[Any] = Counter()
    for row in rows:
        value = getattr(row, name)
        if isinstance(value, Interval):
            found.update({value.low, value.high})
        elif isinstance(value, str):
            found[value] += 1
        elif isinstance(value, tuple):
            found.update(item for item in value if isinstance(item, str))
    return found


def _of_a_size(question: Question, had: Counter[Any], held: Any) -> Question:
    known = held if isinstance(held, Interval) else None
    sizes = sorted(size for size in had if known is None or known.low <= size <= known.high)
    if len(sizes) > _MOST_SIZES:
        return _with(question, Shape.SIZE, between=(sizes[0], sizes[-1]), known=known)
    return _with(question, Shape.SIZE, usual=tuple(Usual(f"{size:g}") for size in sizes), known=known)


def _of_a_word(question: Question, had: Counter[Any], words: Vocabulary, standards: Standards) -> Question:
    called = _called(standards, words.name)
    every = sorted(called or had, key=lambda word: (-had[word], word))
    likely = [word for word in every if had[word]] or every
    shown = likely[:_MOST_WORDS]
    shape = Shape.WORDS if words.many else Shape.WORD
    told = [Usual(word, called.get(word, "")) for word in (*shown, *(word for word in every if word not in shown))]
    return _with(question, shape, usual=tuple(told[: len(shown)]), more=tuple(told[len(shown) :]))


def _called(standards: Standards, vocabulary: str) -> dict[str, str]:
    """The words of a vocabulary, each with what it means or what the trade calls it."""
    if vocabulary == "any":
        return {}
    if vocabulary == "interface":
        return dict.fromkeys(standards.interfaces, "")
    terms = standards.vocabularies[vocabulary].terms
    return {term.id: ", ".join(term.also_called) or term.what for term in terms}
