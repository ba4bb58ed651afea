"""Files that cannot be used: each is refused at its line, in words, and nothing is vetted.

The files are in bad/bikes, bad/parts and bad/tables; bad/expected.yaml says what each is told.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library import catalogue
from buildcheck.library.folders import bundled_folder
from buildcheck.library.yaml_text import read_file
from command import Ran, run

BAD = Path(__file__).parent / "bad"
EXPECTED = read_file(BAD / "expected.yaml").value
assert isinstance(EXPECTED, dict)
TABLE = [(folder, name, messages) for folder, rows in EXPECTED.items() for name, messages in rows.items()]
IDS = [f"{folder}/{name}" for folder, name, _ in TABLE]


@pytest.fixture(autouse=True, scope="module")
def _bundled_files_read_once() -> Iterator[None]:
    """No table here is accepted, so that all files of parts that are read are read with the same words."""
    read_parts, found = catalogue._read_parts, dict[str, dict[str, Any]]()

    def read(content: bytes, shown: str, *known: Any) -> None:
        *known_words, parts = known
        if not shown.startswith(f"{bundled_folder().name}/"):
            read_parts(content, shown, *known)
            return
        if shown not in found:
            read_parts(content, shown, *known_words, found.setdefault(shown, {}))
        parts.update(found[shown])

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(catalogue, "read_document", cache(catalogue.read_document))
        patch.setattr(catalogue, "_read_parts", read)
        yield


def refused(ran: Ran) -> list[str]:
    """The messages of a command that refused its input as every command must."""
    assert (ran.code, ran.out) == (2, ""), ran.err
    assert "Traceback" not in ran.err
    assert ran.err.endswith("\n")
    lines = ran.err.splitlines()
    for line in lines:
        assert re.match(r"--[a-z-]+: |\S.*:[1-9]\d*:[1-9]\d*: (syntax|schema|meaning): ", line), line
        assert line.isprintable()
        assert len(line) < 600  # of which the path may be more than half
    return lines


def test_every_file_has_its_expectation_and_there_are_enough() -> None:
    assert {f"{path.parent.name}/{path.stem}" for path in BAD.glob("*/*.yaml")} == set(IDS)
    assert len(TABLE) >= 45


@pytest.mark.parametrize(("folder", "name", "messages"), TABLE, ids=IDS)
def test_a_bad_file_is_refused_at_its_line(
    folder: str, name: str, messages: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    if folder == "bikes":
        shown = f"{name}.yaml"
        shutil.copy(BAD / folder / shown, shown)
        lines = refused(run("check", shown))
    else:
        shown = f"mine/{'parts' if folder == 'parts' else 'standards'}/{name}.yaml"
        Path(shown).parent.mkdir(parents=True)
        shutil.copy(BAD / folder / f"{name}.yaml", shown)
        lines = refused(run("check", "allroad-wired", "--catalog", "mine"))
    assert len(lines) == len(messages)
    for line, message in zip(lines, messages, strict=True):
        assert line.startswith(f"{shown}:{message}")


GOOD = "bike: fine\nname: A bike\nuse: city\nparts: {frame: harrowdene-fell-54}\n"
BOMB = "a0: &a0 [x, x]\n" + "".join(f"a{n}: &a{n} [*a{n - 1}, *a{n - 1}]\n" for n in range(1, 40))
GENERATED = [
    ("long-line", GOOD + "note: " + "x" * 10_000_000, "1:1", "the file is larger than 2 MB"),
    ("line-in-a-small-file", GOOD + "note: " + "x" * 1_000_000, "5:100001", "the line is longer than 100,000"),
    ("large", GOOD + "# filler\n" * 300_000, "1:1", "the file is larger than 2 MB"),
    ("alias-bomb", BOMB, "1:5", '"&a0" is an anchor'),
    ("deep-brackets", GOOD + "note: " + "[" * 90_000, "5:", "values are nested more than 40 deep"),
    ("deep-lines", GOOD + "note:\n" + "".join(" " * n + "a:\n" for n in range(1, 200)), "45:41", "more than 40 deep"),
    ("many-digits", GOOD + "note: " + "9" * 90_000, "5:7", "has more than 15 digits"),
    ("long-word", GOOD.replace("city", "[" + "x" * 90_000 + "]"), "3:6", "or 'bmx' is expected, not a list"),
    ("long-key", GOOD + "x" * 1000 + ": 1\n", "5:1", "xxx… is not known here"),
    ("long-part", GOOD.replace("harrowdene", "h" * 9000), "4:16", "no part 'hhh"),
]  # fmt: skip


@pytest.mark.parametrize(("name", "text", "place", "why"), GENERATED, ids=[row[0] for row in GENERATED])
def test_files_that_could_exhaust_the_reader(name: str, text: str, place: str, why: str, tmp_path: Path) -> None:
    path = tmp_path / f"{name}.yaml"
    path.write_text(text, encoding="utf-8")
    first = refused(run("check", path))[0]
    assert first.startswith(f"{path}:{place}")
    assert why in first


@pytest.mark.parametrize("name", ["bikes/unit-in-the-number", "bikes/cut-short", "bikes/unknown-part", "bikes/latin-1"])
def test_the_installed_command_refuses_too(name: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "buildcheck", "check", f"{name}.yaml"],
        cwd=BAD, capture_output=True, text=True, check=False,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )  # fmt: skip
    folder, _, stem = name.partition("/")
    lines = refused(Ran(done.returncode, done.stdout, done.stderr))
    assert lines[0].startswith(f"{name}.yaml:{EXPECTED[folder][stem][0]}")


@pytest.mark.parametrize("command", [["swap", "--fit", "tolverne-alder-110"], ["check", "--format", "json"]])
def test_every_command_that_takes_a_bike_refuses_it(command: list[str]) -> None:
    path = BAD / "bikes" / "unknown-position.yaml"
    assert refused(run(*command, path)) == refused(run("check", path))


def test_standard_input() -> None:
    assert refused(run("check", "-", stdin="")) == [
        "<stdin>:1:1: syntax: the file is empty: expected a mapping of keys and values"
    ]
    assert refused(run("check", "-", stdin=b"bike: \xff"))[0].startswith("<stdin>:1:7: syntax: byte 0xff is not UTF-8")
    assert refused(run("check", "-", stdin="parts: {frame: 3}"))[-1].startswith(
        "<stdin>:1:16: schema: parts.frame: a mapping"
    )


def test_files_that_cannot_be_opened(tmp_path: Path) -> None:
    for path, why in [
        (tmp_path / "none.yaml", "No such file or directory"),
        (tmp_path, "Is a directory"),
        (tmp_path / ("x" * 300), "File name too long"),
    ]:
        assert refused(run("check", path)) == [f"{path}:1:1: syntax: the file cannot be read: {why}"]


@pytest.mark.skipif(os.geteuid() == 0, reason="root may read everything")
def test_files_that_may_not_be_read(tmp_path: Path) -> None:
    path = tmp_path / "bike.yaml"
    path.write_text(GOOD)
    path.chmod(0)
    assert refused(run("check", path)) == [f"{path}:1:1: syntax: the file cannot be read: Permission denied"]


def test_catalogue_folders_that_cannot_be_used(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    none, empty, wrong = tmp_path / "none", tmp_path / "empty", tmp_path / "wrong"
    for folder in (empty / "parts", wrong / "bikes"):
        folder.mkdir(parents=True)
    (wrong / "bikes" / "x.yaml").write_text(GOOD)
    assert refused(run("check", "city-rim", "--catalog", none)) == [
        f"{none}:1:1: meaning: there is no such catalogue folder"
    ]
    for folder in (empty, wrong):
        (message,) = refused(run("parts", "verify", "--catalog", folder))
        assert message.startswith(f"{folder}:1:1: meaning: the folder holds no standards/*.yaml")
    monkeypatch.setenv("BUILDCHECK_CATALOG", str(none))
    assert "there is no such catalogue folder" in refused(run("check", "city-rim"))[0]


def test_problems_of_all_files_of_a_catalogue_are_told_together(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    names = ["bad-headset-code", "cut-short", "unknown-kind"]
    Path("mine/parts").mkdir(parents=True)
    for name in names:
        shutil.copy(BAD / "parts" / f"{name}.yaml", "mine/parts")
    lines = refused(run("parts", "verify", "--catalog", "mine"))
    assert [line.partition(".yaml")[0] for line in lines] == [f"mine/parts/{name}" for name in names]
    monkeypatch.chdir("mine")
    assert refused(run("parts", "verify", "--catalog", "."))[0].startswith("./parts/bad-headset-code.yaml:7:11: ")


OPTIONS = [
    (["--set", "stem"], "--set: POSITION.ATTRIBUTE=VALUE is expected, not 'stem'"),
    (["--set", "stem=3"], "--set: POSITION.ATTRIBUTE=VALUE is expected"),
    (["--set", "stem.=3"], "--set: POSITION.ATTRIBUTE=VALUE is expected"),
    (["--set", "stem.length_mm="], "--set: POSITION.ATTRIBUTE=VALUE is expected"),
    (["--set", "=.=."], "--set: "),
    (["--set", "stm.length_mm=90"], "--set: nothing sits in 'stm' on this bike — did you mean \"stem\"?"),
    (["--set", "stem.lenght_mm=90"], "--set: a stem has no attribute 'lenght_mm'"),
    (["--set", "stem.length_mm=90 mm"], "--set: length_mm: a plain number is expected"),
    (["--set", "stem.length_mm=90..80"], "--set: length_mm: an interval runs from low to high"),
    (["--set", "stem.length_mm=[90"], "--set: this \"[\" is never closed"),
    (["--set", "stem.length_mm=.inf"], "--set: \".inf\" is not a finite number"),
    (["--set", "stem.[=3"], "--set: "),
    (["--set", "stem.base_section=rond"], "--set: 'rond' is not a word of the vocabulary"),
    (["--set", "stem.passages=[3]"], "--set: passages.0: a mapping of keys and values is expected, not 3"),
    (["--fit", "tolverne-aldr-110"], "--fit: no part 'tolverne-aldr-110' in the catalogue — did you mean"),
    (["--fit", ""], "--fit: no part ''"),
    (["--fit", "@stem"], "--fit: no part ''"),
    (["--fit", "tolverne-alder-110@stm"], "'stm' is not a position of a bike — did you mean \"stem\"?"),
    (["--fit", "ostmoor-round-5"], "say where 'ostmoor-round-5' is to go: ostmoor-round-5@POSITION; "
     "positions for a spacer: spacer-1, spacer-2, spacer-3, spacer-4"),
    (["--fit", "dunreth-drover-40-622"], "positions for a tyre: front-tyre, rear-tyre"),
    (["--fit", "tolverne-alder-110", "--fit", "tolverne-alder-120"], "two parts are to be fitted at 'stem'"),
    (["--take-off", "stm"], "--take-off: nothing sits in 'stm' on this bike — did you mean \"stem\"?"),
]  # fmt: skip


@pytest.mark.parametrize(("options", "why"), OPTIONS, ids=[" ".join(row[0]) for row in OPTIONS])
def test_options_that_mean_nothing(options: list[str], why: str) -> None:
    change = [] if options[0] in ("--fit", "--take-off") else ["--take-off", "accessory-bag"]
    lines = refused(run("swap", "allroad-wired", *change, *options))
    assert len(lines) == 1
    assert why in lines[0]
