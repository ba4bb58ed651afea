"""Adding a value to a YAML file that someone wrote: only what is new changes, and it is read back before it is used.

The text is cut at the places that the parser gives and nothing else is written anew: comments, order, quotes and line
breaks stay, as no writer of YAML keeps them all.
"""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from typing import Any, NamedTuple

import yaml

from buildcheck.library.problems import FileLine, InputError, Problem
from buildcheck.library.yaml_text import Where, read_document
from buildcheck.model.bikes import NONE, Fitted
from buildcheck.model.parts import PART_KINDS
from buildcheck.model.slots import paths_of, with_plain_value

_LOADER: Any = yaml.CSafeLoader if yaml.__with_libyaml__ else yaml.SafeLoader
_BREAK = re.compile(r"\r\n?|\n")
_COMMENT = re.compile(r"\s+#.*")
_DATE = r"\d{4}-\d\d-\d\d"
_DATE_ONLY = re.compile(rf"\s+#\s*{_DATE}\s*")
_BYTE_ORDER_MARK = "\ufeff"
_USUAL_STEP = 2  # blanks; our choice, where the file shows no step of its own


def with_part_in(text: str, file: str, position: str, said: str, note: str = "") -> str:
    """The text of a bike file that says what is at a position: a part of the catalogue, a kind of part, or `none`.

    What was measured there stays, save where nothing is there. Raises InputError.
    """
    path: Where = ("parts", position)
    old = _told_at(read_document(text, file).value, path)
    key = "kind" if said in PART_KINDS else "part"
    if said != NONE and isinstance(old, dict):
        before = next((each for each in ("part", "kind") if each in old), None)
        return _put(text, file, (*path, key), said, note, (*path, before) if before is not None else None)
    return _put(text, file, path, {key: said} if key == "kind" else said, note)


def part_at(text: str, file: str, position: str) -> str | None:
    """Which part a bike file itself says is at a position, if it says so; a kind alone is not yet a part."""
    told = _told_at(read_document(text, file).value, ("parts", position))
    part = told.get("part") if isinstance(told, dict) else told
    return part if isinstance(part, str) else None


def measured_at(text: str, file: str, spot: Fitted, attribute: str, value: object) -> tuple[Where, object, object]:
    """Where a bike file is to tell a fact of a fitted part, what is to stand there, and what it tells there now.

    A size inside a list of the part is told with the whole list, if the file does not have that yet. Raises InputError.
    """
    file_value = read_document(text, file).value
    position: Where = ("parts", spot.home)
    if attribute == "condition":
        return (*position, attribute), value, _told_at(file_value, (*position, attribute))
    table, *steps = paths_of(spot.part, attribute)[0] if "." in attribute else (attribute,)
    whole: Where = (*position, "measured", table)
    if not steps or _told_at(file_value, whole) is not None:
        return (*whole, *steps), value, _told_at(file_value, (*whole, *steps))
    return whole, with_plain_value(spot.part, attribute, value)[str(table)], None


def _told_at(value: Any, path: Where) -> Any:
    """What stands at a path; None where the file has nothing there."""
    for step in path:
        if isinstance(value, list) and isinstance(step, int) and step < len(value):
            value = value[step]
        else:
            value = value.get(step) if isinstance(value, dict) else None
    return value


class _CannotError(Exception):
    """The text is of a shape that nothing can be added to here."""


def with_value_in(text: str, file: str, path: Where, value: object, note: str = "") -> str:
    """The text of a YAML file with a value at a path of keys and indices, and `note` as a comment behind it.

    What the path lacks is added: a key at the end of its mapping. A bare word where the path needs a mapping is the
    `part` of that mapping, as in a bike file. Raises InputError for text that is no YAML, or that cannot be changed so.
    """
    return _put(text, file, path, value, note)


def _put(text: str, file: str, path: Where, value: object, note: str, instead_of: Where | None = None) -> str:
    """The same, or with the key at the end of the path in place of another one."""
    mark = _BYTE_ORDER_MARK if text.startswith(_BYTE_ORDER_MARK) else ""
    text = text.removeprefix(mark)
    old = read_document(text, file).value
    for comment in dict.fromkeys((note, "")):
        try:
            wanted = _changed(_without(old, instead_of), path, value)
            changed = _Editor(text, comment).put(path, value, instead_of)
            if read_document(changed, file).value == wanted:
                return mark + changed
        except (_CannotError, InputError):
            continue
    name = ".".join(map(str, path))
    reason = f"nothing was written: add this by hand, {name}: {_flow(value)}"
    raise InputError([Problem(FileLine(file, 1, 1), reason, "syntax")])


def _changed(value: Any, path: Where, new: object) -> Any:
    """The same value with another one at a path."""
    if not path:
        return new
    step, rest = path[0], path[1:]
    if isinstance(value, list) and isinstance(step, int):
        return [_changed(item, rest, new) if index == step else item for index, item in enumerate(value)]
    known = {"part": value} if isinstance(value, str) else {} if value is None else value
    if not isinstance(known, dict):
        raise _CannotError
    return {**known, step: _changed(known.get(step), rest, new)}


def _without(value: Any, path: Where | None) -> Any:
    """The same value without the key at the end of a path."""
    if path is None or not isinstance(value, dict):
        return value
    step, rest = path[0], path[1:]
    if not rest:
        return {key: item for key, item in value.items() if key != step}
    return {key: _without(item, rest) if key == step else item for key, item in value.items()}


class _Stretch(NamedTuple):
    """A stretch of the text, and what stands there instead; `note` goes behind it, if it does not hold it already."""

    start: int
    end: int
    new: str
    note: str = ""


class _Editor:
    """One change to one text."""

    def __init__(self, text: str, note: str) -> None:
        self.text, self.note = text, note
        self.lines: list[int] = [0, *(found.end() for found in _BREAK.finditer(text))]
        self.newline = found[0] if (found := _BREAK.search(text)) else "\n"
        self.is_json = _is_json(text)
        self.step = _USUAL_STEP

    def put(self, path: Where, value: object, instead_of: Where | None = None) -> str:
        """The text with the value at the path, its key perhaps in place of another one."""
        root = yaml.compose(self.text, Loader=_LOADER)
        if not isinstance(root, yaml.MappingNode) or not path:
            raise _CannotError
        self.step = _step_of(root)
        cut = self._cut(root, path, value) if instead_of is None else self._renamed(root, instead_of, path[-1], value)
        changed = self.text[: cut.start] + cut.new + self.text[cut.end :]
        if not cut.note or self.is_json:
            return changed
        return _commented(changed, cut.start + len(cut.new), cut.note)

    def _cut(self, root: yaml.Node, path: Where, value: object) -> _Stretch:
        node, above = root, root
        for index, step in enumerate(path):
            inner = _inside(node, step)
            if inner is None:
                return self._added(node, above, path[index:], value)
            node, above = inner, node
        new = (" " if node.start_mark.index == node.end_mark.index else "") + self._flow(value)
        note = self._named(path) if isinstance(above, yaml.CollectionNode) and above.flow_style else self.note
        return _Stretch(self._at(node.start_mark), self._end(node), new, note)

    def _renamed(self, root: yaml.Node, old: Where, key: str | int, value: object) -> _Stretch:
        """Another key with another value in the place of one."""
        node: yaml.Node | None = root
        for step in old[:-1]:
            node = None if node is None else _inside(node, step)
        if not isinstance(node, yaml.MappingNode):
            raise _CannotError
        begun, ended = next((one, other) for one, other in node.value if one.value == old[-1])
        new = f"{self._flow(key)}: {self._flow(value)}"
        note = self._named((key,)) if node.flow_style else self.note
        return _Stretch(self._at(begun.start_mark), self._end(ended), new, note)

    def _named(self, path: Where) -> str:
        """The note on a line that holds more than the one value."""
        return self.note and f"{path[-1]} {self.note}"

    def _added(self, node: yaml.Node, above: yaml.Node, rest: Where, value: object) -> _Stretch:
        """What the path lacks, at the end of the mapping where it ends."""
        if isinstance(node, yaml.MappingNode):
            if node.flow_style or not node.value:
                return self._in_braces(node, rest, value)
            column = node.value[0][0].start_mark.column
            end = self._line_end(self._end(node))
            return _Stretch(end, end, self.newline + self._lines(rest, value, column))
        if not isinstance(node, yaml.ScalarNode) or not isinstance(above, yaml.MappingNode):
            raise _CannotError
        if above.flow_style:
            written = self.text[self._at(node.start_mark) : self._at(node.end_mark)]
            key = self._flow("part")
            new = f"{{{key}: {written}, {self._pair(rest, value)}}}"
            return _Stretch(self._at(node.start_mark), self._at(node.end_mark), new, self._named(rest))
        return self._unfolded(node, above, rest, value)

    def _in_braces(self, node: yaml.MappingNode, rest: Where, value: object) -> _Stretch:
        pair, note = self._pair(rest, value), self._named(rest)
        if node.value:
            at = self._end(node.value[-1][1])
            return _Stretch(at, at, f", {pair}", note)
        at = self._at(node.start_mark) + 1
        return _Stretch(at, at, pair, note)

    def _unfolded(self, node: yaml.ScalarNode, above: yaml.MappingNode, rest: Where, value: object) -> _Stretch:
        """A bare part of a block becomes a mapping of its own; a comment behind it stays behind the key."""
        start, end = self._at(node.start_mark), self._at(node.end_mark)
        line_end = self._line_end(end)
        column = above.value[0][0].start_mark.column + self.step
        kept = self.text[end:line_end].rstrip()
        first = f"{' ' * column}part: {self.text[start:end]}"
        new = f"{kept}{self.newline}{first}{self.newline}{self._lines(rest, value, column)}"
        return _Stretch(len(self.text[:start].rstrip(" ")), line_end, new)

    def _lines(self, rest: Where, value: object, column: int) -> str:
        """The keys of a path below each other, the value and the note behind the last."""
        lines = [f"{' ' * (column + self.step * depth)}{self._flow(step)}:" for depth, step in enumerate(rest)]
        note = f"  # {self.note}" if self.note else ""
        return self.newline.join(lines) + f" {self._flow(value)}{note}"

    def _pair(self, rest: Where, value: object) -> str:
        inner = self._flow(value) if len(rest) == 1 else f"{{{self._pair(rest[1:], value)}}}"
        return f"{self._flow(rest[0])}: {inner}"

    def _flow(self, value: object) -> str:
        return json.dumps(value, ensure_ascii=False) if self.is_json else _flow(value)

    def _at(self, mark: Any) -> int:
        return self.lines[int(mark.line)] + int(mark.column)

    def _end(self, node: yaml.Node) -> int:
        """Where the last value in a node ends; a block itself is said to end only where the next thing begins."""
        if isinstance(node, yaml.CollectionNode) and not node.flow_style and node.value:
            last = node.value[-1]
            return self._end(last[1] if isinstance(last, tuple) else last)
        if node.end_mark.column == 0 and node.end_mark.line > node.start_mark.line:  # a text of several lines
            return self.lines[int(node.end_mark.line)] - len(self.newline)
        return self._at(node.end_mark)

    def _line_end(self, at: int) -> int:
        found = _BREAK.search(self.text, at)
        return found.start() if found else len(self.text)


def _inside(node: yaml.Node, step: str | int) -> yaml.Node | None:
    if isinstance(node, yaml.SequenceNode) and isinstance(step, int) and step < len(node.value):
        found: yaml.Node = node.value[step]
        return found
    if isinstance(node, yaml.MappingNode):
        return next((value for key, value in node.value if key.value == step), None)
    return None


def _step_of(root: yaml.MappingNode) -> int:
    """By how much the file sets in what stands below a key."""
    for key, value in root.value:
        if isinstance(value, yaml.MappingNode) and not value.flow_style and value.value:
            return max(1, int(value.value[0][0].start_mark.column) - int(key.start_mark.column))
    return _USUAL_STEP


def _is_json(text: str) -> bool:
    try:
        json.loads(text)
    except (ValueError, RecursionError):
        return False
    return True


def _flow(value: object) -> str:
    """A value on one line, as someone would write it."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, Mapping):
        return f"{{{', '.join(f'{_flow(key)}: {_flow(item)}' for key, item in value.items())}}}"
    if isinstance(value, (list, tuple)):
        return f"[{', '.join(map(_flow, value))}]"
    return _word(value)


def _word(value: object) -> str:
    """A text bare where that is read as the same text, also between braces, and else in quotes."""
    bare = str(value)
    plain = re.fullmatch(r"[A-Za-z0-9][\w.+/ -]*", bare) and not bare.endswith(" ")
    try:
        if value is not None and plain and read_document(f"{{a: {bare}}}", "").value == {"a": value}:
            return bare
    except InputError:
        pass
    return json.dumps(value, ensure_ascii=False)


def _commented(text: str, at: int, note: str) -> str:
    """The text with a note at the end of the line of a place, after a comment that stands there; a date is replaced."""
    found = _BREAK.search(text, at)
    end = found.start() if found else len(text)
    comment = _COMMENT.search(text, at, end)
    older = re.compile(rf"{re.escape(note.rpartition(' ')[0])} {_DATE}") if " " in note else None
    if comment is not None and older is not None and older.search(comment[0]):
        return f"{text[: comment.start()]}{older.sub(note, comment[0])}{text[end:]}"
    if comment is None or _DATE_ONLY.fullmatch(comment[0]):
        return f"{text[: comment.start() if comment else end].rstrip()}  # {note}{text[end:]}"
    return f"{text[:end].rstrip()}; {note}{text[end:]}"
