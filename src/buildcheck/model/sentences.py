"""Sentences as data: a template in English and the values in its braces. Each language words them from its own file.

A sentence is never read back: whoever needs a size or a position takes it from the values.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import cached_property
from math import inf
from typing import Any, Protocol

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import core_schema

from buildcheck.model.quantities import Interval

# Which fact a value shows: the position of the part and its attribute.
FactName = tuple[str, str]
_UNIT_ENDINGS = ("_mm2", "_mm", "_deg", "_teeth", "_bar", "_nm", "_mah", "_kg", "_lux")


class _Told:
    """Words itself in English."""

    __slots__ = ()

    def __str__(self) -> str:
        return ENGLISH.value(self)  # type: ignore[arg-type]


@dataclass(frozen=True, slots=True)
class Size(_Told):
    """A number or an interval with its unit; infinite where nobody knows. In a sum it is told `bare`, without unit."""

    low: float
    high: float
    unit: str
    bare: bool = False
    shows: frozenset[FactName] = field(default=frozenset(), compare=False)

    @property
    def unknown(self) -> bool:
        """May it be anything?"""
        return self.low in (-inf, 0) and self.high == inf


@dataclass(frozen=True, slots=True)
class Exact(_Told):
    """A number with all its decimals, even where they are noughts; with its sign, if that is part of it."""

    number: float
    decimals: int
    signed: bool = False


@dataclass(frozen=True, slots=True)
class At(_Told):
    """A position: `front brake line`."""

    position: str


@dataclass(frozen=True, slots=True)
class PartAt(_Told):
    """A position with the name of the part there: `stem (Alder 100)`."""

    position: str
    part: str


@dataclass(frozen=True, slots=True)
class Kind(_Told):
    """A kind of part: `rear derailleur`."""

    kind: str


@dataclass(frozen=True, slots=True)
class Attribute(_Told):
    """An attribute in words: `bar clamp` for bar_clamp_mm."""

    name: str


@dataclass(frozen=True, slots=True)
class Word(_Told):
    """A word of a vocabulary, the value of one fact, or an id of the catalogue: told as it is where no text has it."""

    word: str
    shows: frozenset[FactName] = field(default=frozenset(), compare=False)


@dataclass(frozen=True, slots=True)
class Fixing(_Told):
    """A fastener by the id of its row, with its English name."""

    id: str
    what: str


@dataclass(frozen=True, slots=True)
class Several(_Told):
    """Values one after the other: `a, b and c`. `link` is "and", "or", or the mark between them."""

    values: tuple[Value, ...]
    link: str = "and"


@dataclass(frozen=True, slots=True)
class Sum(_Told):
    """How a figure adds up: `what: frame 150 + stem 40 - spacer 5 = 185 mm`."""

    what: Value
    terms: tuple[tuple[Value, Size], ...]
    total: Size


@dataclass(frozen=True)
class Said:
    """A sentence, or a part of one: an English template and its values by name. `str` words it in English.

    A report in JSON has the English words.
    """

    template: str
    values: tuple[tuple[str, Value], ...] = ()

    def __str__(self) -> str:
        return self._english

    def __bool__(self) -> bool:
        return bool(self.template)

    @cached_property
    def _english(self) -> str:
        return ENGLISH.sentence(self)

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.is_instance_schema(cls, serialization=core_schema.to_string_ser_schema())

    @classmethod
    def __get_pydantic_json_schema__(cls, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"type": "string"}

    @property
    def shows(self) -> frozenset[FactName]:
        """The facts whose values it tells."""
        return frozenset().union(*(_shown_by(value) for _, value in self.values))


Value = Size | Exact | At | PartAt | Kind | Attribute | Word | Fixing | Several | Sum | Said | str | int | float


NOTHING = Said("")


def say(template: str, **values: Value) -> Said:
    """A sentence with values in its braces. The template is the key by which other languages find their own."""
    return Said(template, tuple(values.items()))


def named(value: Value) -> Said:
    """A value by itself."""
    return say("{it}", it=value)


def as_said(text: str | Said) -> Said:
    """A sentence without values may be given as its text."""
    return text if isinstance(text, Said) else Said(text.replace("{", "{{").replace("}", "}}"))


def _shown_by(value: Value) -> frozenset[FactName]:
    if isinstance(value, (Size, Word, Said)):
        return value.shows
    if isinstance(value, Several):
        return frozenset().union(*map(_shown_by, value.values))
    if isinstance(value, Sum):
        return frozenset().union(_shown_by(value.total), *(_shown_by(size) for _, size in value.terms))
    return frozenset()


def attribute_words(attribute: str) -> str:
    """`bar_clamp_mm` as a reader says it: `bar clamp`."""
    for unit in _UNIT_ENDINGS:
        attribute = attribute.removesuffix(unit)
    return attribute.replace("_", " ").replace(".", " ")


class Language(Protocol):
    """What a language has of its own."""

    def template(self, english: str) -> str:
        """The template in this language."""

    def number(self, value: float) -> str:
        """A number as the language writes it."""

    def exact(self, number: float, decimals: int, signed: bool) -> str:
        """A number with all its decimals."""

    def unit(self, unit: str, low: float, high: float) -> str:
        """A unit, for this number or interval of it."""

    def position(self, position: str) -> str:
        """The name of a position."""

    def kind(self, kind: str) -> str:
        """A kind of part."""

    def attribute(self, name: str) -> str:
        """An attribute in words."""

    def word(self, word: str) -> str:
        """A word of a vocabulary, or a phrase of a table."""

    def fixing(self, id: str, english: str) -> str:
        """A fastener."""


class Wording:
    """Puts sentences into the words of one language."""

    def __init__(self, language: Language) -> None:
        self.language = language

    def sentence(self, said: Said) -> str:
        """A whole sentence, its first letter a capital where the template has one."""
        values = {name: self.value(value) for name, value in said.values}
        template = self.language.template(said.template)
        text = template.format(**values) if said.values else template.replace("{{", "{").replace("}}", "}")
        return text[:1].upper() + text[1:] if template.startswith("{") and template.endswith(".") else text

    def value(self, value: Value) -> str:
        """One value of a sentence."""
        match value:
            case str():
                return value
            case Said():
                return self.sentence(value)
            case Size():
                return self.size(value)
            case Several(values, link):
                return self.several([self.value(each) for each in values], link)
            case Sum(what, terms, total):
                return self._sum(what, terms, total)
            case _:
                return self._name(value)

    def _name(self, value: Exact | At | PartAt | Kind | Attribute | Word | Fixing | float) -> str:
        language = self.language
        match value:
            case Exact(number, decimals, signed):
                return language.exact(number, decimals, signed)
            case At(position):
                return language.position(position)
            case PartAt(position, part):
                return f"{language.position(position)} ({part})"
            case Kind(kind):
                return language.kind(kind)
            case Attribute(name):
                return language.attribute(name)
            case Word(word):
                return language.word(word)
            case Fixing(id, english):
                return language.fixing(id, english)
            case _:
                return language.number(value)

    def several(self, words: Iterable[str], link: str = "and") -> str:
        """`a, b and c` in this language."""
        *others, last = words or [""]
        if link not in ("and", "or"):
            return link.join([*others, last])
        return f"{', '.join(others)} {self.language.template(link)} {last}" if others else last

    def size(self, size: Size) -> str:
        """A size with its unit; what is not known is said to be so."""
        if size.bare:
            return self._bare(size)
        unit = self.language.unit(size.unit, size.low, size.high)
        if size.unknown:
            return self.language.template("an unknown number of {unit}").format(unit=unit).strip()
        if size.low == -inf:
            return self._with(self.language.template("at most {number} {unit}"), size.high, unit)
        if size.high == inf:
            return self._with(self.language.template("at least {number} {unit}"), size.low, unit)
        return f"{self._between(size.low, size.high)} {unit}".rstrip()

    def _with(self, template: str, number: float, unit: str) -> str:
        return template.format(number=self.language.number(number), unit=unit).rstrip()

    def _between(self, low: float, high: float) -> str:
        number = self.language.number
        if low == high:
            return number(low)
        return self.language.template("{low}..{high}").format(low=number(low), high=number(high))

    def _bare(self, size: Size) -> str:
        if size.unknown:
            return "?"
        if size.low == -inf:
            return self._with(self.language.template("at most {number} {unit}"), size.high, "")
        if size.high == inf:
            return self.language.number(size.low)
        return self._between(size.low, size.high)

    def _sum(self, what: Value, terms: Iterable[tuple[Value, Size]], total: Size) -> str:
        told = " ".join(self._term(name, size) for name, size in terms).removeprefix("+ ") or "0"
        return f"{self.value(what)}: {told} = {self.size(total)}"

    def _term(self, name: Value, size: Size) -> str:
        if size.high < 0:
            return f"- {self.value(name)} {self._bare(Size(-size.high, -size.low, ''))}"
        return f"+ {self.value(name)} {self._bare(size)}"


class _English:
    """English, which the templates are written in."""

    def template(self, english: str) -> str:
        return english

    def number(self, value: float) -> str:
        return f"{value:g}"

    def exact(self, number: float, decimals: int, signed: bool) -> str:
        return f"{number:+.{decimals}f}" if signed else f"{number:.{decimals}f}"

    def unit(self, unit: str, low: float, high: float) -> str:
        return unit

    def position(self, position: str) -> str:
        return position.replace("-", " ")

    def kind(self, kind: str) -> str:
        return kind.replace("-", " ")

    def attribute(self, name: str) -> str:
        return attribute_words(name)

    def word(self, word: str) -> str:
        return word

    def fixing(self, id: str, english: str) -> str:
        return english


ENGLISH = Wording(_English())


def shown(value: Any) -> str:
    """A value in words: numbers without needless zeros, words joined by `or`."""
    if isinstance(value, str):  # the usual case
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, Interval):
        return str(value)
    if isinstance(value, float):
        return f"{value:g}"
    if isinstance(value, tuple):
        return " or ".join(str(item) for item in value) or "none"
    return str(value)

