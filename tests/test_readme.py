"""README.md: its commands run, their output is what it shows, and it names every command and option."""

from __future__ import annotations

import difflib
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import typer

import readme
from buildcheck.cli import app

TEXT = readme.README.read_text(encoding="utf-8")
COMMANDS = readme.commands(TEXT)


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> readme.Desk:
    return readme.Desk(TEXT, tmp_path_factory.mktemp("readme"))


def test_the_output_it_shows_is_what_the_commands_print(desk: readme.Desk) -> None:
    assert TEXT.count("<!-- output of: ") + TEXT.count("<!-- joints -->") == TEXT.count("<!-- end -->") >= 4
    new = readme.rewritten(TEXT, desk)
    difference = "\n".join(difflib.unified_diff(TEXT.splitlines(), new.splitlines(), "README.md", "now", lineterm=""))
    assert new == TEXT, f"run `make readme` and read what changed:\n{difference}"


@pytest.mark.parametrize(("command", "code"), COMMANDS, ids=[command for command, _ in COMMANDS])
def test_a_command_ends_as_it_states(command: str, code: int, desk: readme.Desk) -> None:
    ran = desk.run(command)
    assert ran.code == code, ran.err or ran.out


def test_every_line_of_a_console_block_is_checked() -> None:
    blocks = re.findall(r"^```console\n(.*?)^```$", TEXT, re.M | re.S)
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("$ buildcheck")]
    assert len(lines) == len(COMMANDS) >= 8


def test_a_wrong_excerpt_is_noticed(tmp_path: Path) -> None:
    text = "<!-- output of: buildcheck --version -->\nlies\n<!-- end -->"
    new = readme.rewritten(text, readme.Desk(text, tmp_path))
    assert "lies" not in new
    assert "$ buildcheck --version\nbuildcheck " in new
    assert "(ends with 0)" in new


def named(command: Any, path: str) -> Iterator[tuple[str, str]]:
    """Each command of the command line with each of its options."""
    for parameter in command.params:
        for option in parameter.opts:
            if option.startswith("--"):
                yield path, option
    for name, inner in getattr(command, "commands", {}).items():
        yield f"{path} {name}", ""
        yield from named(inner, f"{path} {name}")


WORDS = sorted({word for pair in named(typer.main.get_command(app), "buildcheck") for word in pair if word})


def test_the_command_line_is_read() -> None:
    assert {"buildcheck swap", "buildcheck parts verify", "--set", "--catalog"} <= set(WORDS)


@pytest.mark.parametrize("word", WORDS)
def test_every_command_and_option_is_named(word: str) -> None:
    assert re.search(rf"`{re.escape(word)}(?![\w-])", TEXT), f"README.md does not name {word}"


def test_the_job_comes_first_and_in_one_paragraph() -> None:
    first = TEXT.split("\n\n")[1]
    assert not first.startswith(("#", "`", "<"))
    assert "bolt" in first
    assert "ordered" in first


def test_it_starts_with_two_commands() -> None:
    start = TEXT.split("## ")[1]
    assert re.findall(r"^make \w+$", start, re.M) == ["make demo", "make test"]
