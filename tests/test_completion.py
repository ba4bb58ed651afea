"""The TAB key: what bash, zsh and fish are answered."""

from __future__ import annotations

import os
from pathlib import Path
from unittest import mock

import pytest

from command import run

SHELLS = ("bash", "zsh", "fish")


def offered(shell: str, line: str, **more: str) -> list[str]:
    """What a shell is offered for a line with the cursor at its end; bash gives the words that it makes of it."""
    words = [*line.replace("@", " @ ").replace("=", " = ").split(), *([""] if line.endswith(" ") else [])]
    asked = {
        "_BUILDCHECK_COMPLETE": f"complete_{shell}", "_TYPER_COMPLETE_ARGS": line,
        "_TYPER_COMPLETE_FISH_ACTION": "get-args", **more,
    }  # fmt: skip
    if shell == "bash":
        asked |= {"COMP_WORDS": "\n".join(words), "COMP_CWORD": str(len(words) - 1)}
    with mock.patch.dict(os.environ, asked), mock.patch.dict("sys.modules"):
        ran = run()
    assert (ran.code, ran.err) == (0, "")
    if shell == "zsh":
        rows = ran.out.partition("((")[2].rpartition("))")[0].splitlines()
        return [row.split('"')[1] for row in rows]
    return [row.partition("\t")[0] for row in ran.out.splitlines() if row]


@pytest.mark.parametrize("shell", SHELLS)
@pytest.mark.parametrize(
    ("line", "first"),
    [
        ("buildcheck sw", ["swap"]),
        ("buildcheck swap city-r", ["city-rim"]),
        ("buildcheck job /no/such/fol", []),
        ("buildcheck job city-rim --fit tolverne-lantern-1", ["tolverne-lantern-100"]),
        ("buildcheck swap city-rim --exclude tolverne-lantern-1", ["tolverne-lantern-100"]),
        ("buildcheck swap city-rim --take-off front-t", ["front-tyre", "front-tube"]),
        ("buildcheck swap --take-off saddle city-r", ["city-rim"]),
        ("buildcheck swap city-rim --fit tolverne-alder-90 --keep handle", ["handlebar"]),
        ("buildcheck parts show tolverne-lantern-1", ["tolverne-lantern-100"]),
        ("buildcheck parts fits city-rim handle", ["handlebar"]),
        ("buildcheck parts fits city-rim accessory-l", ["accessory-lamp"]),
        ("buildcheck check outline/gra", ["outline/gravel"]),
        ("buildcheck new my-bike.yaml --outline gra", ["gravel"]),
        ("buildcheck new my-bike.yaml --like city-r", ["city-rim"]),
        ("buildcheck swap city-rim --renew cha", ["chainring-single", "chain"]),
        ("buildcheck swap city-rim --move accessory-b", ["accessory-bell"]),
        ("buildcheck explain bar-clamp-m", ["bar-clamp-mismatch"]),
        ("buildcheck swap city-rim --fit nonsense", []),
        ("buildcheck swap city-rim --fit nonsense@", []),
        ("buildcheck swap city-rim --take-off 'an open quote", []),
    ],
)
def test_what_is_offered(shell: str, line: str, first: list[str]) -> None:
    assert offered(shell, line)[: len(first) or None] == first


@pytest.mark.parametrize("begun", ["", "s"])
def test_the_position_of_a_part(begun: str) -> None:
    line = f"buildcheck swap city-rim --fit tolverne-lantern-100@{begun}"
    assert offered("zsh", line) == offered("fish", line) == ["tolverne-lantern-100@stem"]
    # bash breaks the word before the @, and completes what begins there
    assert offered("bash", line) == ["@stem"]
    rings = offered("zsh", "buildcheck swap city-rim --fit merrowby-twill-ring-46@")
    assert rings[0] == "merrowby-twill-ring-46@chainring-single"  # what the bike has comes first


def test_words_that_bash_breaks_are_one() -> None:
    assert offered("bash", "buildcheck swap city-rim --fit=tolverne-lantern-1") == ["tolverne-lantern-100"]
    line = "buildcheck swap --fit tolverne-lantern-100@stem --rate=55 city-r"
    assert [offered(shell, line) for shell in SHELLS] == [["city-rim"]] * 3


def test_own_files_and_parts_are_offered(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "shop" / "parts").mkdir(parents=True)
    part = "parts:\n- {kind: stem, id: x-own-stem, maker: X, name: Own stem}\n"
    (tmp_path / "shop" / "parts" / "own.yaml").write_text(part, encoding="utf-8")
    (tmp_path / "my-bike.yaml").write_text(f"bike: x\nparts:\n  stem: {{part: y}}\nown_{part}", encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    assert offered("fish", "buildcheck check my") == ["my-bike.yaml"]
    assert offered("fish", "buildcheck check s") == ["shop/"]
    assert offered("fish", f"buildcheck check {tmp_path}/my") == [f"{tmp_path}/my-bike.yaml"]
    assert offered("fish", "buildcheck check nowhere/x") == []
    assert offered("fish", "buildcheck swap my-bike.yaml --fit x-own-stem@") == ["x-own-stem@stem"]
    assert offered("fish", "buildcheck swap my-bike.yaml --take-off ") == ["stem"]
    assert offered("fish", "buildcheck parts show --catalog shop x-o") == ["x-own-stem"]
    assert offered("fish", "buildcheck parts show x-o", BUILDCHECK_CATALOG="shop") == ["x-own-stem"]
    assert offered("fish", "buildcheck parts show x-o") == []


def test_fish_is_told_by_the_exit_code_whether_there_is_anything() -> None:
    asked = {"_BUILDCHECK_COMPLETE": "complete_fish", "_TYPER_COMPLETE_FISH_ACTION": "is-args"}
    for line, code in (("buildcheck check city-r", 0), ("buildcheck check nonsense", 1)):
        with mock.patch.dict(os.environ, {**asked, "_TYPER_COMPLETE_ARGS": line}), mock.patch.dict("sys.modules"):
            assert run().code == code


@pytest.mark.parametrize("shell", SHELLS)
def test_it_is_installed_for_the_program_by_its_name(
    shell: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("HOME", str(tmp_path))
    monkeypatch.setattr("typer._completion_shared._get_shell_name", lambda: shell)
    ran = run("--install-completion")
    assert (ran.code, ran.err) == (0, "")
    written = [path for path in tmp_path.rglob("*") if path.is_file() and "complete_" + shell in path.read_text()]
    assert len(written) == 1
    assert "_BUILDCHECK_COMPLETE" in written[0].read_text()
    assert str(written[0]) in ran.out
    assert "\x1b" not in ran.out
