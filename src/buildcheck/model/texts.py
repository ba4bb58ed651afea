"""Texts of one language for one reader: labels and words, numbers, money, dates and durations."""

from __future__ import annotations

from datetime import date
from functools import cached_property
from string import Formatter
from typing import Literal

from babel.dates import format_date
from babel.numbers import format_currency, format_decimal
from pydantic import Field

from buildcheck.model.parts.base import Record
from buildcheck.model.sentences import Said, Wording, attribute_words

Audience = Literal["mechanic", "customer"]
Words = dict[str, str]


class Spoken(Record):
    """One thing in the words of the bench and in plain words.

    `mechanic` is left out for an operation in English, which its row tells.
    """

    mechanic: str | None = None
    customer: str


class Advised(Record):
    """Something worth doing while the bike is open, and why, in the words of the bench and in plain words.

    `mechanic` and `why` are left out in English, which the row tells.
    """

    mechanic: str | None = None
    why: str | None = None
    customer: str


class Counted(Record):
    """A unit in the singular and in the plural."""

    one: str
    many: str


class TextFile(Record):
    """One file of texts. What an English table says already is not repeated in the English file.

    `sentences` go by their English templates; `words`, `tools` and the other sections of `PHRASES` by their English
    words; `measure` by attribute and then by the kinds of its row, `any` for a row without kinds. The other sections
    go by ids, `attributes` by the names that parts' files have for them.
    """

    locale: str | None = Field(default=None, description="how numbers, money and dates are written, such as en_GB")
    labels: Words = Field(default_factory=dict, description="headings, labels and sentences of the job card")
    phases: dict[str, Spoken] = Field(default_factory=dict)
    levels: dict[str, Spoken] = Field(default_factory=dict)
    verdicts: dict[str, Spoken] = Field(default_factory=dict)
    positions: dict[str, Spoken] = Field(default_factory=dict)
    kinds: Words = Field(default_factory=dict, description="kinds of part")
    operations: dict[str, Spoken] = Field(default_factory=dict)
    outcomes: dict[str, Spoken] = Field(default_factory=dict, description="what comes of a job that no verdict tells")
    findings: Words = Field(default_factory=dict, description="why it makes more work or stops the job, in plain words")
    risks: Words = Field(default_factory=dict, description="the same as a caution, where that is told in other words")
    sentences: Words = Field(default_factory=dict, description="sentences, by their English with its braces")
    attributes: Words = Field(default_factory=dict, description="attributes of parts in words, by their names")
    words: Words = Field(default_factory=dict, description="words of the vocabularies that are plain English")
    units: dict[str, Counted] = Field(default_factory=dict)
    tools: Words = Field(default_factory=dict)
    consumables: Words = Field(default_factory=dict)
    wrenches: Words = Field(default_factory=dict)
    compounds: Words = Field(default_factory=dict)
    finals: Words = Field(default_factory=dict)
    records: Words = Field(default_factory=dict)
    conditions: Words = Field(default_factory=dict)
    sources: Words = Field(default_factory=dict, description="where the figures of fasteners and slow work come from")
    cautions: Words = Field(default_factory=dict)
    fasteners: Words = Field(default_factory=dict)
    advice: dict[str, Advised] = Field(default_factory=dict)
    drawings: Words = Field(default_factory=dict)
    measure: dict[str, Words] = Field(default_factory=dict)


# Templates that are nothing but a value, and units that are the same in every language.
_VALUES_ALONE = frozenset({"", "{it}", "{sum}"})
_SYMBOLS = frozenset({"", "mm", "mm²", "deg", "bar", "N·m", "kg", "g", "N", "%", "Wh", "V", "mAh", "W", "km/h"})
# What the tables and the planning say in English words, without an id.
PHRASES = (
    "words", "tools", "consumables", "wrenches", "compounds", "finals", "records", "conditions", "sources", "cautions",
)  # fmt: skip


def placeholders(text: str) -> frozenset[str]:
    """The names in braces in a text. Raises ValueError for a brace without its partner."""
    return frozenset(name for _, name, _, _ in Formatter().parse(text) if name is not None)


class Texts:
    """The texts of one language. What it lacks is told in English; `strict` makes it an error, for tests.

    `own` and `english` are whole files. Every method that takes a `fallback` gives it where neither has the text.
    """

    def __init__(self, language: str, own: TextFile, english: TextFile, *, strict: bool = False) -> None:
        self.language = language
        self.locale = own.locale or english.locale or "en_GB"
        self.strict = strict
        self._own = own
        self._english = english

    def label(self, key: str, **values: object) -> str:
        """A label or sentence with the values in its placeholders. Raises KeyError for a key that is nowhere."""
        return self._word("labels", key, None).format(**values)

    def drawing(self, key: str, fallback: str) -> str:
        """A label of a drawing, its placeholders still in it; the fallback is the English."""
        return self._word("drawings", key, fallback)

    def operation(self, name: str, audience: Audience, fallback: str) -> str:
        """What is done in an operation; the fallback is `what` of its row, which is the English for mechanics.

        `name` may carry its position behind an @.
        """
        return self._spoken("operations", name.partition("@")[0], audience, fallback)

    def finding(self, name: str) -> str:
        """Why a finding makes more work, or stops the job, in plain words."""
        return self._word("findings", name, name.replace("-", " "))

    def risk(self, name: str) -> str:
        """A finding as a caution for the rider, in plain words."""
        return self._word("risks", name, "") if name in self._english.risks else self.finding(name)

    def position(self, name: str, audience: Audience = "mechanic") -> str:
        """A position; `spacer-2` is number 2 of those that are called `spacer`."""
        ends = self._ends_of(name)
        if ends is not None:
            start, end = (self.position(each, audience) for each in ends)
            return self.label("between", what=self.position("wire", audience), start=start, end=end)
        row = self._row_of(name)
        if row is None:
            return self._missing("positions", name, name.replace("-", " "))
        what = self._spoken("positions", row, audience, row)
        rest = name[len(row) + 1 :]
        if not rest:
            return what
        which = self.position(rest, audience) if rest in self._english.positions else rest.replace("-", " ")
        return self.label("numbered" if rest.isdigit() else "named", what=what, which=which)

    def _ends_of(self, position: str) -> tuple[str, str] | None:
        """Where a wire leads by its name, such as `wire-battery-to-junction-1`."""
        words = position.removeprefix("wire-").split("-to-") if position.startswith("wire-") else []
        pairs = (("-to-".join(words[:number]), "-to-".join(words[number:])) for number in range(1, len(words)))
        return next((pair for pair in pairs if all(map(self._row_of, pair))), None)

    def _row_of(self, position: str) -> str | None:
        """The longest beginning of its name that has a text."""
        row = position
        while row and row not in self._english.positions:
            row = row.rpartition("-")[0]
        return row or None

    def phase(self, name: str, audience: Audience = "mechanic") -> str:
        """A phase of the work."""
        return self._spoken("phases", name, audience, name)

    def level(self, name: str, audience: Audience = "mechanic") -> str:
        """How serious a finding is."""
        return self._spoken("levels", name, audience, name)

    def verdict(self, name: str, audience: Audience = "mechanic") -> str:
        """The outcome for the whole bike."""
        return self._spoken("verdicts", name, audience, name)

    def outcome(self, name: str, audience: Audience = "mechanic") -> str:
        """What comes of a job where the verdict for the bike does not tell it."""
        return self._spoken("outcomes", name, audience, name)

    def kind(self, name: str) -> str:
        """A kind of part."""
        return self._word("kinds", name, name.replace("-", " "))

    def told(self, what: Said | str) -> str:
        """A sentence in this language, or words of a table by their English: phrases parted by `; ` are told apart.

        What is not known is told in English.
        """
        if isinstance(what, Said):
            return self.wording.sentence(what)
        return "; ".join(map(self.word, what.split("; ")))

    def word(self, word: str) -> str:
        """A phrase of a table, or a word of a vocabulary."""
        if self._own is self._english:
            return word
        return next((found for section in PHRASES if (found := getattr(self._own, section).get(word))), word)

    @cached_property
    def wording(self) -> Wording:
        """Puts sentences into the words of this language."""
        return Wording(self)

    def template(self, english: str) -> str:
        """The sentence of this language for an English template."""
        if self._own is self._english or english in _VALUES_ALONE:
            return english
        return self._own.sentences.get(english) or self._missing("sentences", english, english)

    def attribute(self, name: str) -> str:
        """An attribute of a part in words."""
        if self._own is self._english:
            return attribute_words(name)
        own = self._own.attributes
        found = own.get(name) or own.get(name.rpartition(".")[2])
        return found or self._missing("attributes", name, attribute_words(name))

    def fixing(self, id: str, english: str) -> str:
        """A fastener by the id of its row."""
        return self._word("fasteners", id, english)

    def why(self, words: Said | str) -> str:
        """A reason: the name of a finding that calls for an operation, or a sentence."""
        return self.finding(words) if isinstance(words, str) else self.told(words)

    def advice(self, name: str, fallback: str, audience: Audience = "mechanic") -> str:
        """Something worth doing while the bike is open, by its id; the fallback is the English for mechanics."""
        return self._spoken("advice", name, audience, fallback)

    def advice_why(self, name: str, fallback: str) -> str:
        """Why it is worth doing, in the words of the bench."""
        found = self._own.advice.get(name)
        return (found.why if found is not None else None) or fallback

    def unit(self, word: str, low: float = 2, high: float | None = None) -> str:
        """A unit, in the singular for one; a symbol such as mm is the same in every language."""
        found = self._own.units.get(word) or (None if self.strict else self._english.units.get(word))
        if found is None:
            return word if word in _SYMBOLS else self._missing("units", word, word)
        return found.one if low == 1 and high in (None, 1) else found.many

    def quantity(self, amount: float, unit: str) -> str:
        """`20 ml`, `1 piece`."""
        return f"{self.number(amount)}\N{NO-BREAK SPACE}{self.unit(unit, amount)}"

    def measure(self, attribute: str, kind: str, fallback: str) -> str:
        """How a missing fact is measured; the fallback is `how` of the row, which is the English text.

        A size inside a list of a part goes by the list and its last word, or by its last word, as the rows do.
        """
        last = attribute.rpartition(".")[2]
        for name in (attribute, f"{attribute.partition('.')[0]}.{last}", last, "*"):
            for kinds, text in self._own.measure.get(name, {}).items():
                if kinds == "any" or kind in kinds.split():
                    return text
        return fallback

    def number(self, value: float, digits: int = 3) -> str:
        """A number with at most so many digits after the point or comma, and none that are needless."""
        return str(format_decimal(round(value, digits), format=f"#,##0.{'#' * digits}", locale=self.locale))

    def exact(self, number: float, decimals: int, signed: bool) -> str:
        """A number with all its decimals."""
        digits = f"#,##0{'.' * bool(decimals)}{'0' * decimals}"
        return str(format_decimal(number, format=f"+{digits};-{digits}" if signed else digits, locale=self.locale))

    def money(self, euros: float | None) -> str:
        """A price in euros; None is unknown."""
        if euros is None:
            return self.label("price-unknown")
        return str(format_currency(euros, "EUR", locale=self.locale))

    def date(self, text: str) -> str:
        """A date: 2026-12-04 in the way of the language, any other words as they are."""
        try:
            day = date.fromisoformat(text)
        except ValueError:
            return text
        return str(format_date(day, "full", locale=self.locale))

    def duration(self, minutes: float) -> str:
        """A time: `8 h 18 min`; under an hour only the minutes, and no minutes where there are none."""
        hours, rest = divmod(round(minutes), 60)
        if not hours:
            return self.label("duration-minutes", minutes=rest)
        return self.label("duration-hours" if not rest else "duration", hours=self.number(hours), minutes=rest)

    def _spoken(self, section: str, key: str, audience: Audience, fallback: str) -> str:
        own: Spoken | None = getattr(self._own, section).get(key)
        english: Spoken | None = getattr(self._english, section).get(key)
        # The English for mechanics stands in the tables, so for them the fallback is as good as a text.
        needless = audience == "mechanic" and self._own is self._english
        if own is None and self.strict and not needless:
            return self._missing(section, key, fallback)
        for found in (own, english):
            text = getattr(found, audience, None)
            if text is not None:
                return str(text)
        return fallback

    def _word(self, section: str, key: str, fallback: str | None) -> str:
        own: Words = getattr(self._own, section)
        if key in own:
            return own[key]
        english: Words = getattr(self._english, section)
        if self._own is self._english and fallback is not None:
            return fallback
        return self._missing(section, key, english.get(key, fallback))

    def _missing(self, section: str, key: str, fallback: str | None) -> str:
        if self.strict or fallback is None:
            raise KeyError(f"no text {key!r} in {section} of {self.language}")
        return fallback
