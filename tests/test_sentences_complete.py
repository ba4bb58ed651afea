"""German says every sentence, unit, attribute and plain word, and its job cards have no English beside names.

`rules/test_cases.py` asks the same of what every firing case finds.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterable, Iterator
from functools import cache
from typing import get_args

import html5lib
import pytest
from pydantic import BaseModel

from buildcheck.jobs import Agreed, job_card
from buildcheck.library.texts import load_texts
from buildcheck.model.bikes import Bike, BikeFile
from buildcheck.model.findings import Cause
from buildcheck.model.job import JobCard
from buildcheck.model.levels import Verdict
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.quantities import Unit
from buildcheck.model.texts import Audience, placeholders
from buildcheck.report.drawings import LABELS, drawings_of
from buildcheck.report.job_page import job_page
from buildcheck.report.job_text import job_lines
from laws.bench import bike, catalogue, change, usual_vetting, vetting, with_facts
from sentences import SOURCE, of_wording, templates
from test_texts_complete import leaves, raw

GERMAN = load_texts("de", strict=True)
# Units that are the same in both languages, and one that names none.
SYMBOLS = frozenset({"", "mm", "mm²", "bar", "N·m", "kg", "N", "%", "V", "the unit of its attribute"})
# Words that a value can be without standing in a vocabulary.
FREE_WORDS = frozenset({
    "unknown", "an unknown size", "yes", "no", "none", "none that leads on", "upper", "lower", "open", "round", "slot",
    "irregular", "battery", "dynamo", "shift-bus", "both", "chain", "belt", "one", "two",
})  # fmt: skip
# Changes of every outcome. What stands behind a bike are facts set on it, so that something is not known.
JOBS = {
    "demo": ("allroad-wired", ("wexcombe-veil-420-100@handlebar",), {}),
    "stem": ("allroad-wired", ("tolverne-alder-110@stem",), {}),
    "no-remedy": ("kids-20", ("dunreth-toddle-plain-406@accessory-stabilisers",), {}),
    "steep-stem": ("cargo", ("tolverne-alder-steep-100@stem",), {}),
    "quill-stem": ("road-rim", ("tolverne-gable-60@stem",), {}),
    "hub-gear": ("city-hub-gear", ("quillbeck-parade-rear-8-roller@rear-wheel",), {}),
    "city-brake": ("city-rim", ("brackwater-twin-plain-57@front-caliper",), {}),
    "small-wheel": ("folding-small-wheel", ("merrowby-corrie-rear-7@rear-derailleur",), {}),
    "unknown-bottom-bracket": ("kids-20", ("merrowby-beck-crank-single-170@crankset",), {
        "frame__bb_shell_width_mm": "unknown", "bottom-bracket__spindle": "unknown"}),
    "tyre": ("road-disc", ("dunreth-cobble-60-622@front-tyre",), {}),
    "track": ("track", ("tolverne-alder-90@stem", "merrowby-slab-city@pedals"), {}),
    "hardtail-brake": ("trail-hardtail", ("brackwater-rift-2@front-caliper",), {}),
    "vintage-bar": ("vintage-quill", ("tolverne-brae-420@handlebar",), {}),
}  # fmt: skip
WORDS = re.compile(r"[^\W\d_]{2,}")


# ---------------------------------------------------------------- complete, and nothing else


def test_every_sentence_has_a_german_one_with_the_same_values() -> None:
    german = raw("de")["sentences"]
    wanted = templates() | of_wording()
    assert sorted(wanted - german.keys()) == []
    for english, text in german.items():
        assert placeholders(str(text)) == placeholders(english), english


def test_no_german_sentence_is_needless() -> None:
    assert sorted(raw("de")["sentences"].keys() - templates() - of_wording()) == []


def _fields(record: type[BaseModel]) -> Iterator[tuple[str, object]]:
    """The fields of a record and of the records in it, with their annotations and marks."""
    for name, field in record.model_fields.items():
        yield name, field
        for inner in _records(field.annotation):
            yield from _fields(inner)


def _records(annotation: object) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for inner in get_args(annotation):
        yield from _records(inner)


def test_attributes_are_those_of_the_parts() -> None:
    names = {"condition", "presence"}  # what somebody saw on a part, and that there is one: a bike's file has it
    for kind in PART_KINDS.values():
        names |= {name for name, _ in _fields(kind)}
        names |= {name for base in kind.__mro__ if base is not BaseModel for name, value in vars(base).items()
                  if isinstance(value, property) and base.__module__.startswith("buildcheck")}  # fmt: skip
    assert raw("de")["attributes"].keys() == names
    assert {GERMAN.attribute(f"passages.bar.{name}") for name in names} == set(raw("de")["attributes"].values())


def _units() -> set[str]:
    """Units of attributes, and those that the program puts behind a size."""
    found = {mark.name for kind in PART_KINDS.values() for _, field in _fields(kind)
             for mark in field.metadata if isinstance(mark, Unit)}  # type: ignore[attr-defined]  # fmt: skip
    for path in SOURCE.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call):
                called = getattr(node.func, "attr", getattr(node.func, "id", ""))
                units = {"told": node.args[:1], "Size": node.args[2:3], "sum_of": node.args[2:3]}.get(called, [])
                found |= {each.value for unit in units for each in ast.walk(unit)
                          if isinstance(each, ast.Constant) and isinstance(each.value, str)}  # fmt: skip
    return found - SYMBOLS


def test_units_are_told_in_the_singular_and_the_plural() -> None:
    used = {item.unit for row in catalogue().standards.operations.values() for item in row.consumables}
    assert raw("de")["units"].keys() == raw("en")["units"].keys() == _units() | used
    assert [GERMAN.wording.value(size) for size in _sizes()] == ["1 Zahn", "2 Zähne", "1 bis 2 Zähne", "1,5 mm"]


def _sizes() -> list[object]:
    from buildcheck.model.sentences import Size

    return [Size(1, 1, "teeth"), Size(2, 2, "teeth"), Size(1, 2, "teeth"), Size(1.5, 1.5, "mm")]


def test_plain_words_of_the_vocabularies_are_german() -> None:
    terms = {term.id for vocabulary in catalogue().standards.vocabularies.values() for term in vocabulary.terms}
    terms |= set(get_args(BikeFile.model_fields["use"].annotation))
    terms |= {where for sort in get_args(BikeFile.model_fields["motor"].annotation) for where in get_args(sort)}
    german = raw("de")["words"].keys()
    assert sorted(german - terms - FREE_WORDS) == []
    # An id with a figure in it is the catalogue's own name for a standard.
    assert sorted(word for word in terms | FREE_WORDS if not re.search(r"\d", word) and word not in german) == [
        word for word in sorted(terms) if re.fullmatch(r"[A-Z]+", word)
    ]


# ---------------------------------------------------------------- no English on a German card


@cache
def card(name: str) -> JobCard:
    of, fits, facts = JOBS[name]
    asked = change(bike(of), *fits)
    bench = vetting(with_facts(bike(of), asked, **facts)) if facts else usual_vetting(of)
    return job_card(bench, asked, Agreed(promised="2026-12-04"))


@cache
def allowed() -> frozenset[str]:
    """The words of the German texts, and those of dates, in small letters: a sentence may begin with any of them."""
    texts = (re.sub(r"\{\w+\}", " ", text) for _, text in leaves({**raw("de"), "locale": "x"}))
    return frozenset(word.casefold() for text in (*texts, GERMAN.date("2026-12-04")) for word in WORDS.findall(text))


@cache
def names() -> re.Pattern[str]:
    """What the catalogue names: parts, makers and bikes; standards by their ids."""
    standards = catalogue().standards
    parts = [catalogue().part(part) for part in catalogue().ids]
    found = {name for part in parts for name in (part.id, part.name, part.maker)}
    found |= {term.id for vocabulary in standards.vocabularies.values() for term in vocabulary.terms}
    found -= raw("de")["words"].keys()
    found |= {name for of, _, _ in JOBS.values() for name in (of, bike(of).name)}
    found |= {row.thread for row in standards.fasteners if row.thread}
    return re.compile(rf"(?<![\w-])(?:{_any_of(found)})(?![\w-])")


def _any_of(words: Iterable[str]) -> str:
    return "|".join(re.escape(word) for word in sorted(words, key=len, reverse=True))


@cache
def openings() -> re.Pattern[str]:
    """A passage or a place by its id, which stands behind a position or behind what it is."""
    parts = [catalogue().part(part) for part in catalogue().ids]
    ids = {item.id for part in parts for item in (*part.places, *(part.passages or ()))}
    before = {told["mechanic"] for told in raw("de")["positions"].values()} | {"Durchgang", "Bohrung", "Platz"}
    return re.compile(rf"(?<!\w)(?:{_any_of(before)}|Nr\. \d+) (?:{_any_of(ids)})(?![\w-])", re.IGNORECASE)


def foreign(text: str, own: Iterable[str] = ()) -> list[str]:
    """The words of a text that are neither German nor a name of the catalogue, or an own name of a bike."""
    told = " ".join(text.split())
    for name in own:
        told = told.replace(name, " ")
    bare = names().sub(" ", openings().sub(" ", told))
    return sorted(word for word in set(WORDS.findall(bare)) if word.casefold() not in allowed())


def own_positions(of: Bike) -> list[str]:
    """What a bike's file calls a lamp's wire or a bag, in the brackets behind the position's own word."""
    return [name for position in of.fitted for name in re.findall(r"\(.*\)", GERMAN.position(position))]


def html_words(html: str) -> str:
    """What a reader sees or hears on a page."""
    tree = html5lib.HTMLParser(namespaceHTMLElements=False).parse(html)
    found = []
    for element in tree.iter():
        if element.tag in ("script", "style"):
            continue
        found += [element.text or "", *(element.get(name, "") for name in ("alt", "title", "aria-label", "data-label"))]
    found += [element.tail or "" for element in tree.iter()]
    return " ".join(found)


def test_the_jobs_have_every_outcome() -> None:
    assert {card(name).verdict for name in JOBS} == set(Verdict)


@pytest.mark.parametrize("reader", ["mechanic", "customer"])
@pytest.mark.parametrize("name", JOBS)
def test_a_german_card_in_text_has_no_english_word(name: str, reader: Audience) -> None:
    own = own_positions(bike(JOBS[name][0]))
    assert foreign(" ".join(line.text for line in job_lines(card(name), GERMAN, reader)), own) == []


@pytest.mark.parametrize("reader", ["mechanic", "customer"])
@pytest.mark.parametrize("name", JOBS)
def test_a_german_page_has_no_english_word(name: str, reader: Audience) -> None:
    words = (lambda key: GERMAN.drawing(key, LABELS[key])), GERMAN.position, GERMAN.word
    drawings = drawings_of(card(name).pictures, *words)
    own = own_positions(bike(JOBS[name][0]))
    assert foreign(html_words(job_page(card(name), GERMAN, reader, drawings)), own) == []


def every(causes: Iterable[Cause]) -> Iterator[Cause]:
    """Causes, and those below them."""
    for cause in causes:
        yield cause
        yield from every(cause.because)
