"""One name for one thing: no class of the program is named as another one is."""

from __future__ import annotations

import ast
from collections import defaultdict
from pathlib import Path

SOURCE = Path(__file__).parents[1] / "src" / "buildcheck"


def test_no_two_classes_have_one_name() -> None:
    found: dict[str, list[str]] = defaultdict(list)
    for path in sorted(SOURCE.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef):
                found[node.name].append(str(path.relative_to(SOURCE)))
    assert len(found) > 200
    assert {name: files for name, files in found.items() if len(files) > 1} == {}
