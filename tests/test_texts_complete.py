"""Every language says all that the tables and the planning can say, nothing else, and speaks plainly to customers."""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import chain

import pytest
import yaml

from buildcheck.bench.advice import advice_for
from buildcheck.bench.compounds import TAKES
from buildcheck.bench.torques import torque_rows
from buildcheck.fit.contacts import compound_between
from buildcheck.library.folders import bundled_folder
from buildcheck.library.texts import languages, load_texts
from buildcheck.model.levels import Level, Verdict
from buildcheck.model.sentences import Word, named
from buildcheck.model.standards import Standards
from buildcheck.model.texts import PHRASES, Texts, placeholders
from buildcheck.model.workshop import Operation
from buildcheck.report.drawings.labels import LABELS
from buildcheck.rules import RULES
from buildcheck.rules.pages import pages
from buildcheck.work.disturbances import Verb
from buildcheck.work.plan import plan_work
from laws.bench import bike, catalogue, change, vetting

WORK = {"work-check", *(f"work-{verb}" for verb in Verb)}  # reasons of a job card that are no findings
# Sections whose keys are English words, or that the English tables and drawings say themselves.
NOT_IN_ENGLISH = {*PHRASES, "fasteners", "drawings", "measure", "kinds", "sentences", "attributes"}
SAME_WORD = {  # German words that are English ones, too
    "Position", "Name", "{what} ({which})", "{hours} h", "{minutes} min", "{low} N·m", "N·m", "g", "m", "ml",
    "System {system}", "system {system}", "{item} {size}", "{size} {name}", "{position} ({name})", "Adapter",
    "adapter", "masking tape", "{count} x {plug}", "{size} mm", "{name}: {message}", "{line}: {way}",
    "{carrier} {place}", "{places}: {risk}", "{count} x {name}", "{what} ({tool})", "{width} x {height}",
    "{part}: {place}",
}  # fmt: skip
# Terms of the trade that a customer need not know: each stands only with an explanation in brackets behind it.
JARGON = {
    "en": r"steerer|headset|freehub|cassette|bleed|olive|caliper|rotor|derailleur|bottom bracket|spindle|quill|spacer|"
    r"tubeless|dropout|hanger|torque|sealant|faceplate|stem|lockring|ferrule|cleat|dropper|shim|chainring|sprocket|"
    r"indexing|preload|adapter|crown|chainstay|bead|housing",
    "de": r"Steuersatz|Gabelschaft|Schaltauge|Schaltwerk|Umwerfer|Kassette|Ritzel|Kettenblatt|Kettenblätter|Innenlager|"
    r"Tretlager|Vorbau|Bremssattel|Drehmoment|Anzugsmoment|Freilauf|Ausfallende|Expander|Kralle|Distanz|Steckachse|"
    r"Außenhülle|[Tt]ubeless|Dichtmilch|Quetschhülse|Stützhülse|Konus|Verschlussring|entlüft|Indexierung|Vorspannung|"
    r"Adapter|Gabelkrone|Kettenstrebe|Schuhplatte",
}
PLAIN_ALREADY = {"Metallkralle"}
ENGLISH_WORDS = re.compile(r"\b(the|and|of|with|is|are|not|to|for|on|by|or)\b")


@pytest.fixture(scope="module")
def standards() -> Standards:
    return catalogue().standards


@pytest.fixture(scope="module", params=languages())
def texts(request: pytest.FixtureRequest) -> Texts:
    return load_texts(request.param, strict=True)


@cache
def raw(language: str) -> dict[str, dict[str, object]]:
    """The file of a language as it is written; everybody gets the same one, to be read only."""
    text = (bundled_folder() / "texts" / f"{language}.yaml").read_text(encoding="utf-8")
    return yaml.load(text, getattr(yaml, "CBaseLoader", yaml.BaseLoader))


def leaves(value: object, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Every text with the keys that lead to it."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, (*path, key))
    else:
        yield path, str(value)


# ---------------------------------------------------------------- complete, and nothing else


@pytest.mark.parametrize("language", languages())
def test_keys_and_placeholders_are_those_of_english(language: str) -> None:
    own, english = raw(language), raw("en")
    for section in english.keys() - NOT_IN_ENGLISH - {"locale"}:
        assert own[section].keys() == english[section].keys(), section
    texts = dict(leaves(own))
    for path, text in leaves(english):
        assert placeholders(texts[path]) == placeholders(text), path
    assert set(own) - set(english) <= NOT_IN_ENGLISH


def test_english_does_not_repeat_what_the_tables_say() -> None:
    assert not raw("en").keys() & NOT_IN_ENGLISH


def test_operations_are_told_to_both(texts: Texts, standards: Standards) -> None:
    for name, row in standards.operations.items():
        told = {texts.operation(name, audience, row.what) for audience in ("mechanic", "customer")}
        assert len(told) == 2, name
    assert raw(texts.language)["operations"].keys() == standards.operations.keys()


def test_findings_and_other_reasons_are_told(texts: Texts, standards: Standards) -> None:
    names = pages(standards).keys() | WORK
    for name in names:
        assert texts.finding(name).endswith(".")
    assert raw(texts.language)["findings"].keys() == names


def test_what_comes_of_a_job_is_told_to_both(texts: Texts) -> None:
    for name in ("impossible", "no-way-found", "with-parts", "with-less"):
        assert len({texts.outcome(name, audience) for audience in ("mechanic", "customer")}) == 2, name
    assert len(raw(texts.language)["outcomes"]) == 4


def test_what_may_block_is_told_to_riders_in_other_words_where_it_is_a_caution(standards: Standards) -> None:
    whom = {rule.name: rule.rider for rule in RULES} | {row.name: row.rider for row in standards.joints}
    both = {rule.name for rule in RULES if rule.rider and Level.BLOCKS in rule.levels}
    for language in languages():
        told, texts = raw(language)["risks"], load_texts(language, strict=True)
        assert both <= told.keys() <= {name for name, rider in whom.items() if rider}
        assert not [name for name in told if texts.risk(name) == texts.finding(name)]


def test_positions_kinds_phases_levels_and_verdicts_are_told(texts: Texts, standards: Standards) -> None:
    for audience in ("mechanic", "customer"):
        for position in standards.positions:
            assert texts.position(position, audience)
        for phase in Operation.model_fields["phase"].annotation.__args__:
            assert texts.phase(phase, audience)
        for level in Level:
            assert texts.level(level, audience)
        for verdict in Verdict:
            assert texts.verdict(verdict, audience)
    for position in raw(texts.language)["positions"]:
        assert standards.position(position) is not None, position
    lengths = [len(raw(texts.language)[name]) for name in ("phases", "levels", "verdicts")]
    assert lengths == [7, len(Level), len(Verdict)]


def phrases_of(standards: Standards) -> dict[str, set[str]]:
    """What the tables say in English words, by the section that has it."""
    operations = standards.operations.values()
    fasteners = standards.fasteners
    return {
        "tools": {tool for row in operations for some in (row, *row.tools_where) for tool in some.tools} | {
            row.tool for row in fasteners if row.tool
        },
        "consumables": {item.what for row in operations for item in row.consumables}
        | {what for what, _, _ in TAKES.values()},
        "finals": {row.final for row in operations if row.final},
        "records": {word for row in operations for word in row.records},
        "wrenches": {row.what for row in (*standards.wrenches, *standards.crowfeet.values())},
        "compounds": {words for row in fasteners for words in (row.compound, row.compound_why) if words} | {
            words for row in standards.contacts for material in ("", "carbon", "titanium")
            for words in compound_between(row, (material, "")) if words
        },
        "conditions": {term.what for term in standards.vocabularies["condition"].terms},
        "sources": {row.source for row in (*fasteners, *standards.slowdowns.values())},
        "cautions": {row.caution for row in fasteners if row.caution},
    }  # fmt: skip


def test_what_the_tables_say_is_told(texts: Texts, standards: Standards) -> None:
    own = {words for section in PHRASES for words in raw(texts.language).get(section, {})}
    for english in chain.from_iterable(phrases_of(standards).values()):
        assert texts.language == "en" or english in own or own.issuperset(english.split("; ")), english
        assert texts.language == "en" or texts.told(named(Word(english))) != english or english in SAME_WORD, english
    for row in standards.fasteners:
        assert texts.fixing(row.id, row.what)
    for row in standards.advice:
        assert texts.advice(row.id, row.what) != texts.advice(row.id, row.what, "customer")
        assert texts.advice_why(row.id, row.why)
    assert raw(texts.language)["advice"].keys() == {row.id for row in standards.advice}


def test_nothing_needless_is_told(standards: Standards) -> None:
    known = phrases_of(standards)
    for language in set(languages()) - {"en"}:
        own = raw(language)
        assert own["fasteners"].keys() == {row.id for row in standards.fasteners}
        # What stands in every section at once is told once: a tool may be a wrench, too.
        for section in ("consumables", "finals", "records", "conditions", "sources", "cautions"):
            assert own[section].keys() <= known[section], section
        assert own["tools"].keys() <= known["tools"]
        assert own["wrenches"].keys() <= known["wrenches"]
        pieces = {piece for words in known["compounds"] for piece in (words, *words.split("; "))}
        assert own["compounds"].keys() <= pieces


def test_every_way_to_measure_is_told(standards: Standards) -> None:
    rows = {(row.attribute, " ".join(row.kinds) or "any") for row in standards.measurements}
    for language in set(languages()) - {"en"}:
        own: dict[str, dict[str, str]] = raw(language)["measure"]  # type: ignore[assignment]
        assert {(attribute, kinds) for attribute, ways in own.items() for kinds in ways} == rows
        texts = load_texts(language)
        for row in standards.measurements:
            for kind in row.kinds or ("adapter",):
                assert texts.measure(row.attribute, kind, "") != ""


def test_drawings_are_told(texts: Texts) -> None:
    for label, english in LABELS.items():
        assert placeholders(texts.drawing(label, english)) == placeholders(english), label
    assert raw(texts.language).get("drawings", LABELS).keys() == LABELS.keys()


@pytest.mark.parametrize("name", ["allroad-wired", "city-hub-gear", "vintage-quill", "trail-hardtail", "track"])
def test_real_jobs_are_told_whole(texts: Texts, name: str) -> None:
    """Parts exchanged for the like: what calls for the work, the torque sheet and the advice are all told."""
    of = bike(name)
    for position in ("stem", "handlebar", "crankset", "rear-wheel", "front-caliper", "headset-upper", "seatpost"):
        if position not in of or not of[position].is_main:
            continue
        done = vetting(of).vetted(change(of, f"{of[position].part.id}@{position}"))
        work = plan_work(done.context, done.findings, [position], 60.0, {}).operations
        for step in work:
            assert texts.why(step.why)
            assert texts.operation(step.id, "customer", step.what)
        for row in torque_rows(done.context, work):
            for words in (row.what, row.compound, row.compound_why, row.wrench, row.source, *row.cautions):
                assert not words or texts.told(words)
        for item in advice_for(done.context, work):
            assert texts.advice(item.id, item.what, "customer")


# ---------------------------------------------------------------- German is German


def test_german_is_not_english_by_accident() -> None:
    german, english = dict(leaves(raw("de"))), dict(leaves(raw("en")))
    same = {text for path, text in german.items() if text in (english.get(path), path[-1])}
    assert same - SAME_WORD == set()
    for path, text in german.items():
        assert not ENGLISH_WORDS.search(re.sub(r"\{\w+\}", "", text)), path


def test_a_sentence_does_not_end_with_an_abbreviation_and_a_full_stop() -> None:
    times = "asked|real|p80|minutes|waiting|away|now|later"
    for path, text in leaves(raw("de")["labels"]):
        assert not re.search(rf"{{({times})}}\.", text), path


# ---------------------------------------------------------------- plain words for customers


def customer_texts(language: str) -> Iterator[tuple[tuple[str, ...], str]]:
    for path, text in leaves(raw(language)):
        plain = path[0] in ("findings", "risks") or path[-1] == "customer"
        if plain or (path[0] == "labels" and path[1].startswith(("summary-", "safety-"))):
            yield path, text


@pytest.mark.parametrize("language", languages())
def test_customers_read_no_jargon_without_a_few_words_on_it(language: str) -> None:
    pattern = re.compile(rf"\b(?:{JARGON[language]})\w*+(?!(?: \w+)? \()", re.IGNORECASE if language == "en" else 0)
    found = [(path, text) for path, text in customer_texts(language) if pattern.search(text)]
    assert found == []


@pytest.mark.parametrize("language", languages())
def test_customer_texts_are_short_sentences(language: str) -> None:
    for path, text in customer_texts(language):
        assert len(text) <= 175, path
        if path[0] in ("findings", "risks", "operations", "advice"):
            assert text.endswith("."), path
            assert text[0].isupper(), path


# ---------------------------------------------------------------- no real makers


def test_no_names_of_makers_or_models() -> None:
    """In English a capital letter inside a sentence would give a name away; makers of the catalogue are not named."""
    allowed = {"A", "A4", "N", "FITS", "EXTRA", "WORK", "WITH", "UNDECIDED", "BLOCKED", "English", "I"}
    for path, text in leaves({key: value for key, value in raw("en").items() if key != "locale"}):
        inner = re.findall(r"(?<=[a-z,;] )[A-Z]\w*", text)
        assert set(inner) <= allowed, path
    makers = {catalogue().part(part_id).maker.casefold() for part_id in catalogue().ids}
    for language in languages():
        everything = " ".join(text for _, text in leaves(raw(language))).casefold()
        assert not [maker for maker in makers if re.search(rf"\b{re.escape(maker)}\b", everything)]
