"""Lists of part kinds and of words stand in the tables, not in code, where a new one would be forgotten unnoticed."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import buildcheck
from buildcheck.model.parts import PART_KINDS
from laws.bench import catalogue

SOURCE = Path(buildcheck.__file__).parent
STANDARDS = catalogue().standards
MOST = 2  # what two parts are to one another is the matter of a rule; more of them are a list
# What may stand in code: the file, the function or constant that it is in, and the reason.
ALLOWED: dict[tuple[str, str], str] = {
    ("model/blind.py", "DECIDES_NOTHING"): "for each kind what decides nothing; a law finds what is missing",
    ("model/parts/base.py", "Passage"): "what a file may write there; a new sort of line is refused until it is added",
    ("model/pieces.py", "OF_THE_PIECE"): "what is worn, cut or filled; any other attribute is one of the sort",
    ("rules/condition.py", "_WEAR_TOGETHER"): "what is told of each pair is a sentence of its own",
    ("model/bikes.py", "BikeFile"): "words of a bike file that are no kind and no trade word",
    ("report/drawings/outline.py", "_BARS"): "bars as they are drawn; any other is drawn as a drop bar",
    ("report/drawings/plan.py", "_SEATS"): "seats on the drawing; what has none is drawn beside its carrier",
    ("report/drawings/plan.py", "_FLAT"): "other seats for another bar, and else those of _SEATS",
    ("report/drawings/plan.py", "_AT_RIM"): "what sits at the rim where the brake is there, and else at the hub",
    ("report/drawings/plan.py", "BikePlan"): "bars that are drawn without drops; any other has them",
    ("report/drawings/stack.py", "_HALF"): "half widths on the drawing; 7 mm for anything else",
    ("report/drawings/wiring.py", "_key"): "the drawing's own signs; what has none is told as another device",
    ("rules/completeness.py", "_MOTOR_AT"): "where a motor of each place sits; the word says it",
    ("rules/shifting.py", "guide_pulley_gap_unset"): "the parts that a change of which moves the guide pulley",
    ("rules/crank.py", "_find_bearings"): "the sizes that one sum is made of, each of its own part",
    ("rules/ends.py", "_end"): "positions by name, whatever parts they take; each is a field of the record",
    ("rules/geometry.py", "_STEERS"): "the parts whose sizes the formula of the trail takes",
    ("rules/steering.py", "_STACK"): "the sizes that one sum is made of, each of its own part",
    ("trade/galvanic.py", "ANODIC_INDEX_V"): "a published table; a test holds it to the materials that conduct",
}
# Every kind and position, and the words of each vocabulary.
SORTS = {
    "part kinds": frozenset({*PART_KINDS, *STANDARDS.positions}),
    **{
        f"words of {row.id}": frozenset(term.id for term in row.terms) - {"none"}
        for row in STANDARDS.vocabularies.values()
    },
}


def lists_in(source: str) -> Iterator[tuple[str, str, list[str]]]:
    """The name of the outermost function, class or constant round each list, the sort of its names, and the names.

    Where a finding is told, positions only say where it stands.
    """
    tree = ast.parse(source)
    for top in tree.body:
        tellings = [node for node in ast.walk(top) if isinstance(node, ast.Call) and _tells(node)]
        places = {id(item) for call in tellings for item in call.args if isinstance(item, ast.Tuple)}
        for found in _outermost(top, places):
            names = {node.value for node in ast.walk(found) if isinstance(node, ast.Constant)}
            for sort, known in SORTS.items():
                if len(names & known) > MOST:
                    yield _name_of(top), sort, sorted(names & known)


def _tells(call: ast.Call) -> bool:
    return isinstance(call.func, ast.Attribute) and call.func.attr in ("judge", "judge_with_limit", "tell")


def _outermost(node: ast.AST, passed_over: set[int]) -> Iterator[ast.AST]:
    """Literal tuples, lists, sets and mappings that are in no other, and the arguments of calls."""
    for child in ast.iter_child_nodes(node):
        if id(child) in passed_over:
            continue
        if isinstance(child, (ast.Tuple, ast.List, ast.Set, ast.Dict)):
            yield child
            continue
        if isinstance(child, ast.Call):
            constants = [item for item in child.args if isinstance(item, ast.Constant)]
            yield ast.Tuple(elts=constants, ctx=ast.Load())
        yield from _outermost(child, passed_over)


def _name_of(node: ast.stmt) -> str:
    if isinstance(node, (ast.FunctionDef, ast.ClassDef)):
        return node.name
    targets = node.targets if isinstance(node, ast.Assign) else [getattr(node, "target", None)]
    return next((target.id for target in targets if isinstance(target, ast.Name)), "")


def everywhere() -> dict[tuple[str, str], tuple[str, list[str]]]:
    return {
        (path.relative_to(SOURCE).as_posix(), name): (sort, names)
        for path in sorted(SOURCE.rglob("*.py"))
        for name, sort, names in lists_in(path.read_text(encoding="utf-8"))
    }


def test_no_list_of_kinds_or_words_stands_in_code_without_a_reason() -> None:
    assert everywhere().keys() == ALLOWED.keys()
    assert all(ALLOWED.values())


def test_a_list_is_found_wherever_it_stands() -> None:
    kinds = "('frame', 'fork', 'stem')"
    for source in (
        f"KINDS = {kinds}", f"KINDS: tuple = {kinds}", "KINDS = {'frame': 1, 'fork': 2, 'stem': 3}",
        "KINDS = {'bent': ('frame', 'fork'), 'worn': ('stem',)}", "def KINDS(): return x in {'frame', 'fork', 'stem'}",
        f"def KINDS(): self.tell(text(of({kinds})), 'frame')",
        "class KINDS:\n    x = is_word(fact, 'frame', 'fork', 'stem')",
    ):  # fmt: skip
        assert list(lists_in(source)) == [("KINDS", "part kinds", ["fork", "frame", "stem"])], source
    assert not list(lists_in("def f(): return x in ('frame', 'fork')"))
    assert not list(lists_in(f"def f(): yield self.tell(text, {kinds})"))
    words = list(lists_in("TAPERS = ('square-jis', 'square-iso', 'spline10')"))
    assert words == [("TAPERS", "words of spindle", ["spline10", "square-iso", "square-jis"])]


def test_every_kind_says_what_it_is_to_a_bike_and_has_a_position() -> None:
    assert STANDARDS.kinds.keys() == PART_KINDS.keys()
    assert {kind for row in STANDARDS.positions.values() for kind in row.kinds} == PART_KINDS.keys()
    for row in STANDARDS.kinds.values():
        assert row.model_fields_set == type(row).model_fields.keys(), row.id
        assert row.source
