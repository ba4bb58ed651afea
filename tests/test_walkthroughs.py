"""The walk-throughs of DEVELOPERS.md are true: an example of each, step for step, is carried out on a copy of the tree.

Each file of tests/walkthroughs has an entry for every numbered step of its section. What it does there:

    in: PATH                 a file that this step or one before it names, itself or by its folder
      under: KEY             write at the end of what stands under this key at the top of a file of YAML
      after_line: TEXT       write after the line on which this text ends; it stands there once
      after_words: TEXT      write right behind this text
      at_end: true           write at the end of the file
                             with none of these the file is new
    run: COMMAND             buildcheck, ruff or python, in the copy
      prints: [TEXT, …]      what it prints, wherever a line may break
      ends: CODE             its exit code, 0 if left out

and `tests` tells which tests of the copy hold what was written; those of all walk-throughs are run at once.
"""

from __future__ import annotations

import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from plain_yaml import plain

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = sorted((ROOT / "tests" / "walkthroughs").glob("*.yaml"))
COPIED = ("src", "catalog", "schemas", "tests", "pyproject.toml")
# A reader who adds a kind of part writes into no more files than this; the cases of one finding count as one.
MOST_FILES_OF_A_KIND = 8


def _example(path: Path) -> dict[str, Any]:
    found: dict[str, Any] = plain(path)
    return found


def _sections() -> dict[str, list[str]]:
    """The numbered steps of each section of DEVELOPERS.md that tells how to add something."""
    found = {}
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for section in text.split("\n## ")[1:]:
        heading, _, body = section.partition("\n")
        steps = re.split(r"^\d+\. ", body, flags=re.M)[1:]
        if steps:
            found[heading] = [" ".join(step.partition("\n\n")[0].split()) for step in steps]
    del found["One vetting"]
    return found


# ---------------------------------------------------------------- the document and the examples tell the same


def test_each_walkthrough_has_its_example() -> None:
    assert sorted(_example(path)["section"] for path in EXAMPLES) == sorted(_sections())


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_each_step_is_carried_out(path: Path) -> None:
    example = _example(path)
    told, carried_out = _sections()[example["section"]], example["steps"]
    assert len(carried_out) == len(told)
    named: list[str] = []
    for text, step in zip(told, carried_out, strict=True):
        assert step["step"] in text
        assert step["do"]
        named += re.findall(r"`((?:src|catalog|tests)/[\w./*-]+)`", text)
        edited = [each["in"] for each in step["do"] if "in" in each]
        assert [name for name in edited if not name.startswith(tuple(named))] == []


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_what_a_step_prints_is_looked_at(path: Path) -> None:
    runs = [each for step in _example(path)["steps"] for each in step["do"] if "run" in each]
    assert sum(bool(each.get("prints")) for each in runs) >= 2


def _written_by_hand(example: dict[str, Any]) -> set[str]:
    edited = (each["in"] for step in example["steps"] for each in step["do"] if "in" in each)
    return {re.sub(r"^(tests/cases/[^/]+)/.*", r"\1", name) for name in edited}


def test_a_part_kind_touches_few_files() -> None:
    (example,) = (each for each in map(_example, EXAMPLES) if each["section"] == "Adding a part kind")
    assert len(_written_by_hand(example)) <= MOST_FILES_OF_A_KIND


# ---------------------------------------------------------------- and it is so


class _Copy:
    """A copy of the tree, to be changed."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder / "tree"
        self.folder.mkdir()
        for name in COPIED:
            if (ROOT / name).is_dir():
                shutil.copytree(ROOT / name, self.folder / name)
            else:
                shutil.copy2(ROOT / name, self.folder / name)

    def edit(self, edit: dict[str, Any]) -> None:
        """Write what a step says."""
        path, added = self.folder / edit["in"], edit["write"]
        if not edit.keys() & {"under", "after_line", "after_words", "at_end"}:
            assert not path.exists(), f"{edit['in']} is there already"
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_text(added, encoding="utf-8")
            return
        text = path.read_text(encoding="utf-8")
        at = _place(text, edit)
        path.write_text(text[:at] + added + text[at:], encoding="utf-8")

    def run(self, command: str) -> subprocess.CompletedProcess[str]:
        """Run a command with the code, the catalogue and the tests of the copy."""
        program, *arguments = shlex.split(command)
        options = {
            "buildcheck": ["-m", "buildcheck"],
            "ruff": ["-m", "ruff", "--quiet"],
            "pytest": ["-m", "pytest", "-p", "no:xdist", "-p", "no:cacheprovider"],
            "python": [],
        }
        paths = [str(self.folder / name) for name in ("src", "tests")]
        return subprocess.run(
            [sys.executable, *options[program], *arguments], cwd=self.folder,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(paths), "PYTHONUTF8": "1", "COLUMNS": "200",
                 "PYTHONDONTWRITEBYTECODE": ""},
            stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, encoding="utf-8", timeout=300,
        )  # fmt: skip


def _place(text: str, edit: dict[str, Any]) -> int:
    """Where in a text an edit is to go."""
    if "under" in edit:
        (start,) = re.finditer(rf"^{re.escape(edit['under'])}:[^\n]*\n", text, re.M)
        lines = re.compile(r"(?: [^\n]*)?\n").match
        at = end = start.end()
        while found := lines(text, end):  # what is indented belongs to the key; empty lines after it do not
            end = found.end()
            at = end if found[0].strip() else at
        return at
    if edit.get("at_end"):
        return len(text)
    mark = edit.get("after_line") or edit["after_words"]
    assert text.count(mark) == 1, f"{mark!r} stands {text.count(mark)} times in {edit['in']}"
    at = text.index(mark) + len(mark)
    return text.index("\n", at) + 1 if "after_line" in edit else at


def _carry_out(step: dict[str, Any], copy: _Copy) -> None:
    for each in step["do"]:
        if "in" in each:
            copy.edit(each)
            continue
        ran = copy.run(each["run"])
        assert ran.returncode == each.get("ends", 0), ran.stdout
        said = " ".join(ran.stdout.split())
        assert [text for text in each.get("prints", ()) if text not in said] == [], ran.stdout


def _cases(examples: list[dict[str, Any]]) -> list[str]:
    written = (each.get("in", "") for example in examples for step in example["steps"] for each in step["do"])
    found = (re.fullmatch(r"tests/cases/(.+)\.yaml", name) for name in written)
    return [case[1] for case in found if case]


def test_the_walkthroughs_are_true(tmp_path: Path) -> None:
    copy, examples = _Copy(tmp_path), [_example(path) for path in EXAMPLES]
    for example in examples:
        for step in example["steps"]:
            _carry_out(step, copy)
    files = sorted({name for example in examples for name in example["tests"]["in"]})
    named = sorted({name for example in examples for name in example["tests"]["named"]})
    ran = copy.run(f"pytest -rA {' '.join(files)} -k '{' or '.join(named)}'")
    assert ran.returncode == 0, ran.stdout
    cases = _cases(examples)
    assert len(cases) >= 12
    for case in cases:
        sort = "fires" if "/fires-" in case else "is_silent"
        assert f"PASSED tests/rules/test_cases.py::test_case_{sort}[{case}]" in ran.stdout
