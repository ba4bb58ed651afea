"""Reading catalog/texts: one file for each language, apart from all logic."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from string import Formatter
from typing import Any

import yaml
from babel import Locale, UnknownLocaleError
from pydantic import VERSION, ValidationError

from buildcheck.library.cache import keep, kept, key_of
from buildcheck.library.folders import Content, bundled_folder, code_files, text_contents
from buildcheck.library.problems import FileLine, InputError, Problem, did_you_mean
from buildcheck.library.records import validated
from buildcheck.library.yaml_text import Document, read_document
from buildcheck.model.quantities import brief
from buildcheck.model.texts import TextFile, Texts, placeholders

ENGLISH = "en"
_KEPT_CACHES = 4
_SENTENCES = ("labels", "sentences", "drawings")  # whose texts have placeholders


def languages() -> tuple[str, ...]:
    """The languages that there are texts for, by the names of their files."""
    return tuple(sorted(path.stem for path in (bundled_folder() / "texts").glob("*.yaml")))


def load_texts(language: str = ENGLISH, folders: Sequence[Path] = (), *, strict: bool = False) -> Texts:
    """The texts of a language: the bundled ones, and then those in `texts/` of these catalogue folders.

    `strict` makes a missing text an error instead of telling it in English. Raises InputError for a language that
    is not there and for files that cannot be used.
    """
    if language not in languages():
        hint = did_you_mean(language, languages()) or f"; there are {', '.join(languages())}"
        raise InputError([Problem(FileLine("--language", 1, 1), f"no texts in {brief(language)}{hint}", "meaning")])
    bundled = texts_from(text_contents(ENGLISH, ()))
    english = texts_from(text_contents(ENGLISH, folders), bundled) if folders else bundled
    if language == ENGLISH:
        return Texts(language, english, english, strict=strict)
    return Texts(language, texts_from(text_contents(language, folders), english), english, strict=strict)


def texts_from(contents: Sequence[Content], english: TextFile | None = None) -> TextFile:
    """One file of texts from several, the later ones added to the earlier ones. Raises InputError.

    With `english` each text must have the placeholders of the English one.
    """
    key = key_of((VERSION, yaml.__version__, str(english)), code_files("library", "model"), contents)
    found = kept("texts", key, _is_text_file)
    if found is None:
        found = _read(contents, english)
        keep("texts", key, found, _KEPT_CACHES)
    return TextFile.model_validate(found)


def _is_text_file(found: Any) -> bool:
    try:
        TextFile.model_validate(found)
    except ValidationError:
        return False
    return True


def _read(contents: Sequence[Content], english: TextFile | None) -> dict[str, Any]:
    problems: list[Problem] = []
    merged: dict[str, Any] = {}
    for content in contents:
        try:
            document = read_document(content.data, content.shown)
            file = validated(TextFile, document.value, document, ())
        except InputError as error:
            problems.extend(error.problems)
            continue
        problems.extend(_placeholder_problems(file, english, document))
        if file.locale is not None and not _is_locale(file.locale):
            text = f"a locale such as en_GB is expected, not {brief(file.locale)}"
            problems.append(Problem(document.place(("locale",)), text, "meaning"))
        for section, texts in file.model_dump(mode="json", exclude_unset=True).items():
            merged[section] = {**merged.get(section, {}), **texts} if isinstance(texts, dict) else texts
    if problems:
        raise InputError(problems)
    return merged


def _is_locale(name: str) -> bool:
    try:
        Locale.parse(name)
    except (UnknownLocaleError, ValueError):
        return False
    return True


def _placeholder_problems(file: TextFile, english: TextFile | None, document: Document) -> Iterator[Problem]:
    for section in _SENTENCES:
        model: Mapping[str, str] = getattr(english, section, {})
        for key, text in getattr(file, section).items():
            fault = _fault(text, key if section == "sentences" else model.get(key))
            if fault:
                yield Problem(document.place((section, key)), f"{section}.{key}: {fault}", "meaning")


def _fault(text: str, english: str | None) -> str:
    """What is wrong with the braces in a text."""
    try:
        found = placeholders(text)
    except ValueError as error:
        return f"the braces are not in order: {error}"
    if any(spec or conversion for _, _, spec, conversion in Formatter().parse(text)):
        return "plain names are expected in braces, without a colon or an exclamation mark"
    bad = sorted(name for name in found if not name.isidentifier())
    if bad:
        return f"a plain name is expected in braces, not {brief(bad[0])}"
    if english is None or found == placeholders(english):
        return ""
    expected = ", ".join(f"{{{name}}}" for name in sorted(placeholders(english))) or "no placeholder"
    return f"{expected} is expected, as in English"
