"""Reading YAML 1.2 text into plain Python values which remember where they were written.

PyYAML's own constructor follows YAML 1.1 (`no` is False, `12:30` is 750), expands aliases and forgets
positions, so only its event parser is used here and the values are composed below.
"""

from __future__ import annotations

import json
import math
import re
import sys
from collections.abc import Iterable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NoReturn

import yaml

from buildcheck.library.problems import InputError, Place, Problem, shown

LARGEST_FILE = 2_000_000  # bytes
LONGEST_LINE = 100_000  # characters
DEEPEST_NESTING = 40
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

_BREAK = re.compile(r"\r\n?|\n")
# U+0085, U+2028 and U+2029 break lines for the parser but not in YAML 1.2: later line numbers would be off.
_FORBIDDEN = re.compile("[^\t\n\r -~\xa0-\u2027\u202a-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
_SURROGATE = re.compile("[\ud800-\udfff]")
_JSON_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')
_ESCAPED_PAIR = re.compile(r"(\\[^u])|\\u([dD][89abAB][0-9a-fA-F]{2})\\u([dD][c-fC-F][0-9a-fA-F]{2})")

Where = tuple[str | int, ...]


@dataclass(slots=True)
class Document:
    """One YAML document: its value, and where each part of it was written."""

    value: object
    file: str
    places: dict[Where, Place] = field(default_factory=dict)  # of each value; the whole document is at ()
    key_places: dict[Where, Place] = field(default_factory=dict)  # of each key of a mapping

    def place(self, path: Where) -> Place:
        """Where the value at path was written, or else its nearest ancestor which was."""
        path = tuple(path)
        while path and path not in self.places:
            path = path[:-1]
        return self.places.get(path) or Place(self.file, 1, 1)

    def key_place(self, path: Where) -> Place:
        """Where the key at the end of path was written, to say that it is unknown; or else as place()."""
        path = tuple(path)
        return self.key_places.get(path) or self.place(path)


def read_file(path: Path) -> Document:
    """Read a file which holds exactly one document; `-` is standard input."""
    name = "<stdin>" if str(path) == "-" else str(path)
    try:
        # One byte too many is enough to know; an endless pipe or device is never read whole.
        if str(path) == "-":
            data = sys.stdin.buffer.read(LARGEST_FILE + 1)
        else:
            with open(path, "rb") as file:
                data = file.read(LARGEST_FILE + 1)
    except (OSError, ValueError) as error:  # ValueError: a NUL in the path
        reason = getattr(error, "strerror", None) or str(error)
        _stop(Place(name, 1, 1), f"the file cannot be read: {reason}")
    return read_document(data, name)


def read_document(text: str | bytes, file: str) -> Document:
    """Read text which holds exactly one document."""
    return read_text(text, file)[0]


def read_text(text: str | bytes, file: str, *, many: bool = False) -> list[Document]:
    """Read one document, or with many=True one or more separated by `---`. Raises InputError only."""
    checked = _join_json_escapes(_checked(text, file))
    composer = _Composer(file, many)
    try:
        composer.compose(yaml.parse(checked, Loader=_LOADER))
    except yaml.MarkedYAMLError as error:
        composer.problems.append(_in_plain_words(error, checked, file))
    except (yaml.YAMLError, ValueError, OverflowError) as error:
        # Nothing is known to come here with libyaml; the pure parser does with escapes such as "\UFFFFFFFF".
        reason = str(error).partition("\n")[0]
        composer.problems.append(
            Problem(composer.last, f"cannot be read as YAML near here: {reason}", "syntax")
        )
    if composer.problems:
        raise InputError(composer.problems)
    return composer.documents


def _stop(place: Place, text: str) -> NoReturn:
    raise InputError((Problem(place, text, "syntax"),))


# ---- before parsing ----


def _checked(text: str | bytes, file: str) -> str:
    """The text, once it is known to be of bounded size and made of characters that belong in a text."""
    if len(text) > LARGEST_FILE or (
        isinstance(text, str) and len(text.encode("utf-8", "surrogatepass")) > LARGEST_FILE
    ):
        _stop(
            Place(file, 1, 1),
            f"the file is larger than {LARGEST_FILE // 1_000_000} MB: expected a bike or a list of parts; "
            "split it, or check that this is the right file",
        )
    if isinstance(text, bytes):
        text = _decoded(text, file)
    text = text.removeprefix("\ufeff")  # the mark some editors put before UTF-8
    found = _FORBIDDEN.search(text)
    if found:
        code = ord(found[0])
        if code in (0x85, 0x2028, 0x2029):
            escape = f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}"
            why = f'an invisible line break: expected an ordinary one, or {escape} within "double quotes"'
        else:
            what = "a NUL" if code == 0 else "a control character" if code < 0xA0 else "not a character"
            why = f"{what}: expected plain text; is this a text file?"
        _stop(_place_in(text[: found.start()], file), f"U+{code:04X} is {why}")
    for number, line in enumerate(text.splitlines(), 1):
        if len(line) > LONGEST_LINE:
            _stop(
                Place(file, number, LONGEST_LINE + 1),
                f"the line is longer than {LONGEST_LINE:,} characters: expected text written in lines",
            )
    return text


def _decoded(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            _stop(Place(file, 1, 1), "the file is in UTF-16: expected UTF-8; save it again as UTF-8")
        _stop(
            _place_in(data[: error.start].decode("utf-8"), file),
            f"byte 0x{data[error.start]:02x} is not UTF-8: expected text saved as UTF-8 "
            "(an older encoding such as Latin-1 must be converted first)",
        )


def _place_in(before: str, file: str) -> Place:
    """The place just after the given beginning of a file."""
    lines = _BREAK.split(before.removeprefix("\ufeff"))
    return Place(file, len(lines), len(lines[-1]) + 1)


def _join_json_escapes(text: str) -> str:
    r"""Write the pairs \ud83d\ude00, as JSON spells characters beyond U+FFFF, as the characters themselves.

    libyaml refuses them. The blanks put after each string keep every column as it was. Only text that is
    JSON throughout is touched, as only there is it certain which quotes begin a string.
    """
    if "\\ud" not in text.lower() or not text.lstrip().startswith(("{", "[", '"')):
        return text
    try:
        json.loads(text, parse_int=str)
    except (ValueError, RecursionError):
        return text

    def join(found: re.Match[str]) -> str:
        if found[1]:
            return found[1]
        return bytes.fromhex(found[2] + found[3]).decode("utf-16-be")

    def rewrite(found: re.Match[str]) -> str:
        return _ESCAPED_PAIR.sub(join, found[0]).ljust(len(found[0]))

    return _JSON_STRING.sub(rewrite, text)


# ---- composing ----


class _Composer:
    """Builds documents from parser events, with a stack of its own so that depth costs no recursion."""

    def __init__(self, file: str, many: bool) -> None:
        self.file = file
        self.many = many
        self.documents: list[Document] = []
        self.problems: list[Problem] = []
        self.last = Place(file, 1, 1)  # where the latest value began

    def refuse(self, place: Place, text: str) -> None:
        self.problems.append(Problem(place, text, "syntax"))
        if len(self.problems) >= MOST_PROBLEMS:
            raise InputError(self.problems)

    def stop(self, place: Place, text: str) -> NoReturn:
        self.problems.append(Problem(place, text, "syntax"))
        raise InputError(self.problems)

    def compose(self, events: Iterable[Any]) -> None:
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

            place = self.last = Place(file, mark.line + 1, mark.column + 1)
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
                    self.stop(place, _TOO_DEEP)
                stack.append((container, path, key))
                container, path, key = value, where, None  # type: ignore[assignment]
        if not self.documents:
            self.refuse(Place(file, 1, 1), "the file is empty: expected a mapping of keys and values")

    def begin(self, event: Any) -> Document:
        place = self.last = Place(self.file, event.start_mark.line + 1, event.start_mark.column + 1)
        if event.version not in (None, (1, 2)):
            major, minor = event.version
            self.refuse(
                place,
                f"the file says it is YAML {major}.{minor}: expected YAML 1.2 (or no %YAML line), because "
                "a bare no or 12:30 means something else in older YAML",
            )
        if self.documents and not self.many:
            self.stop(
                place, "a second document begins here: expected one; put the other in a file of its own"
            )
        return Document(None, self.file)

    def refuse_reference(self, event: Any, place: Place) -> None:
        sign, what = ("*", "an alias") if type(event) is yaml.AliasEvent else ("&", "an anchor")
        self.refuse(
            place,
            f"{shown(sign + event.anchor)} is {what}: expected the value itself; write it out (if text "
            "is meant, put it in quotes). References are not read: a few can stand for millions of values",
        )

    def check_collection(self, event: Any, place: Place, tag: str) -> None:
        if event.tag is not None and event.tag != _TAG + tag:
            what = "mapping" if tag == "map" else "list"
            self.refuse(
                place, f"the tag {_short(event.tag)} does not go with a {what}: expected no tag, or !!{tag}"
            )

    def key(self, event: Any, place: Place) -> str:
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

    def scalar(self, event: Any, place: Place) -> object:
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
        self.refuse(
            place, f"{shown(text)} is not what its tag {_short(tag)} says: correct it or leave out the tag"
        )
        return None

    def number(self, text: str, place: Place) -> object:
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

    def check_surrogates(self, text: str, place: Place) -> None:
        """Only the pure parser lets these through; such text could not be written out again."""
        if not text.isascii() and _SURROGATE.search(text):
            self.refuse(place, _BAD_ESCAPE)


def _short(tag: str) -> str:
    return shown("!!" + tag.removeprefix(_TAG) if tag.startswith(_TAG) else tag)


# ---- the parser's complaints, in words that say what to do ----

_TOO_DEEP = f"values are nested more than {DEEPEST_NESTING} deep: expected far less; is a bracket left open?"
_BAD_ESCAPE = r'an escape in this "…" stands for no character: write the character itself, or as \U0001F6B2'


def _in_plain_words(error: yaml.MarkedYAMLError, text: str, file: str) -> Problem:
    lines = text.splitlines() or [""]
    mark = error.problem_mark or error.context_mark
    line, column = (mark.line, mark.column) if mark else (0, 0)
    at_end = not any(
        rest.strip() for rest in [*(row[column:] for row in lines[line : line + 1]), *lines[line + 1 :]]
    )
    char = lines[line][column : column + 1] if line < len(lines) else ""
    if at_end:  # the parser may point below the last line: point just after the last word instead
        line = max((number for number, row in enumerate(lines) if row.strip()), default=0)
        column = len(lines[line].rstrip())
    place = Place(file, line + 1, column + 1)
    begun = place
    if error.context_mark is not None:
        begun = Place(file, error.context_mark.line + 1, error.context_mark.column + 1)
    words, at_beginning = _explain(error.problem or "", error.context or "", char, at_end, begun.line)
    return Problem(begun if at_beginning else place, words, "syntax")


def _explain(problem: str, context: str, char: str, at_end: bool, begun: int) -> tuple[str, bool]:
    """What to say, and whether to point at the beginning of what went wrong rather than its end.

    libyaml and the pure parser word things a little differently, so only words common to both are looked for.
    """
    if char == "\t" and ("cannot start" in problem or "indentation" in problem):
        return "a tab is used to indent: expected spaces, the only indentation in YAML", False
    if "nesting depth" in problem:
        return _TOO_DEEP, False
    if "quoted scalar" in context:
        if "end of stream" in problem or "document" in problem:
            return "this quote is never closed: expected the same quote again at the end of the text", True
        if "unknown escape" in problem:
            return (
                r'this "\" begins no escape known to YAML: write \\ for a backslash, or use single quotes',
                False,
            )
        return _BAD_ESCAPE, False
    for kind, what, opening, closing in (("sequence", "list", "[", "]"), ("mapping", "mapping", "{", "}")):
        if f"flow {kind}" in context:
            if at_end:
                return (
                    f'this "{opening}" is never closed: expected "{closing}" before the end of the file',
                    True,
                )
            hint = ""
            if kind == "mapping" and char == ":":
                hint = " (a key and its colon go on one line, within 1,024 characters)"
            return (
                f'expected "," or "{closing}" in the {what} opened with "{opening}" on line {begun}{hint}',
                False,
            )
    if "cannot start" in problem:
        return f"a value cannot begin with {shown(char)}: expected the whole text in quotes", False
    if "mapping values" in problem:
        return (
            'a colon is out of place: expected one "key: value" a line, the keys of one mapping in line, '
            "and any text which contains a colon and a space in quotes"
        ), False
    if "sequence entries" in problem or "mapping keys" in problem:
        return f'"{char} " is out of place: expected it to begin a line of its own, below the key', False
    if char == ":":
        return "a space is missing: expected one after the colon", False
    if "simple key" in context:
        return 'expected ":" and a space after this key, on the same line and within 1,024 characters', True
    if "block mapping" in context:
        return (
            f"expected the next key in line with the other keys of the mapping begun on line {begun}; either "
            "the indentation is off or there is something after a closing quote or bracket"
        ), False
    if "block collection" in context or "block sequence" in context:
        return f'expected the next "- " in line with the others of the list begun on line {begun}', False
    if "block scalar" in context:
        return 'expected the line to end after "|" or ">": the text goes on the lines below, indented', False
    if "anchor" in context or "alias" in context:
        return (
            'a value cannot begin with "*" or "&" (no references are read): expected the text in quotes',
            True,
        )
    if "tag" in context.lower() or "tag" in problem.lower():
        return (
            'a value cannot begin with "!", except for a tag such as !!str: expected the text in quotes',
            True,
        )
    if "directive" in context or "directive" in problem or "YAML document" in problem:
        return (
            'a "%" line is out of place: expected none, or "%YAML 1.2" at the very top and "---" below',
            False,
        )
    if "document start" in problem:
        return "there is more text after the end of the value: expected the end of the file", False
    if "node content" in problem or "node" in context:
        if at_end and not char:
            return "the file ends where a value is expected: is it cut short, or a bracket left open?", False
        return f"expected a value here, but found {shown(char)}", False
    return f"cannot be read as YAML here: {shown(' '.join((context, problem)).strip())}", False
