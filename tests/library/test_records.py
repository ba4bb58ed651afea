"""Records: what a number, an interval, a word and a flag may be; that what is written reads back the same."""

from __future__ import annotations

import json
import math
import re
from functools import cache
from typing import Any, get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from buildcheck.library.catalogue import Catalogue, load
from buildcheck.library.problems import InputError
from buildcheck.library.rebuild import rebuilt
from buildcheck.library.records import fields_of, nested_record, read_part, validated
from buildcheck.library.yaml_text import read_document
from buildcheck.model.parts import PART_KINDS, Part, Record
from buildcheck.model.quantities import (
    LARGEST,
    Flag,
    Interval,
    Unit,
    Vocabulary,
    _FlagField,
    brief,
    parse_interval,
    plain_interval,
)

# ---- numbers and intervals ----


@pytest.mark.parametrize(
    ("raw", "low", "high"),
    [
        (31.8, 31.8, 31.8), (0, 0, 0), ("7.9..8.3", 7.9, 8.3), (" 7.9 .. 8.3 ", 7.9, 8.3), ("-6..+6", -6, 6),
        (".5..5.", 0.5, 5), ("1e-3..2E+2", 0.001, 200), ("8..8", 8, 8), (Interval(1, 2), 1, 2),
    ],
)  # fmt: skip
def test_a_number_or_an_interval(raw: object, low: float, high: float) -> None:
    assert parse_interval(raw, -math.inf, "mm") == Interval(low, high)


@pytest.mark.parametrize("raw", [None, "unknown"])
def test_nobody_knows(raw: object) -> None:
    assert parse_interval(raw, 0, "mm") is None


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        ("31.8 mm", "the unit (mm) stands in the attribute's name"), ("31.8mm", "carries a unit"),
        ('1.25"', "carries a unit"), ("8°", "carries a unit"), ("1 1/8", "a number in mm, an interval"),
        ("31,8", "a number in mm, an interval"), ("7.9...8.3.1", "a number in mm"), ("7.9..", "a number in mm"),
        ("..8", "a number in mm"), ("7.9", "a number in mm"), ("", "a number in mm"), ("Unknown", "a number in mm"),
        ("٣..٤", "a number in mm"), (True, "not true"), ([1, 2], "not a list"), ({"low": 1}, "not a mapping"),
        (math.nan, "a finite number"), (math.inf, "a finite number"), ("1e400..2e400", "a finite number"),
        (Interval(0, math.inf), "a finite number"), ("8.3..7.9", "runs backwards"), (-0.1, "at least 0 mm"),
        ("-1..1", "at least 0 mm"), ("x" * 9999, "xxx…"), (2e6, "no size of a bicycle"),
        ("0..1e9", "no size of a bicycle"),
    ],
)  # fmt: skip
def test_what_is_no_number_is_told_why(raw: object, why: str) -> None:
    with pytest.raises(ValueError, match=re.escape(why)) as caught:
        parse_interval(raw, 0, "mm")
    assert len(str(caught.value)) < 200


FINITE = st.floats(-LARGEST, LARGEST)


@given(FINITE, FINITE)
def test_intervals_read_back_as_they_are_written(one: float, other: float) -> None:
    interval = Interval(min(one, other), max(one, other))
    written = plain_interval(interval)
    assert parse_interval(written, -math.inf, "mm") == interval
    text = f"length_mm: {json.dumps(written)}\n"
    value = read_document(text, "f").value
    assert isinstance(value, dict)
    assert parse_interval(value["length_mm"], -math.inf, "mm") == interval


@given(st.floats(0, 1e6), st.floats(0, 1e6), st.floats(0, 1e6))
def test_the_lower_bound_holds_for_all_of_an_interval(low: float, high: float, minimum: float) -> None:
    low, high = sorted((low, high))
    if low < minimum:
        with pytest.raises(ValueError, match="at least"):
            parse_interval(f"{low!r}..{high!r}", minimum, "mm")
    else:
        assert parse_interval(f"{low!r}..{high!r}", minimum, "mm") == Interval(low, high)


def test_how_an_interval_is_shown() -> None:
    assert str(Interval(31.8, 31.8)) == "31.8"
    assert str(Interval(7.9, 8.3)) == "7.9..8.3"
    assert plain_interval(None) is None


# ---- words and flags ----


def test_flags_are_true_false_or_unknown() -> None:
    flag = TypeAdapter(Flag)
    assert [flag.validate_python(raw) for raw in (True, False, None, "unknown")] == [True, False, None, None]
    for raw in ("no", "true", 1, 0, []):
        with pytest.raises(ValidationError, match="true, false or unknown is expected"):
            flag.validate_python(raw)


def test_words_are_text_or_numbers() -> None:
    one = TypeAdapter(fields_of(PART_KINDS["stem"])["base_section"].rebuild_annotation())
    many = TypeAdapter(fields_of(PART_KINDS["frame"])["rear_brake_mount"].rebuild_annotation())
    words = ("round", " round ", 622, 27.2, "unknown")
    assert [one.validate_python(raw) for raw in words] == ["round", "round", "622", "27.2", None]
    assert many.validate_python(["b", "a", "b"]) == ("a", "b")
    assert many.validate_python("a") == ("a",)
    for adapter in (one, many):
        for raw in (True, "", "  ", {"a": 1}, [["a"]]):
            with pytest.raises(ValidationError, match="one word is expected"):
                adapter.validate_python(raw)
    with pytest.raises(ValidationError, match="at least one word"):
        many.validate_python([])


def test_brief() -> None:
    values = ["a", 3, True, None, [1], (1,), {"a": 1}, "x" * 100]
    assert [brief(value) for value in values[:-1]] == ["'a'", "3", "true", "null", "a list", "a list", "a mapping"]
    assert len(brief(values[-1])) == 60


# ---- whole records ----


@cache
def _catalogue() -> Catalogue:
    return load()


def _openings() -> st.SearchStrategy[str]:
    return st.sampled_from(sorted(_catalogue().openings))


NAMES = st.from_regex(r"[a-z0-9]+(-[a-z0-9]+)?", fullmatch=True).filter(lambda name: len(name) < 20)
TEXT = st.text(st.characters(exclude_categories=["Cc", "Cs"], exclude_characters="\u2028\u2029"), max_size=20)


def _intervals(unit: Unit) -> st.SearchStrategy[object]:
    least = max(unit.minimum, -1e6)
    number = st.floats(least, 1e6)
    pair = st.tuples(number, number).map(lambda ends: f"{min(ends)!r}..{max(ends)!r}")
    return number | st.integers(int(least), 1000) | pair | st.sampled_from(["unknown", None])


def _words(mark: Vocabulary, needed: bool) -> st.SearchStrategy[object]:
    known = _catalogue().words.known(mark.name) or ["anything"]
    word = st.sampled_from(known)
    choice: st.SearchStrategy[object] = st.lists(word, min_size=1, max_size=3) | word if mark.many else word
    return choice if needed else choice | st.just("unknown")


_BY_NAME: dict[str, st.SearchStrategy[object]] = {
    "id": NAMES,
    "code": st.sampled_from(["IS42/28.6", "ec34/30", "unknown"]),
    "sprockets": st.lists(st.integers(8, 60), max_size=13),
    "gear_ratios": st.lists(st.floats(0.2, 4), max_size=14),
}


def _field(name: str, field: Any) -> st.SearchStrategy[object]:
    for mark in field.metadata:
        if isinstance(mark, Unit):
            return _intervals(mark)
        if isinstance(mark, Vocabulary):
            return _words(mark, field.is_required())
        if isinstance(mark, _FlagField):
            return st.sampled_from([True, False, "unknown", None])
    nested = nested_record(field)
    if nested is not None and name != "bore":
        return st.lists(records(nested), max_size=2, unique_by=lambda row: row.get("id", id(row)))
    if name == "bore":
        return st.sampled_from(
            [{"shape": "open"}, {"shape": "round", "diameter_mm": "5..6"}, {"shape": "irregular", "inscribed_mm": 8},
             {"shape": "slot", "width_mm": 9, "height_mm": 5.5}]
        )  # fmt: skip
    if name in ("start", "end", "opening"):
        return _openings()
    return _BY_NAME[name] if name in _BY_NAME else _plain(name, field.annotation)


def _plain(name: str, annotation: Any) -> st.SearchStrategy[object]:
    literals = [value for value in _leaves(annotation) if isinstance(value, str)]
    if name == "carries":
        return st.lists(st.sampled_from(literals), min_size=1, max_size=3)
    if literals:
        return st.sampled_from(literals)
    types = set(_leaves(annotation))
    if bool in types:
        return st.booleans()
    if float in types:
        return st.floats(0, 1e5)
    if int in types:
        return st.integers(1, 12)
    assert str in types, (name, annotation)
    return TEXT


def _leaves(annotation: Any) -> list[Any]:
    inner = get_args(annotation)
    return [leaf for item in inner for leaf in _leaves(item)] if inner else [annotation]


@st.composite
def records(draw: st.DrawFn, record: type[Record]) -> dict[str, Any]:
    """The raw form of a random good record: what is needed, and some of the rest."""
    value = {}
    for name, field in fields_of(record).items():
        if field.is_required() or draw(st.integers(0, 3)) == 0:
            value[name] = draw(_field(name, field))
    return value


KINDS = st.sampled_from(sorted(PART_KINDS))


@st.composite
def raw_parts(draw: st.DrawFn) -> dict[str, Any]:
    kind = draw(KINDS)
    return {**draw(records(PART_KINDS[kind])), "kind": kind}


def read(raw: object) -> Part:
    text = json.dumps({"parts": [raw]}, indent=1)
    document = read_document(text, "parts.yaml")
    value: Any = document.value
    return read_part(value["parts"][0], document, ("parts", 0), _catalogue().words, _catalogue().openings)


@given(raw_parts())
def test_random_parts_survive_being_written_and_read(raw: dict[str, Any]) -> None:
    part = read(raw)
    written = part.model_dump(mode="json", by_alias=True, exclude_unset=True)
    for again in (read(written), rebuilt(type(part), json.loads(json.dumps(written)))):
        assert again == part
        assert again.model_fields_set == part.model_fields_set
        assert again.model_dump(mode="json", by_alias=True, exclude_unset=True) == written


@given(raw_parts(), st.data())
def test_random_parts_with_one_fault_are_refused_at_its_line(raw: dict[str, Any], data: st.DataObject) -> None:
    read(raw)
    name = data.draw(st.sampled_from(sorted(set(raw) - {"kind"})))
    bad = data.draw(st.sampled_from([{"no": {"such": "thing"}}, [[["deep"]]]]))
    text = json.dumps({"parts": [{**raw, name: bad}]}, indent=1)
    document = read_document(text, "parts.yaml")
    with pytest.raises(InputError) as caught:
        read(raw | {name: bad})
    line = document.key_place(("parts", 0, name)).line
    assert any(problem.place.line in range(line, line + 4) for problem in caught.value.problems)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("3", "1:1: schema: a mapping of keys and values is expected, not 3"),
        ("{supplier: a, price_eur: 1, in_stock: '3'}", "1:39: schema: in_stock: a whole number is expected, not '3'"),
        ("{supplier: a, price_eur: 1, in_stock: true}", "1:39: schema: in_stock: a whole number is expected, not true"),
        ("{supplier: a, price_eur: '1'}", "1:26: schema: price_eur: a plain number is expected, not '1'"),
        ("{supplier: 1, price_eur: 1}", "1:12: schema: supplier: text is expected"),
        ("{suplier: a, price_eur: 1}", "1:1: schema: 'supplier' is missing"),
    ],
)
def test_nothing_is_taken_for_what_it_is_not(text: str, why: str) -> None:
    document = read_document(text, "f")
    offer = nested_record(fields_of(PART_KINDS["stem"])["offers"])
    assert offer is not None
    with pytest.raises(InputError) as caught:
        validated(offer, document.value, document, ())
    assert str(caught.value).startswith(f"f:{why}")


def test_every_kind_has_a_page_of_attributes_in_its_own_unit() -> None:
    for kind, record in PART_KINDS.items():
        for name, field in fields_of(record).items():
            for mark in field.metadata:
                if isinstance(mark, Unit) and mark.name in ("mm", "deg", "g", "mm²"):
                    assert name.endswith("_" + mark.name.replace("²", "2")), (kind, name, mark.name)


def test_control_characters_in_any_text_or_key_are_refused_with_their_place(catalogue: Catalogue) -> None:
    row = {"kind": "stem", "id": "s", "maker": "M", "name": "\x1b[31m", "places": [{"\x07": 1}]}
    document = read_document(json.dumps(row, indent=1), "f.yaml")
    with pytest.raises(InputError) as caught:
        read_part(document.value, document, (), catalogue.words, catalogue.openings)
    assert [str(problem).partition(",")[0] for problem in caught.value.problems] == [
        r'f.yaml:5:10: schema: "\x1b[31m" holds U+001B',
        r'f.yaml:8:4: schema: "\x07" holds U+0007',
    ]


@pytest.mark.parametrize("text", [r"\u001b", r"\b", "a\ttab\nand a line", "\u0085", "\xa0", "\u2028", "é", "🚲"])
def test_what_only_looks_like_a_control_character_is_text(text: str, catalogue: Catalogue) -> None:
    row = {"kind": "stem", "id": "s", "maker": "M", "name": text}
    document = read_document(json.dumps(row), "f.yaml")
    assert read_part(document.value, document, (), catalogue.words, catalogue.openings).name == text
