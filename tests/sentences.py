"""Every sentence that the program can say, read off the source and the tables: what another language has to have."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from buildcheck.library.catalogue import load

SOURCE = Path(__file__).parents[1] / "src" / "buildcheck"
# Functions that take a template as their first argument, and the names under which one is handed on.
_SAYING = frozenset({"say", "Said", "tell", "as_said"})
_HANDED = frozenset({"fault", "ask"})


@cache
def templates() -> frozenset[str]:
    """All templates in English."""
    found = {text for path in sorted(SOURCE.rglob("*.py")) for text in _of_file(path)}
    standards = load().standards
    found |= {row.message for row in standards.joints}
    found |= {interface.what for interface in standards.interfaces.values()}
    found |= {contact.what for contact in standards.contacts}
    found |= {text for row in standards.positions.values() for text in (row.what, row.needed_why) if text}
    return frozenset(text for text in found if text.strip("{}") not in ("", "it", "sum"))


def _of_file(path: Path) -> Iterator[str]:
    tree = ast.parse(path.read_text(encoding="utf-8"))
    tables: set[str] = set()
    for node in ast.walk(tree):
        for value in _said(node):
            yield from _constants(value)
            tables |= {name.id for name in ast.walk(value) if isinstance(name, ast.Name)}
        if isinstance(node, ast.Call) and getattr(node.func, "attr", "") == "template":
            yield from _constants(node.args[0])
    for node in tree.body:
        targets = [node.target] if isinstance(node, ast.AnnAssign) else getattr(node, "targets", [])
        if any(isinstance(target, ast.Name) and target.id in tables for target in targets):
            yield from (text for text in _constants(node) if " " in text)
    for node in ast.walk(tree):  # a template that was given a name first
        if isinstance(node, ast.Assign) and any(isinstance(at, ast.Name) and at.id in tables for at in node.targets):
            yield from (text for text in _constants(node.value) if " " in text)


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
    """The nodes of an expression but for what stands inside calls: these say for themselves."""
    yield node
    for child in ast.iter_child_nodes(node):
        if not isinstance(child, ast.Call):
            yield from _without_calls(child)


def of_wording() -> frozenset[str]:
    """The English templates that the wording of sizes and lists asks for."""
    return frozenset({
        "and", "or", "an unknown number of {unit}", "at most {number} {unit}", "at least {number} {unit}",
    })  # fmt: skip


