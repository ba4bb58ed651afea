"""Reading YAML 1.2 text into plain Python values which remember where they were written.

PyYAML's own constructor follows YAML 1.1 (`no` is False, `12:30` is 750), expands aliases and forgets
positions, so only its event parser is used here and the values are composed below.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn

import yaml

from buildcheck.library.folders import LARGEST_FILE, read_bytes
from buildcheck.library.problems import FileLine, InputError, Problem, shown
from buildcheck.library.yaml_checks import LONGEST_LINE, checked, join_json_escapes
from buildcheck.library.yaml_errors import BAD_ESCAPE, DEEPEST_NESTING, TOO_DEEP, in_plain_words

__all__ = [
    "DEEPEST_NESTING", "LARGEST_FILE", "LONGEST_INTEGER", "LONGEST_LINE", "MOST_PROBLEMS",
    "Document", "Where", "read_document", "read_file", "read_text",
]  # fmt: skip

LONGEST_INTEGER = 15  # digits: beyond this a float, and so JSON in a browser, cannot hold the number exactly
MOST_PROBLEMS = 20  # after this many the reader has enough to go on

_LOADER: Any = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader

_TAG = "tag:yaml.org,2002:"
_WORDS: dict[str, bool | None] = {
    **dict.fromkeys(("", "~", "null", "Null", "NULL")),
    **dict.fromkeys(("true", "True", "TRUE"), True),
    **dict.fromkeys(("false", "False", "FALSE"), False),
}
_NUMBER_STARTS = frozenset("+-.0123456789")
_INTEGER = re.compile(r"(?P<decimal>[-+]?[0-9]+)|0o(?P<octal>[0-7]+)|0x(?P<hex>[0-9a-fA-F]+)")
_BASES = {"decimal": 10, "octal": 8, "hex": 16}
_FLOAT = re.compile(r"[-+]?(?:\.[0-9]+|[0-9]+(?:\.[0-9]*)?)(?:[eE][-+]?[0-9]+)?")
_NOT_FINITE = re.compile(r"[-+]?\.(?:inf|Inf|INF)|\.(?:nan|NaN|NAN)")
_SURROGATE = re.compile("[\ud800-\udfff]")

Where = tuple[str | int, ...]


@dataclass(slots=True)
class Document:
    """One YAML document: its value, and where each part of it was written."""

    value: object
    file: str
    places: dict[Where, FileLine] = field(default_factory=dict)  # of each value; the whole document is at ()
    key_places: dict[Where, FileLine] = field(default_factory=dict)  # of each key of a mapping

    def place(self, path: Where) -> FileLine:
        """Where the value at path was written, or else its nearest ancestor which was."""
        path = tuple(path)
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path) or FileLine(self.file, 1, 1)

    def key_place(self, path: Where) -> FileLine:
        """Where the key at the end of path was written, to say that it is unknown; or else as place()."""
        path = tuple(path)
        return self.key_places.get(path) or self.place(path)


def read_file(path: Path) -> Document:
    """Read a file which holds exactly one document; `-` is standard input."""
    name = "<stdin>" if str(path) == "-" else str(path)
    return read_document(read_bytes(path, name), name)


def read_document(text: str | bytes, file: str) -> Document:
    """Read text which holds exactly one document."""
    return read_text(text, file)[0]


def read_text(text: str | bytes, file: str, *, many: bool = False) -> list[Document]:
    """Read one document, or with many=True one or more separated by `---`. Raises InputError only."""
    ready = join_json_escapes(checked(text, file))
    composer = _Composer(file, many)
    try:
        composer.compose(yaml.parse(ready, Loader=_LOADER))
    except yaml.MarkedYAMLError as error:
        composer.problems.append(in_plain_words(error, ready, file))
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        # Nothing is known to come here with libyaml; the pure parser does with escapes such as "\UFFFFFFFF".
        reason = str(error).partition("\n")[0]
        composer.problems.append(Problem(composer.last, f"cannot be read as YAML near here: {reason}", "syntax"))
    if composer.problems:
        raise InputError(composer.problems)
    return composer.documents


class _Composer:
    """Builds documents from parser events, with a stack of its own so that depth costs no recursion."""

    def __init__(self, file: str, many: bool) -> None:
        self.file = file
        self.many = many
        self.documents: list[Document] = []
        self.problems: list[Problem] = []
        self.last = FileLine(file, 1, 1)  # where the latest value began

    def refuse(self, place: FileLine, text: str) -> None:
        self.problems.append(Problem(place, text, "syntax"))
        if len(self.problems) >= MOST_PROBLEMS:
            raise InputError(self.problems)

    def stop(self, place: FileLine, text: str) -> NoReturn:
        self.problems.append(Problem(place, text, "syntax"))
        raise InputError(self.problems)

    def compose(self, events: Iterable[Any]) -> None:  # noqa: C901  the hot loop: calls would cost half its speed
        file = self.file
        document = Document(None, file)
        begun = self.last
        stack: list[tuple[dict[str, object] | list[object] | None, Where, str | None]] = []
        container: dict[str, object] | list[object] | None = None
        path: Where = ()
        key: str | None = None  # the key read last, while its value is awaited
        for event in events:
            kind = type(event)
            mark = event.start_mark
            if kind is yaml.MappingEndEvent or kind is yaml.SequenceEndEvent:
                container, path, key = stack.pop()
                continue
            if kind is yaml.DocumentStartEvent:
                document = self.begin(event)
                begun = self.last
                continue
            if kind is yaml.DocumentEndEvent:
                self.documents.append(document)
                continue
            if kind is yaml.StreamStartEvent or kind is yaml.StreamEndEvent:
                continue

            place = self.last = FileLine(file, mark.line + 1, mark.column + 1)
            if event.anchor is not None:
                self.refuse_reference(event, place)
            if key is None and isinstance(container, dict):
                key = self.key(event, place)
                where = (*path, key)
                if key in container:
                    first = document.key_places[where].line
                    self.refuse(
                        place,
                        f"the key {shown(key)} is on line {first} and again on line {place.line}: "
                        "expected each key once, because only one of the values could be kept",
                    )
                else:
                    document.key_places[where] = place
                continue

            value: object
            if kind is yaml.ScalarEvent:
                value = self.scalar(event, place)
                if container is None and not event.style and event.value == "" and event.tag is None:
                    self.refuse(begun, "the document is empty: expected a mapping of keys and values")
            elif kind is yaml.MappingStartEvent:
                value = {}
                self.check_collection(event, place, "map")
            elif kind is yaml.SequenceStartEvent:
                value = []
                self.check_collection(event, place, "seq")
            else:
                value = None  # an alias, refused above

            if isinstance(container, dict):
                assert key is not None
                where = (*path, key)
                container[key] = value
                key = None
            elif container is not None:
                where = (*path, len(container))
                container.append(value)
            else:
                where = ()
                document.value = value
            document.places[where] = place
            if kind is yaml.MappingStartEvent or kind is yaml.SequenceStartEvent:
                if len(stack) == DEEPEST_NESTING:
                    self.stop(place, TOO_DEEP)
                stack.append((container, path, key))
                container, path, key = value, where, None  # type: ignore[assignment]
        if not self.documents:
            self.refuse(FileLine(file, 1, 1), "the file is empty: expected a mapping of keys and values")

    def begin(self, event: Any) -> Document:
        place = self.last = FileLine(self.file, event.start_mark.line + 1, event.start_mark.column + 1)
        if event.version not in (None, (1, 2)):
            major, minor = event.version
            self.refuse(
                place,
                f"the file says it is YAML {major}.{minor}: expected YAML 1.2 (or no %YAML line), because "
                "a bare no or 12:30 means something else in older YAML",
            )
        if self.documents and not self.many:
            self.stop(place, "a second document begins here: expected one; put the other in a file of its own")
        return Document(None, self.file)

    def refuse_reference(self, event: Any, place: FileLine) -> None:
        sign, what = ("*", "an alias") if type(event) is yaml.AliasEvent else ("&", "an anchor")
        self.refuse(
            place,
            f"{shown(sign + event.anchor)} is {what}: expected the value itself; write it out (if text "
            "is meant, put it in quotes). References are not read: a few can stand for millions of values",
        )

    def check_collection(self, event: Any, place: FileLine, tag: str) -> None:
        if event.tag is not None and event.tag != _TAG + tag:
            what = "mapping" if tag == "map" else "list"
            self.refuse(place, f"the tag {_short(event.tag)} does not go with a {what}: expected no tag, or !!{tag}")

    def key(self, event: Any, place: FileLine) -> str:
        if type(event) is yaml.AliasEvent:  # refused already
            return f"*{event.anchor}"
        if type(event) is not yaml.ScalarEvent:
            what = "mapping" if type(event) is yaml.MappingStartEvent else "list"
            self.stop(
                place,
                f"a {what} is used as a key: expected text (if the bracket is part of a text, quote it)",
            )
        text: str = event.value
        if event.tag not in (None, _TAG + "str"):
            self.refuse(
                place,
                f"the tag {_short(event.tag)} is on a key: expected no tag, because keys are always text",
            )
        elif not event.style and event.tag is None:
            if text == "<<":
                self.refuse(place, 'the merge key "<<" is not read: expected the keys and values written out')
            elif _WORDS.get(text, text) is None:
                self.refuse(place, f"the key is {text or 'empty'}: expected a name before the colon")
        elif event.style == '"':
            self.check_surrogates(text, place)
        return text

    def scalar(self, event: Any, place: FileLine) -> object:  # noqa: C901  one case for each tag
        text: str = event.value
        tag: str | None = event.tag
        if tag is None:
            if event.style:
                if event.style == '"':
                    self.check_surrogates(text, place)
                return text
            if text in _WORDS:
                return _WORDS[text]
            return self.number(text, place) if text[0] in _NUMBER_STARTS else text
        if tag == _TAG + "str":
            self.check_surrogates(text, place)
            return text
        wanted: tuple[type, ...]
        if tag in (_TAG + "int", _TAG + "float"):
            before = len(self.problems)
            number = self.number(text, place)
            if isinstance(number, int) and tag.endswith("float"):
                return float(number)
            wanted = (int,) if tag.endswith("int") else (float,)
            if isinstance(number, wanted) or len(self.problems) > before:
                return number
        elif tag in (_TAG + "bool", _TAG + "null"):
            word = _WORDS.get(text, text)
            wanted = (bool,) if tag.endswith("bool") else (type(None),)
            if isinstance(word, wanted):
                return word
        else:
            self.refuse(
                place,
                f"the tag {_short(tag)} does not go with {shown(text)}: expected no tag, or one of "
                "!!str !!int !!float !!bool !!null",
            )
            return None
        self.refuse(place, f"{shown(text)} is not what its tag {_short(tag)} says: correct it or leave out the tag")
        return None

    def number(self, text: str, place: FileLine) -> object:
        """The number a plain scalar stands for, or else the text itself: `700x28C` and `1_000` are text."""
        found = _INTEGER.fullmatch(text)
        if found:
            digits = (found["decimal"] or found["octal"] or found["hex"]).lstrip("+-").lstrip("0")
            if len(digits) <= 3 * LONGEST_INTEGER:  # so that no endless text is converted
                size = int(digits or "0", _BASES[found.lastgroup or "decimal"])
                if size < 10**LONGEST_INTEGER:
                    return -size if text[0] == "-" else size
            self.refuse(
                place,
                f"{shown(text)} has more than {LONGEST_INTEGER} digits: expected a smaller number, because "
                "not every program would keep this one exactly; put it in quotes if it is a code",
            )
        elif _FLOAT.fullmatch(text):
            measure = float(text)
            if math.isfinite(measure):
                return measure
            self.refuse(place, f"{shown(text)} is too large: expected a number below 1.8e308")
        elif _NOT_FINITE.fullmatch(text):
            self.refuse(
                place,
                f"{shown(text)} is not a finite number: expected something measured or counted "
                "(put it in quotes if text is meant)",
            )
        return text

    def check_surrogates(self, text: str, place: FileLine) -> None:
        """Only the pure parser lets these through; such text could not be written out again."""
        if not text.isascii() and _SURROGATE.search(text):
            self.refuse(place, BAD_ESCAPE)


def _short(tag: str) -> str:
    return shown("!!" + tag.removeprefix(_TAG) if tag.startswith(_TAG) else tag)
