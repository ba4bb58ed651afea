"""README.md and the pages in catalog/: commands run, output is what is shown, every command and option is named."""

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

TEXTS = {readme.shown(path): path.read_text(encoding="utf-8") for path in readme.DOCUMENTS}
TEXT = TEXTS["README.md"]
COMMANDS = sorted({pair for text in TEXTS.values() for pair in readme.commands(text)})
# One for each exit code, and one that asks a file of the documents; all others are run in the test's own process.
AS_PROCESS = (
    "buildcheck explain",
    "buildcheck check my-bike.yaml",
    "buildcheck swap allroad-wired --fit no-such-part",
    "buildcheck swap city-rim --fit tolverne-lantern-100 --rate 55 --stock my-stock.csv",
)
MOST_BYTES = 16_000  # our choice: what is read in some ten minutes
MOST_TOUR_LINES = 60  # our choice


@pytest.fixture(scope="module")
def desk(tmp_path_factory: pytest.TempPathFactory) -> readme.Desk:
    return readme.Desk(TEXTS.values(), tmp_path_factory.mktemp("readme"))


def test_the_documents_are_found() -> None:
    folders = {"bikes", "outlines", "parts", "standards", "texts", "workshop"}
    assert set(TEXTS) == {"README.md", "catalog/README.md", *(f"catalog/{name}/README.md" for name in folders)}


@pytest.mark.parametrize("name", TEXTS)
def test_the_output_it_shows_is_what_the_commands_print(name: str, desk: readme.Desk) -> None:
    text = TEXTS[name]
    assert text.count("<!-- output of: ") + text.count("<!-- table of ") == text.count("<!-- end -->")
    new = readme.rewritten(text, desk)
    difference = "\n".join(difflib.unified_diff(text.splitlines(), new.splitlines(), name, "now", lineterm=""))
    assert new == text, f"run `make readme` and read what changed:\n{difference}"


def test_much_of_it_is_made() -> None:
    assert sum(text.count("<!-- output of: ") for text in TEXTS.values()) >= 10
    tables = [name for text in TEXTS.values() for name in re.findall(r"<!-- table of (\w+) -->", text)]
    assert sorted(tables) == sorted(readme.TABLES)


@pytest.mark.parametrize(("command", "code"), COMMANDS, ids=[command for command, _ in COMMANDS])
def test_a_command_ends_as_it_states(command: str, code: int, desk: readme.Desk) -> None:
    ran = desk.run(command)
    assert ran.code == code, ran.err or ran.out


def test_a_command_for_each_exit_code_is_run_as_a_process() -> None:
    codes = dict(COMMANDS)
    assert {codes[command] for command in AS_PROCESS} == {0, 1, 2}


@pytest.mark.parametrize("command", AS_PROCESS)
def test_a_process_of_its_own_prints_the_same(command: str, desk: readme.Desk) -> None:
    assert desk.run_as_process(command) == desk.run(command)


def test_every_line_of_a_console_block_is_checked() -> None:
    blocks = [block for text in TEXTS.values() for block in re.findall(r"^```console\n(.*?)^```$", text, re.M | re.S)]
    lines = [line for block in blocks for line in block.splitlines() if line.startswith("$ buildcheck")]
    assert len(lines) == sum(len(readme.commands(text)) for text in TEXTS.values()) >= 8


def test_two_example_files_of_one_name_are_refused() -> None:
    text = "<!-- file: my-bike.yaml -->\n```yaml\nbike: x\n```\n"
    assert readme.files([text]) == {"my-bike.yaml": "bike: x\n"}
    with pytest.raises(ValueError, match="two example files"):
        readme.files([text, text])


def test_a_wrong_excerpt_is_noticed(tmp_path: Path) -> None:
    text = "<!-- output of: buildcheck --version -->\nlies\n<!-- end -->"
    new = readme.rewritten(text, readme.Desk([text], tmp_path))
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


def test_it_says_where_each_reader_starts_and_then_two_commands() -> None:
    start, commands = TEXT.split("\n## ")[1:3]
    assert re.findall(r"^\*\*(.+?)\.\*\*", start, re.M) == ["At the bench", "At the orders desk", "As a customer"]
    assert re.findall(r"^make \w+$", commands, re.M) == ["make demo", "make test"]
    assert "-m pip install .\n" in commands


def test_it_is_short_enough_to_be_read() -> None:
    assert len(TEXT.encode()) <= MOST_BYTES
    tour = TEXT.split("\n## A short tour\n")[1].split("\n## ")[0]
    assert tour.count("<!-- output of: ") >= 2
    assert len(tour.splitlines()) <= MOST_TOUR_LINES
