"""Every sentence that the program can say, read off the source and the tables: what another language has to have."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from buildcheck.library.catalogue import load

SOURCE = Path(__file__).parents[1] / "src" / "buildcheck"
# Functions that take a template as their first argument, and the names under which one is handed on.
_SAYING = frozenset({"say", "tell", "as_said"})
_HANDED = frozenset({"fault", "ask"})
# A file that makes sentences imports from one of these.
_SAID_IN = frozenset({"buildcheck.model.sentences", "buildcheck.fit.engine", "buildcheck.fit.causes"})


@cache
def templates() -> frozenset[str]:
    """All templates in English."""
    found = {text for path in sorted(SOURCE.rglob("*.py")) for text in _of_file(path)}
    standards = load().standards
    found |= {row.message for row in standards.joints}
    found |= {interface.what for interface in standards.interfaces.values()}
    found |= {contact.what for contact in standards.contacts}
    found |= {kind.if_stuck for kind in standards.kinds.values() if kind.if_stuck}
    for row in standards.positions.values():
        found.add(row.what)
        found |= {row.needed_why} if row.needed_why else set()
    for function in standards.functions.values():
        if function.line is not None and function.without_line is not None:
            found |= {function.without_line, standards.positions[function.line].what}
    return frozenset(text for text in found if text.strip("{}") not in ("", "it", "sum"))


def _of_file(path: Path) -> Iterator[str]:
    """The templates of one file that makes sentences: as arguments, in tables, by names, and of functions."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    if not any(isinstance(node, ast.ImportFrom) and node.module in _SAID_IN for node in tree.body):
        return
    names: set[str] = set()
    for node in ast.walk(tree):
        for value in _said(node):
            yield from _constants(value)
            names |= _led_to(value)
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "template":
            yield from _constants(node.args[0])
    while (more := names | {name for given, value in _given(tree) if given & names for name in _names(value)}) != names:
        names = more
    for given, value in _given(tree):
        if given & names:
            yield from (text for text in _constants(value) if " " in text)


def _given(tree: ast.AST) -> Iterator[tuple[set[str], ast.expr]]:
    """What gets a value by which expression: names, also in a loop, and functions of text by what they return."""
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef) and isinstance(node.returns, ast.Name) and node.returns.id == "str":
            yield from (({node.name}, end.value) for end in ast.walk(node) if isinstance(end, ast.Return) and end.value)
        elif isinstance(node, (ast.For, ast.comprehension)):
            yield _names(node.target), node.iter
        elif isinstance(node, ast.Assign):
            yield {name for target in node.targets for name in _names(target)}, node.value
        elif isinstance(node, (ast.AnnAssign, ast.NamedExpr)) and node.value is not None:
            yield _names(node.target), node.value


def _led_to(template: ast.expr) -> set[str]:
    """The names by which a template is told, but for the values in calls and the keys of tables."""
    called = {template.func.id} if isinstance(template, ast.Call) and isinstance(template.func, ast.Name) else set()
    return called | {node.id for node in _without_calls(template) if isinstance(node, ast.Name)}


def _names(node: ast.AST) -> set[str]:
    return {each.id for each in ast.walk(node) if isinstance(each, ast.Name)}


def _said(node: ast.AST) -> Iterator[ast.expr]:
    """The expressions of templates in a call."""
    if not isinstance(node, ast.Call):
        return
    name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
    if name in _SAYING and node.args:
        yield node.args[0]
    yield from (given.value for given in node.keywords if given.arg in _HANDED)


def _constants(node: ast.AST) -> Iterator[str]:
    for each in _without_calls(node):
        if isinstance(each, ast.Constant) and isinstance(each.value, str) and each.value:
            yield each.value


def _without_calls(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes of an expression but for calls, whose arguments say for themselves, and for keys of tables."""
    if isinstance(node, ast.Call):
        return
    yield node
    keys = node.keys if isinstance(node, ast.Dict) else [node.slice] if isinstance(node, ast.Subscript) else []
    for child in ast.iter_child_nodes(node):
        if child not in keys:
            yield from _without_calls(child)


def of_wording() -> frozenset[str]:
    """The English templates that the wording of sizes and lists asks for."""
    return frozenset({
        "and", "or", "{low}..{high}", "an unknown number of {unit}", "at most {number} {unit}",
        "at least {number} {unit}",
    })  # fmt: skip


