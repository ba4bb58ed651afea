"""The joint rows, read from their tables once more and given to a logic program: no code shared with the engine."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

import clingo

from buildcheck.model.bikes import Bike, Fitted
from buildcheck.model.parts import Part
from buildcheck.model.quantities import Interval, Unit, Vocabulary
from plain_yaml import plain

STANDARDS = Path(__file__).parents[2] / "catalog" / "standards"
PROGRAM = Path(__file__).with_suffix(".lp").read_text(encoding="utf-8")
_SCALE = 10_000  # all sizes of the tables and of the catalogue are whole in ten-thousandths of their unit

Key = tuple[str, str, str, str]  # name, both positions, level
Side = tuple[Any, ...]
Meet = tuple[str, int, Side, Side]  # interface, tolerance, both sides
Question = tuple[tuple[Meet, ...], bool, bool]  # meets, misfit, perhaps


class Asked(NamedTuple):
    """What is asked of one joint: does it hold, and if its row has such a limit, does it hold within that?"""

    row: dict[str, Any]
    positions: tuple[str, str]
    holds: Question
    bears: Question | None


@cache
def tables() -> dict[str, list[dict[str, Any]]]:
    """The rows of all files of standards, table by table."""
    found: dict[str, list[dict[str, Any]]] = {}
    for path in sorted(STANDARDS.glob("*.yaml")):
        for name, rows in plain(path).items():
            found.setdefault(name, []).extend(each for row in rows for each in _at_each_place(row))
    return found


def _at_each_place(row: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """A row; then as many as there are other places of which it says the same."""
    yield row
    alike = {column: value for column, value in row.items() if column not in ("adapter", "unless")}
    for place in row.get("also", ()):
        yield alike | place


@cache
def _rows_at() -> dict[str, list[dict[str, Any]]]:
    found: dict[str, list[dict[str, Any]]] = {}
    for row in tables()["joints"]:
        for at in row["at"]:
            found.setdefault(at, []).append(row)
    return found


@cache
def _rows_of(position: str) -> list[dict[str, Any]]:
    """The rows about a position; those about `spacer` for `spacer-2`, since there may be many of them."""
    ids = {row["id"]: row for row in tables()["positions"]}
    stem = position
    while stem not in ids or (stem != position and not ids[stem].get("many")):
        if "-" not in stem:
            raise KeyError(position)
        stem = stem.rpartition("-")[0]
    return _rows_at().get(stem, [])


@dataclass
class Opinion:
    """What the tables say of joints; each question is put to the solver once."""

    known: dict[Question, str] = field(default_factory=dict)

    def of(self, bikes: list[Bike]) -> list[Counter[Key]]:
        """The findings on each bike, each by its name, its two positions and its level."""
        asked = [list(_joints(bike)) for bike in bikes]
        questions = {question for each in asked for one in each for question in (one.holds, one.bears)}
        self._solve({question for question in questions - self.known.keys() if question is not None})
        return [Counter(self._findings(each)) for each in asked]

    def _findings(self, asked: list[Asked]) -> Iterator[Key]:
        for row, (a, b), holds, bears in asked:
            said, level = self.known[holds], row["level"]
            if said != "holds" and bears is not None and self.known[bears] != "holds":
                said, level = self.known[bears], "blocks"
            if said == "fails":
                yield row["name"], a, b, level
            elif said == "unknown" and level in ("blocks", "extra"):  # a lesser one is not worth a question
                yield row["name"], a, b, "unknown" if level == "blocks" else "caution"

    def _solve(self, questions: set[Question]) -> None:
        if not questions:
            return
        numbered = dict(enumerate(sorted(questions, key=repr)))
        control = clingo.Control(["--warn=none"])
        control.add("base", [], "\n".join([PROGRAM, *_interfaces(), *_questions(numbered)]))
        control.ground([("base", [])])
        self.known.update(dict.fromkeys(questions, "holds"))

        def learn(model: clingo.Model) -> None:
            for symbol in model.symbols(shown=True):
                question = numbered[symbol.arguments[0].number]
                assert self.known[question] == "holds", "one answer to each question"
                self.known[question] = symbol.name

        assert control.solve(on_model=learn).satisfiable


def _joints(bike: Bike) -> Iterator[Asked]:
    for name, spot in bike.fitted.items():
        for row in _rows_of(name):
            met = _sides(bike, row, spot)
            perhaps = None if met is None else _about(row, met[0].part)
            if met is None or perhaps is None:
                continue
            between = _other(bike, row["adapter"], spot) if row.get("adapter") else None
            limit = row.get("blocks_beyond")
            bears = None if limit is None else (*_meets(row, limit, *met, None), perhaps)
            usual = _tolerances()[row["interface"]]
            yield Asked(row, (met[0].position, met[1].position), (*_meets(row, usual, *met, between), perhaps), bears)


@cache
def _tolerances() -> dict[str, float]:
    return {row["id"]: row["mates"].get("tolerance") or 0 for row in tables()["interfaces"]}


def _other(bike: Bike, relation: str, spot: Fitted) -> Fitted | None:
    by = {"on": spot.on, "from": spot.start, "to": spot.end}
    position = by[relation] if relation in by else relation.replace("{at}", spot.position)
    return bike.fitted.get(position or "")


def _sides(bike: Bike, row: dict[str, Any], spot: Fitted) -> tuple[Fitted, Fitted] | None:
    relation, dot, a_name = row["a"].rpartition(".")
    a = _other(bike, relation, spot) if dot else spot
    b = _other(bike, row["of"], spot)
    if a is None or b is None or a.home == b.home:
        return None
    if "unless" in row and _other(bike, row["unless"], spot) is not None:
        return None
    if "a_kinds" in row and a.part.kind not in row["a_kinds"]:
        return None
    if "b_kinds" in row and b.part.kind not in row["b_kinds"]:
        return None
    return (a, b) if _has(a.part, a_name) and _has(b.part, row["b"]) else None


def _has(part: Part, name: str) -> bool:
    return name in type(part).model_fields or isinstance(getattr(type(part), name, None), property)


def _about(row: dict[str, Any], part: Part) -> bool | None:
    """Is it only perhaps that the row is about this part? None where it is not about it."""
    perhaps = False
    for name, pattern in row.get("a_where", {}).items():
        if not _has(part, name):
            return None
        value = _told(part, name)
        if value is None:
            perhaps = True
        elif not fnmatchcase({True: "yes", False: "no"}.get(value, str(value)), pattern):
            return None
    return perhaps


def _told(part: Part, name: str) -> Any:
    """What a record says, or else the one thing that the table of constraints leaves it."""
    said = getattr(part, name)
    if said is not None:
        return said
    for row in tables()["constraints"]:
        word = row.get("then", {}).get(name, "!")
        if part.kind in row["kinds"] and not set(word) & set("!|*") and all(
            _is_so(getattr(part, key), text) for key, text in row["when"].items()
        ):
            marks = type(part).model_fields[name].metadata
            if any(isinstance(mark, Unit) for mark in marks):
                return Interval(float(word), float(word))
            return (word,) if any(isinstance(mark, Vocabulary) and mark.many for mark in marks) else word
    return None


def _is_so(value: Any, text: str) -> bool:
    if value is None or (isinstance(value, Interval) and value.low != value.high):
        return False
    if isinstance(value, Interval):
        value = f"{value.low:g}"
    found = any(fnmatchcase(str(value), pattern) for pattern in text.removeprefix("!").split("|"))
    return found is not text.startswith("!")


def _meets(
    row: dict[str, Any], tolerance: float, a: Fitted, b: Fitted, between: Fitted | None
) -> tuple[tuple[Meet, ...], bool]:
    interface, within = row["interface"], _whole(tolerance)
    left, right = _told(a.part, row["a"].rpartition(".")[2]), _told(b.part, row["b"])
    if between is None:
        return ((interface, within, _side(left), _side(right)),), False
    if getattr(between.part, "interface", None) != interface:
        return (), True
    sizes = any(isinstance(value, Interval | float) for value in (left, right))
    near, far = (getattr(between.part, f"side_{side}{'_mm' if sizes else ''}") for side in "ab")
    return ((interface, within, _side(left), _side(near)), (interface, within, _side(far), _side(right))), False


def _side(value: Any) -> Side:
    """Nothing for what nobody knows, the two ends of a size in ten-thousandths, else the words."""
    if value is None:
        return ("nobody_knows",)
    if isinstance(value, Interval):
        return "size", _whole(value.low), _whole(value.high)
    if isinstance(value, float):
        return "size", _whole(value), _whole(value)
    words = value if isinstance(value, tuple) else (value,)
    return "word", *sorted({True: "yes", False: "no"}.get(word, str(word)) for word in words)


def _whole(number: float) -> int:
    whole = round(number * _SCALE)
    assert abs(number * _SCALE - whole) < 1e-3, number
    return whole


def _interfaces() -> Iterator[str]:
    for row in tables()["interfaces"]:
        rule, name = row["mates"], f'"{row["id"]}"'
        yield f'rule({name},"{rule["kind"]}").'
        yield from (f'pair({name},"{_text(x)}","{_text(y)}").' for x, y in rule.get("pairs", ()))
        if rule.get("one_way"):
            yield f"one_way({name})."


def _text(word: Any) -> str:
    """A word of a table; plain YAML reads a bare yes or no as a truth value."""
    return {True: "yes", False: "no"}.get(word, word) if isinstance(word, bool) else str(word)


def _questions(numbered: dict[int, Question]) -> Iterator[str]:
    for number, (meets, misfit, perhaps) in numbered.items():
        yield f"joint({number})."
        if misfit:
            yield f"misfit({number})."
        if perhaps:
            yield f"perhaps({number})."
        for index, (interface, within, *sides) in enumerate(meets):
            name = f"({number},{index})"
            yield f'meet({name},"{interface}"). within({name},{within}). needs({number},{name}).'
            for which, (sort, *values) in zip("ab", sides, strict=True):
                if sort == "word":
                    yield from (f'word({name},{which},"{word}").' for word in values)
                    yield f"worded({name},{which})."  # also where a part takes no word at all
                else:
                    yield f"{sort}({','.join((name, which, *map(str, values)))})."
