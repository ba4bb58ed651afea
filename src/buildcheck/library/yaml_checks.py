"""What a file must be before it is parsed as YAML: of bounded size, and made of characters of a text."""

from __future__ import annotations

import json
import re
from typing import NoReturn

from buildcheck.library.folders import LARGEST_FILE
from buildcheck.library.problems import FileLine, InputError, Problem

LONGEST_LINE = 100_000  # characters

_BREAK = re.compile(r"\r\n?|\n")
# U+0085, U+2028 and U+2029 break lines for the parser but not in YAML 1.2: later line numbers would be off.
# What is forbidden is told and not what is allowed, since compiling takes as long as the set is large.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u2028\u2029\ud800-\udfff\ufffe\uffff]")
_JSON_STRING = re.compile(r'"(?:[^"\\]|\\.)*"')
_ESCAPED_PAIR = re.compile(r"(\\[^u])|\\u([dD][89abAB][0-9a-fA-F]{2})\\u([dD][c-fC-F][0-9a-fA-F]{2})")


def stop(place: FileLine, text: str) -> NoReturn:
    """Refuse the file at once, with one problem."""
    raise InputError((Problem(place, text, "syntax"),))


def checked(text: str | bytes, file: str) -> str:
    """The text, once it is known to be of bounded size and made of characters that belong in a text."""
    if len(text) > LARGEST_FILE or (
        isinstance(text, str) and len(text.encode("utf-8", "surrogatepass")) > LARGEST_FILE
    ):
        stop(
            FileLine(file, 1, 1),
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
        stop(_place_in(text[: found.start()], file), f"U+{code:04X} is {why}")
    for number, line in enumerate(text.splitlines(), 1):
        if len(line) > LONGEST_LINE:
            stop(
                FileLine(file, number, LONGEST_LINE + 1),
                f"the line is longer than {LONGEST_LINE:,} characters: expected text written in lines",
            )
    return text


def _decoded(data: bytes, file: str) -> str:
    try:
        return data.decode("utf-8")
    except UnicodeDecodeError as error:
        if data.startswith((b"\xff\xfe", b"\xfe\xff")):
            stop(FileLine(file, 1, 1), "the file is in UTF-16: expected UTF-8; save it again as UTF-8")
        stop(
            _place_in(data[: error.start].decode("utf-8"), file),
            f"byte 0x{data[error.start]:02x} is not UTF-8: expected text saved as UTF-8 "
            "(an older encoding such as Latin-1 must be converted first)",
        )


def _place_in(before: str, file: str) -> FileLine:
    """The place just after the given beginning of a file."""
    lines = _BREAK.split(before.removeprefix("\ufeff"))
    return FileLine(file, len(lines), len(lines[-1]) + 1)


def join_json_escapes(text: str) -> str:
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
