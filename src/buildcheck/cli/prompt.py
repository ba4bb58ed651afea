"""A question on the terminal, and what was answered. All of it goes to standard error: only the report to the other."""

from __future__ import annotations

import io
import re
import sys
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Final

from buildcheck.library.problems import did_you_mean, printable

if TYPE_CHECKING:
    from buildcheck.measure.questions import Question, Usual

_WIDTH = 80
_MOST_FOUND = 12  # parts that are told where a name fits several: our choice
_COMMA = re.compile(r"(?<=\d),(?=\d)")
_YES, _NO = ("y", "yes", "true"), ("n", "no", "false")


class _Said:
    """What is no answer of its own."""


UNSURE: Final = _Said()
STOP: Final = _Said()


def on_terminal() -> bool:
    """Is somebody there who sees a question and can answer it?"""
    there = sys.stdin is not None and sys.stdin.isatty() and sys.stderr.isatty()
    if there and isinstance(sys.stdin, io.TextIOWrapper):
        sys.stdin.reconfigure(errors="replace")  # an odd byte makes an odd answer, which is refused
    return there


def tell(text: str) -> None:
    """A line, or several, for whoever sits at the terminal."""
    indent = " " * (len(text) - len(text.lstrip()))
    for line in textwrap.wrap(printable(text), _WIDTH, subsequent_indent=indent, break_on_hyphens=False):
        print(line, file=sys.stderr)


def put(question: Question, number: int) -> Any:
    """The answer to a question as a file would have it, `UNSURE` or `STOP`; number 0 puts it again, shortly."""
    if number:
        _introduce(question, number)
    while True:
        said = read_line(f"{question.title}{f' [{question.unit}]' if question.unit else ''}? ")
        if said is None or said.casefold() in ("q", "quit"):
            return STOP
        if said in ("", "?") or said.casefold() in ("unknown", "do not know", "don't know"):
            return UNSURE
        answer = _meant(said, question)
        if answer is not None:
            return answer


def choose(what: str, known: Sequence[str]) -> str | None:
    """One of several names, by its number or by itself; None where the terminal ends."""
    print(file=sys.stderr)
    for number, name in enumerate(known, 1):
        tell(f"  {number:>2}) {name}")
    while True:
        said = read_line(f"{what}? ")
        if said is None or said in known:
            return said
        if said.isdecimal() and 1 <= int(said) <= len(known):
            return known[int(said) - 1]
        _again(f"{said or 'That'} is none of them{did_you_mean(said, known)}")


def read_line(prompt: str) -> str | None:
    """A line from the terminal without its blanks; None at its end."""
    sys.stderr.write(prompt)
    sys.stderr.flush()
    try:
        line = sys.stdin.readline()
    except KeyboardInterrupt:
        print(file=sys.stderr)
        raise
    if not line:
        print(file=sys.stderr)
    return line.strip() if line else None


def _introduce(question: Question, number: int) -> None:
    print(file=sys.stderr)
    tell(f"{number}. {question.title} ({question.minutes:g} min)")
    tell(f"   {question.how}")
    for line in _offers(question):
        tell(f"   {line}")


def _offers(question: Question) -> list[str]:
    """What can be answered."""
    lines = []
    if question.known is not None:
        lines.append(f"Known so far: {question.known} {question.unit}.")
    if question.between is not None:
        low, high = question.between
        lines.append(f"Usual: {low:g} to {high:g} {question.unit}.")
    if question.shape == "size" and question.usual:
        lines.append(f"Usual: {', '.join(usual.answer for usual in question.usual)} {question.unit}.")
    elif question.usual:
        numbered = _is_numbered(question)
        offers = enumerate(map(_offered, question.usual), 1)
        lines += [f"{index}) {offer}" if numbered else offer for index, offer in offers]
    if question.more and question.shape == "part":
        lines.append(f"{len(question.more)} parts of the catalogue could be it.")
    elif question.more:
        lines.append(f"Also: {', '.join(usual.answer for usual in question.more)}.")
    forms = {
        "size": f"a number in {question.unit}, or two such as 30..32",
        "word": "the word or its number" if _is_numbered(question) else "the word",
        "words": "one or several, with commas between",
        "flag": "yes or no", "rows": "as in a file, [] for none",
        "part": "with its number, its id or words of its name",
    }  # fmt: skip
    lines.append(f"Answer {forms[question.shape]}; Enter: do not know; q: stop here.")
    return lines


def _is_numbered(question: Question) -> bool:
    """Can words be named by their numbers? Not where a word is a number itself, as 622 is."""
    return not any(usual.answer.isdecimal() for usual in (*question.usual, *question.more))


def _offered(usual: Usual) -> str:
    return f"{usual.answer} ({usual.called})" if usual.called else usual.answer


def _meant(said: str, question: Question) -> Any:
    """The value that was meant, or None with a word why it is none."""
    if question.shape == "flag":
        word = said.casefold()
        if word in (*_YES, *_NO):
            return word in _YES
        return _again("Answer yes or no.")
    if question.shape == "size":
        return _size(said, question.unit)
    if question.shape == "rows":
        return _rows(said)
    if question.shape == "part":
        return _part(said, question)
    if question.shape == "word":
        return _word(said, question)
    words = [_word(each.strip(), question) for each in said.split(",")]
    return None if None in words else words


def _again(text: str) -> None:
    tell(f"  {text}")


def _size(said: str, unit: str) -> Any:
    bare = _COMMA.sub(".", said.removesuffix(unit).strip())
    try:
        return float(bare)
    except ValueError:
        return bare  # an interval, or what its reader refuses with the reason


def _rows(said: str) -> Any:
    from buildcheck.library.problems import InputError
    from buildcheck.library.yaml_text import read_document

    try:
        value = read_document(f"value: {said}", "answer").value
    except InputError as error:
        return _again(error.problems[0].text)
    return value["value"] if isinstance(value, dict) else None


def _part(said: str, question: Question) -> str | None:
    """A part by its number, its id, or words of its name; where several have them these are told."""
    every = (*question.usual, *question.more)
    if said in {usual.answer for usual in every}:
        return said
    if said.isdecimal() and 1 <= int(said) <= len(question.usual):
        return question.usual[int(said) - 1].answer
    words = said.casefold().split()
    found = [usual for usual in every if all(word in _offered(usual).casefold() for word in words)]
    if len(found) == 1:
        return found[0].answer
    for usual in found[:_MOST_FOUND]:
        _again(_offered(usual))
    near = did_you_mean(said, [usual.answer for usual in every])
    _again("More of its name, please." if found else f"No part here has that in its name{near}")
    return None


def _word(said: str, question: Question) -> str | None:
    """The word of a vocabulary: by itself, by a name that the trade has for it, or by its number."""
    every = (*question.usual, *question.more)
    names = {name.strip().casefold(): usual.answer for usual in every for name in usual.called.split(",")}
    names |= {usual.answer.casefold(): usual.answer for usual in every}
    word = names.get(said.casefold())
    if word is None and _is_numbered(question) and said.isdecimal() and 1 <= int(said) <= len(question.usual):
        word = question.usual[int(said) - 1].answer
    if word is None:
        _again(f"{said} is none of the words{did_you_mean(said, names)}")
    return word
