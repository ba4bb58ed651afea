"""From plain YAML values to records: the schema stage and the meaning stage, each problem with its line."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any, TypeVar, get_args

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean, shown, words_there_are
from buildcheck.library.yaml_text import Document, Where
from buildcheck.model.parts import PART_KINDS, Part, Record
from buildcheck.model.parts.base import UNTOLD
from buildcheck.model.quantities import UNKNOWN, Vocabulary, brief

R = TypeVar("R", bound=Record)


# pydantic's words are for programmers; these are for whoever wrote the file.
_EXPECTED = {
    "string_type": "text is expected (a number that is a name goes in quotes)",
    "string_pattern_mismatch": "a name of lower-case letters and digits, joined by - or ., is expected",
    "bool_type": "true or false is expected",
    "float_type": "a plain number is expected",
    "int_type": "a whole number is expected",
    "model_type": "a mapping of keys and values is expected",
    "dict_type": "a mapping of keys and values is expected",
    "tuple_type": "a list is expected",
    "literal_error": "{expected} is expected",
    "enum": "{expected} is expected",
    "greater_than": "a number above {gt:g} is expected",
    "greater_than_equal": "a number of at least {ge:g} is expected",
    "less_than_equal": "a number of at most {le:g} is expected",
}


# Control characters, but for line breaks and tabs, and what XML does not allow either.
_ODD = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x84\x86-\x9f\ufffe\uffff]")
# How JSON writes them; a backslash in a text can look the same.
_ESCAPES = re.compile(r"\\(?:[bfr]|u00[0189]|u007f|ufff[ef])")


class Words:
    """The words of all vocabularies: every neutral id and every name that the trade has for it."""

    def __init__(self, vocabularies: Mapping[str, Mapping[str, str]]) -> None:
        self._words = vocabularies

    def resolve(self, vocabulary: str, word: str) -> str | None:
        """The neutral id of a word, or None. `any` takes each word as it is."""
        if vocabulary == "any":
            return word
        return self._words.get(vocabulary, {}).get(word.casefold())

    def known(self, vocabulary: str) -> list[str]:
        """All words of a vocabulary."""
        return sorted(self._words.get(vocabulary, {}))

    def names(self, vocabulary: str) -> dict[str, list[str]]:
        """The neutral ids of a vocabulary, each with the names that the trade has for it, in lower case."""
        found: dict[str, list[str]] = {}
        for name, own in self._words.get(vocabulary, {}).items():
            found.setdefault(own, []).extend([name] if name != own.casefold() else [])
        return found

    def names_of(self, vocabulary: str, word: str) -> list[str]:
        """A neutral id and the names that the trade has for it."""
        return [word, *self.names(vocabulary).get(word, ())]


def fields_of(record: type[Record]) -> dict[str, FieldInfo]:
    """The fields of a record by the name that files use."""
    return {field.alias or name: field for name, field in record.model_fields.items()}


def validated(record: type[R], value: object, document: Document, path: Where) -> R:
    """The schema stage for one record. Raises InputError with a line for each problem."""
    text = json.dumps(value)
    if _ESCAPES.search(text) and (odd := list(_odd_texts(value, document, path))):
        raise InputError(odd)
    try:
        # By way of JSON, because only there strict means what a file's writer expects: a list may become a
        # tuple, but `yes` is no flag, `true` is no number and "3" is not 3.
        return record.model_validate_json(text, strict=True)
    except ValidationError as error:
        raise InputError(schema_problems(record, error, document, path)) from None


def _odd_texts(value: object, document: Document, path: Where) -> Iterator[Problem]:
    """Texts with characters that no text has, which YAML can write as escapes: they would break a page or a drawing."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from _odd_characters(str(key), document.key_place((*path, key)))
            yield from _odd_texts(inner, document, (*path, key))
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from _odd_texts(inner, document, (*path, index))
    elif isinstance(value, str):
        yield from _odd_characters(value, document.place(path))


def _odd_characters(text: str, place: FileLine) -> Iterator[Problem]:
    found = _ODD.search(text)
    if found:
        why = f"{shown(text)} holds U+{ord(found[0]):04X}, which is a control character: expected plain text"
        yield Problem(place, why, "schema")


def schema_problems(record: type[Record], error: ValidationError, document: Document, path: Where) -> list[Problem]:
    """What pydantic found, in our words and at its place in the file."""
    return [_schema_problem(record, item, document, path) for item in error.errors(include_url=False)]


def _schema_problem(record: type[Record], item: Any, document: Document, path: Where) -> Problem:
    where: Where = (*path, *item["loc"])
    name = str(item["loc"][-1]) if item["loc"] else ""
    if item["type"] == "extra_forbidden":
        owner = _record_at(record, item["loc"][:-1])
        hint = did_you_mean(name, fields_of(owner)) if owner else ""
        return Problem(document.key_place(where), f"{brief(name)} is not known here{hint}", "schema")
    if item["type"] == "missing":
        inside = ".".join(str(step) for step in item["loc"][:-1])
        return Problem(document.place(where[:-1]), f"{name!r} is missing{inside and f' in {inside}'}", "schema")
    text = str(item["msg"]).removeprefix("Value error, ").replace("Input should be", "expected")
    expected = _EXPECTED.get(item["type"])
    if expected is not None:
        text = f"{expected.format(**item.get('ctx', {}))}, not {brief(item['input'])}"
    dotted = ".".join(str(step) for step in item["loc"])
    return Problem(document.place(where), f"{dotted}: {text}" if dotted else text, "schema")


def _record_at(record: type[Record], path: tuple[Any, ...]) -> type[Record] | None:
    current: type[Record] | None = record
    for step in path:
        if isinstance(step, str) and current is not None:
            field = fields_of(current).get(step)
            current = nested_record(field) if field is not None else current
    return current


def nested_record(field: FieldInfo) -> type[Record] | None:
    """The record class inside a field such as `tuple[Passage, ...] | None`."""
    todo: list[Any] = [field.annotation]
    while todo:
        item = todo.pop()
        if isinstance(item, type) and issubclass(item, Record):
            return item
        todo.extend(get_args(item))
    return None


@cache
def _marked_fields(record: type[Record]) -> tuple[tuple[str, str | None, type[Record] | None], ...]:
    """(name in files, vocabulary or None, nested record or None) of the fields the meaning stage looks at."""
    rows = []
    for name, field in fields_of(record).items():
        mark = next((mark.name for mark in field.metadata if isinstance(mark, Vocabulary)), None)
        nested = None if mark else nested_record(field)
        if mark or nested:
            rows.append((name, mark, nested))
    return tuple(rows)


def with_neutral_words(
    record: type[Record], value: dict[str, Any], words: Words, document: Document, path: Where, problems: list[Problem]
) -> dict[str, Any]:
    """The meaning stage for words: trade names become neutral ids; unknown words are added to `problems`."""
    result = dict(value)
    for name, vocabulary, nested in _marked_fields(record):
        raw = value.get(name)
        if raw is None or raw == UNKNOWN:
            continue
        where = (*path, name)
        if vocabulary is not None:
            result[name] = _neutral(raw, vocabulary, words, document, where, problems)
        elif nested is not None and isinstance(raw, (list, tuple)):
            result[name] = [
                with_neutral_words(nested, item, words, document, (*where, index), problems)
                for index, item in enumerate(raw)
            ]
    return result


def _neutral(raw: Any, vocabulary: str, words: Words, document: Document, where: Where, problems: list[Problem]) -> Any:
    if isinstance(raw, (list, tuple)):
        return [
            _neutral(item, vocabulary, words, document, (*where, index), problems) for index, item in enumerate(raw)
        ]
    word = words.resolve(vocabulary, str(raw))
    if word is None:
        there = words_there_are(str(raw), words.names(vocabulary))
        hint = did_you_mean(str(raw), words.known(vocabulary)) + there
        text = f"{brief(str(raw))} is not a word of the vocabulary {vocabulary!r}{hint}"
        problems.append(Problem(document.place(where), text, "meaning"))
        return raw
    return word


def part_class(value: object, document: Document, path: Where) -> type[Part]:
    """The record class for the `kind` that a part record names."""
    if not isinstance(value, dict):
        raise InputError([Problem(document.place(path), "a part record is expected: keys and values", "schema")])
    kind = value.get("kind")
    if not isinstance(kind, str):
        raise InputError([Problem(document.place(path), "'kind' is missing: which kind of part is it?", "schema")])
    if kind not in PART_KINDS:
        hint = did_you_mean(kind, PART_KINDS) or words_there_are(kind, dict.fromkeys(PART_KINDS, ()))
        text = f"{brief(kind)} is not a kind of part{hint}"
        raise InputError([Problem(document.place((*path, "kind")), text, "schema")])
    return PART_KINDS[kind]


def read_part(value: object, document: Document, path: Where, words: Words, openings: frozenset[str]) -> Part:
    """One part record through both stages. Raises InputError with all its problems."""
    record = part_class(value, document, path)
    assert isinstance(value, dict)
    part = validated(record, value, document, path)
    problems: list[Problem] = []
    if not part.has_record():
        text = f"a name that begins with {UNTOLD} is that of a part without a record: choose another"
        problems.append(Problem(document.place((*path, "id")), text, "meaning"))
    neutral = with_neutral_words(record, value, words, document, path, problems)
    problems.extend(opening_problems(part, document, path, openings))
    if problems:
        raise InputError(problems)
    return record.model_validate(neutral)


def opening_problems(part: Part, document: Document, path: Where, openings: frozenset[str]) -> Iterator[Problem]:
    """Passages and places that name an opening which no bike has."""
    for index, passage in enumerate(part.passages or ()):
        for key in ("start", "end"):
            name = getattr(passage, key)
            if name not in openings:
                place: FileLine = document.place((*path, "passages", index, key))
                yield Problem(place, f"{brief(name)} is not an opening{did_you_mean(name, openings)}", "meaning")
    for index, spot in enumerate(part.places):
        if spot.opening is not None and spot.opening not in openings:
            place = document.place((*path, "places", index, "opening"))
            yield Problem(
                place, f"{brief(spot.opening)} is not an opening{did_you_mean(spot.opening, openings)}", "meaning"
            )
