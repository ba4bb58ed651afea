"""`buildcheck ask`: the questions of *measure first* one at a time; each answer goes into the bike file at once."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterable, Mapping
from datetime import date
from math import inf
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

import typer

from buildcheck.cli.output import saying
from buildcheck.cli.prompt import STOP, UNSURE, on_terminal, put, tell
from buildcheck.library.folders import Content, bike_content, is_bundled
from buildcheck.library.problems import FileLine, InputError, Problem, shown
from buildcheck.library.writing import write_whole

if TYPE_CHECKING:
    from buildcheck.library.catalogue import Catalogue
    from buildcheck.measure.questions import Question
    from buildcheck.model.bikes import Bike, Change

Slot = tuple[str, str]

OwnBikeArgument = Annotated[
    Path, typer.Argument(metavar="FILE", help="A bike file of your own: the answers go into it.")
]
AnswersOption = Annotated[
    Path | None,
    typer.Option("--answers", help="A YAML file of answers, POSITION.ATTRIBUTE: VALUE; - is standard input."),
]
AnswerOption = Annotated[
    list[str] | None,
    typer.Option("--set", help="POSITION.ATTRIBUTE=VALUE: an answer, written into the file; may be given again."),
]
OverwriteOption = Annotated[
    bool, typer.Option("--overwrite", help="An answer may replace another one that the file has already.")
]


class Reply(NamedTuple):
    """What somebody says of one fact, and where it was said."""

    slot: Slot
    value: Any
    place: FileLine


class Asking:
    """One bike file and one change: answers go into the file, or, for a part that is to be fitted, into `settings`."""

    def __init__(self, path: Path, catalogue: Catalogue, request: Mapping[str, list[str]], overwrite: bool) -> None:
        self.path, self.catalogue, self.request, self.overwrite = path, catalogue, request, overwrite
        self.settings: dict[Slot, str] = {}
        self.skipped: set[Slot] = set()
        self.written = 0
        self.bike, self.change = self._loaded(self._read())

    def _read(self) -> Content:
        """The file as it is now."""
        from buildcheck.library.yaml_checks import checked

        content = bike_content(self.path)
        checked(content.data, content.shown)
        return content

    def _loaded(self, content: Content) -> tuple[Bike, Change]:
        from buildcheck.library.bikes import bike_of, set_facts
        from buildcheck.library.requests import read_request

        bike = bike_of(content, self.catalogue)
        change = read_request(self.request, bike, self.catalogue)
        return set_facts(bike, change, self.settings.values(), self.catalogue), change

    def questions(self) -> list[Question]:
        """What is still to be asked, the best first; nothing once the verdict is decided."""
        from buildcheck.answering import questions_for

        _, found = questions_for(self.bike, self.change, self.catalogue)
        return [question for question in found if (question.position, question.attribute) not in self.skipped]

    def give(self, answers: Iterable[Reply]) -> None:
        """Write answers into the file, all or none. Raises InputError for one that cannot be, at its own place."""
        from buildcheck.model.quantities import UNKNOWN

        content = before = self._read()
        settings, skipped, written = dict(self.settings), set(self.skipped), self.written
        try:
            for answer in answers:
                if answer.value in (None, UNKNOWN):
                    self.skipped.add(answer.slot)
                else:
                    content = self._with(answer, content)
            if content != before:
                write_whole(self.path, content.data.decode())
        except BaseException:
            self.settings, self.skipped, self.written = settings, skipped, written
            self.bike, self.change = self._loaded(before)
            raise

    def _with(self, answer: Reply, content: Content) -> Content:
        """The file with one answer more, once all of it was read with that."""
        from buildcheck.library.bikes import newly_filled, set_facts
        from buildcheck.measure.questions import PART

        position, attribute = answer.slot
        setting = f"{position}.{attribute}={json.dumps(answer.value)}"
        try:
            if attribute == PART:
                content = self._placed(answer, content)
                self.bike, self.change = self._loaded(content)
                return content
            set_facts(self.bike, self.change, [setting], self.catalogue)
            if position in newly_filled(self.bike, self.change, self.catalogue):
                self.settings[answer.slot] = setting
            else:
                content = self._edited(answer, content)
            self.bike, self.change = self._loaded(content)
        except InputError as error:
            raise InputError(Problem(answer.place, each.text, each.stage) for each in error.problems) from None
        return content

    def _placed(self, answer: Reply, content: Content) -> Content:
        """The file that says which part is at a position, or that nothing is there."""
        from buildcheck.library.bike_edit import part_at, with_part_in
        from buildcheck.model.bikes import NOT_KNOWN
        from buildcheck.model.quantities import brief

        position, text, file = answer.slot[0], content.data.decode(), content.shown
        if not isinstance(answer.value, str):
            reason = f"a part, a kind of part or none is expected, not {brief(answer.value)}"
            raise InputError([Problem(answer.place, reason, "schema")])
        old = part_at(text, file, position)
        if old == answer.value:
            return content
        if old not in (None, NOT_KNOWN) and not self.overwrite:
            reason = f"{file} says {brief(old)} already; --overwrite puts {brief(answer.value)} in its place"
            raise InputError([Problem(answer.place, reason, "meaning")])
        self.written += 1
        today = date.today().isoformat()
        return content._replace(data=with_part_in(text, file, position, answer.value, today).encode())

    def _edited(self, answer: Reply, content: Content) -> Content:
        from buildcheck.library.bike_edit import measured_at, with_value_in
        from buildcheck.model.quantities import UNKNOWN, brief

        position, attribute = answer.slot
        text, file = content.data.decode(), content.shown
        way, value, old = measured_at(text, file, self.bike[position], attribute, answer.value)
        if old == answer.value:
            return content
        if old not in (None, UNKNOWN) and not self.overwrite and not _narrows(answer.value, old):
            reason = f"{file} says {brief(old)} already; --overwrite puts {brief(answer.value)} in its place"
            raise InputError([Problem(answer.place, reason, "meaning")])
        self.written += 1
        return content._replace(data=with_value_in(text, file, way, value, date.today().isoformat()).encode())


def _narrows(value: object, old: object) -> bool:
    """Does a size tell within an interval what was told only by that?"""
    from buildcheck.model.quantities import parse_interval

    try:
        new, known = (parse_interval(each, -inf, "") for each in (value, old))
    except ValueError:
        return False
    if new is None or known is None or known.low == known.high:
        return False
    return known.low <= new.low and new.high <= known.high


def ask_all(
    path: Path, request: dict[str, list[str]], answers: Path | None, overwrite: bool, catalogue: Catalogue
) -> dict[str, list[str]]:
    """Take the answers that were given, then ask on a terminal. Gives the request with what is known of new parts."""
    _refuse_what_is_not_the_users(path)
    asking = Asking(path, catalogue, request, overwrite)
    asking.give([*_of_file(answers), *_of_options(request["set"])])
    try:
        if on_terminal():
            _ask(asking)
    finally:
        _end(asking)
    return {**request, "set": list(asking.settings.values())}


def _ask(asking: Asking) -> None:
    """Put one question after the other, until the verdict is decided, nobody knows more, or enough was asked."""
    number = 0
    while questions := asking.questions():
        question, number = questions[0], number + 1
        slot = question.position, question.attribute
        told = put(question, number)
        while told is not UNSURE and told is not STOP:
            try:
                asking.give([Reply(slot, told, FileLine("answer", 1, 1))])
                break
            except InputError as error:
                for problem in error.problems:
                    tell(f"  {problem.text}")
                told = put(question, 0)
        if told is STOP:
            return
        asking.skipped.add(slot)  # a fact that stays an interval is not asked twice


def _end(asking: Asking) -> None:
    """What was kept where."""
    with saying():
        if asking.written:
            print(f"Written into {asking.path}: {asking.written} answer{'s'[: asking.written > 1]}", file=sys.stderr)
        if asking.settings:
            options = " ".join(f"--set {setting}" for setting in asking.settings.values())
            print(f"Of the new part, so not written into the file; give it again: {options}", file=sys.stderr)


def _refuse_what_is_not_the_users(path: Path) -> None:
    if str(path) == "-":
        raise typer.BadParameter("answers go into the file: give its name, not -")
    if is_bundled(path.as_posix()):
        raise typer.BadParameter(
            f"answers go into the file, and {path} is a bundled bike: "
            f"begin a file of your own with `buildcheck new my-bike.yaml --like {path}`"
        )


def _of_file(path: Path | None) -> list[Reply]:
    """The answers of a file, each at its line."""
    if path is None:
        return []
    from buildcheck.library.yaml_text import read_file

    document = read_file(path)
    if not isinstance(document.value, dict):
        raise InputError([Problem(document.place(()), "POSITION.ATTRIBUTE: VALUE is expected", "schema")])
    return [_answer(name, value, document.key_place((name,))) for name, value in document.value.items()]


def _of_options(settings: Iterable[str]) -> list[Reply]:
    from buildcheck.library.yaml_text import read_document

    place, found = FileLine("--set", 1, 1), []
    for text in settings:
        name, equals, written = text.partition("=")
        if not equals or not written.strip():
            raise InputError([Problem(place, f"POSITION.ATTRIBUTE=VALUE is expected, not {shown(text)}", "meaning")])
        value = read_document(f"value: {written}", "--set").value
        assert isinstance(value, dict)
        found.append(_answer(name, value.get("value"), place))
    return found


def _answer(name: str, value: object, place: FileLine) -> Reply:
    position, dot, attribute = name.partition(".")
    if not dot or not attribute:
        raise InputError([Problem(place, f"POSITION.ATTRIBUTE is expected, not {shown(name)}", "meaning")])
    return Reply((position, attribute), value, place)
