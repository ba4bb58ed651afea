"""What one attribute of a part can hold: a value, an interval, a word, a set of words, a flag, or unknown.

Unknown is `None` everywhere. In files a number may be written `31.8`, an interval `7.9..8.3`, and an
unknown fact `unknown` (or left out). A known number is the interval whose ends are equal, so the rules
need only one kind of arithmetic.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any

from pydantic import GetCoreSchemaHandler, GetJsonSchemaHandler
from pydantic_core import core_schema

UNKNOWN = "unknown"
LARGEST = 1e6  # beyond any size, weight or price of a bicycle part, in any of the units
_LONGEST_SHOWN = 60
_LONGEST_COUNT = 1e6
_NUMBER = r"[+-]?(?:[0-9]+(?:\.[0-9]*)?|\.[0-9]+)(?:[eE][+-]?[0-9]+)?"
INTERVAL_PATTERN = rf"^\s*{_NUMBER}\s*\.\.\s*{_NUMBER}\s*$"
_INTERVAL = re.compile(rf"^\s*({_NUMBER})\s*\.\.\s*({_NUMBER})\s*$")
_NUMBER_WITH_UNIT = re.compile(rf"^\s*{_NUMBER}\s*[A-Za-z°µ\"'/·²³]+\s*$")


def brief(raw: object) -> str:
    """A value for a message: as its file has it, but never the whole of a long one."""
    if isinstance(raw, (dict, list, tuple)):
        return "a mapping" if isinstance(raw, dict) else "a list"
    text = json.dumps(raw) if raw is None or isinstance(raw, bool) else repr(raw)
    return text if len(text) <= _LONGEST_SHOWN else text[: _LONGEST_SHOWN - 1] + "…"


def count(number: float) -> str:
    """A count for a reader: `1,296`, or `3.4 x 10^25` where nobody would read the digits."""
    if number < _LONGEST_COUNT:
        return f"{number:,.0f}"
    digits, _, power = f"{number:.1e}".partition("e")
    return f"{digits} x 10^{int(power)}"


@dataclass(frozen=True, slots=True)
class Interval:
    """A closed interval of one quantity; `low == high` is a known value."""

    low: float
    high: float

    def __str__(self) -> str:
        if math.isinf(self.high):
            return f"{self.low:g} or more"
        return f"{self.low:g}" if self.low == self.high else f"{self.low:g}..{self.high:g}"


def parse_interval(raw: Any, minimum: float, unit: str) -> Interval | None:
    """Read one number, `low..high`, or unknown. Raises ValueError with what was expected."""
    if raw is None or raw == UNKNOWN:
        return None
    if isinstance(raw, Interval):
        low, high = raw.low, raw.high
    elif isinstance(raw, (int, float)) and not isinstance(raw, bool):
        low = high = float(raw)
    elif isinstance(raw, str) and (match := _INTERVAL.match(raw)):
        low, high = float(match[1]), float(match[2])
    elif isinstance(raw, str) and _NUMBER_WITH_UNIT.match(raw):
        raise ValueError(
            f"a plain number is expected, the unit ({unit}) stands in the attribute's name; {brief(raw)} carries a unit"
        )
    else:
        raise ValueError(f"a number in {unit}, an interval such as 7.9..8.3, or unknown is expected, not {brief(raw)}")
    if not (math.isfinite(low) and math.isfinite(high)):
        raise ValueError(f"a finite number in {unit} is expected, not {brief(raw)}")
    if max(abs(low), abs(high)) > LARGEST:
        raise ValueError(f"{brief(raw)} {unit} is no size of a bicycle")
    if low > high:
        raise ValueError(f"an interval runs from low to high; {brief(raw)} runs backwards")
    if low < minimum:
        raise ValueError(f"{low:g} {unit} is not possible here: at least {minimum:g} {unit} is expected")
    return Interval(low, high)


def plain_interval(value: Interval | None) -> float | str | None:
    """The form an interval has in files: a number, `low..high`, or None."""
    if value is None:
        return None
    return value.low if value.low == value.high else f"{value.low!r}..{value.high!r}"


@dataclass(frozen=True, slots=True)
class Unit:
    """Marks a field as a number of this unit: a value, an interval, or unknown."""

    name: str
    minimum: float = 0.0

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        def read(raw: Any) -> Interval | None:
            return parse_interval(raw, self.minimum, self.name)

        return core_schema.no_info_plain_validator_function(
            read, serialization=core_schema.plain_serializer_function_ser_schema(plain_interval)
        )

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        number: dict[str, Any] = {"type": "number"}
        if math.isfinite(self.minimum):
            number["minimum"] = self.minimum
        interval = {"x-shared": "interval", "type": "string", "pattern": INTERVAL_PATTERN}
        return {
            "x-shared": f"amount-from-{self.minimum:g}" if "minimum" in number else "amount",
            "description": f"in {self.name}: a number, an interval low..high, or unknown",
            "anyOf": [number, interval, {"const": UNKNOWN}, {"type": "null"}],
        }


@dataclass(frozen=True, slots=True)
class Vocabulary:
    """Marks a field whose word, or words, come from one vocabulary of catalog/standards, or unknown.

    A field of type `str` without None must be known.
    """

    name: str
    many: bool = False

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        read = _known_word if source is str else _read_words if self.many else _read_word
        return core_schema.no_info_plain_validator_function(read)

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        word = {"type": ["string", "number"], "x-vocabulary": self.name}
        if schema["function"]["function"] is _known_word:
            return {"allOf": [word], "not": {"const": UNKNOWN}}
        several = [{"type": "array", "items": word, "minItems": 1}] if self.many else []
        return {"anyOf": [*several, word, {"type": "null"}]}


class _FlagField:
    """Marks a field that is true, false or unknown."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> core_schema.CoreSchema:
        return core_schema.no_info_plain_validator_function(_read_flag)

    def __get_pydantic_json_schema__(self, schema: Any, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        return {"x-shared": "flag", "anyOf": [{"type": "boolean"}, {"const": UNKNOWN}, {"type": "null"}]}


def is_fact(marks: Iterable[object]) -> bool:
    """Do the marks of a field make it a fact: a number with its unit, a word of a vocabulary, or a flag?"""
    return any(isinstance(mark, (Unit, Vocabulary, _FlagField)) for mark in marks)


def is_flag(marks: Iterable[object]) -> bool:
    """Do the marks of a field make it a flag, whose words are yes and no?"""
    return any(isinstance(mark, _FlagField) for mark in marks)


def _one_word(raw: Any) -> str:
    if isinstance(raw, bool) or not isinstance(raw, (str, int, float)) or str(raw).strip() == "":
        raise ValueError(f"one word is expected, not {brief(raw)}")
    return str(raw).strip()


def _read_word(raw: Any) -> str | None:
    return None if raw is None or raw == UNKNOWN else _one_word(raw)


def _known_word(raw: Any) -> str:
    word = _read_word(raw)
    if word is None:
        raise ValueError(f"one word is expected, not {brief(raw)}: this must be known")
    return word


def _read_words(raw: Any) -> tuple[str, ...] | None:
    if raw is None or raw == UNKNOWN:
        return None
    items = raw if isinstance(raw, (list, tuple)) else [raw]
    if not items:
        raise ValueError("at least one word is expected; leave the attribute out if it is not known")
    return tuple(sorted({_one_word(item) for item in items}))


def _read_flag(raw: Any) -> bool | None:
    if raw is None or raw == UNKNOWN:
        return None
    if not isinstance(raw, bool):
        raise ValueError(f"true, false or unknown is expected, not {brief(raw)}")
    return raw


Mm = Annotated[Interval | None, Unit("mm")]
SignedMm = Annotated[Interval | None, Unit("mm", -math.inf)]
AnySize = Annotated[Interval | None, Unit("the unit of its attribute", -math.inf)]
Mm2 = Annotated[Interval | None, Unit("mm²")]
Deg = Annotated[Interval | None, Unit("deg", -180.0)]
Gram = Annotated[Interval | None, Unit("g")]
Kg = Annotated[Interval | None, Unit("kg")]
Teeth = Annotated[Interval | None, Unit("teeth")]
Count = Annotated[Interval | None, Unit("pieces")]
Speeds = Annotated[Interval | None, Unit("speeds", 1.0)]
Links = Annotated[Interval | None, Unit("links")]
NewtonMetre = Annotated[Interval | None, Unit("N·m")]
Bar = Annotated[Interval | None, Unit("bar")]
Lux = Annotated[Interval | None, Unit("lux")]
Ratio = Annotated[Interval | None, Unit("to 1")]
WordFact = str | None
WordsFact = tuple[str, ...] | None
Flag = Annotated[bool | None, _FlagField()]
