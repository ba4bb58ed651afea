"""Where what is said goes: streams that are closed, full or broken, terminals, and what could upset these."""

from __future__ import annotations

import os
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from buildcheck.library.folders import bundled_folder
from command import run

CITY = (bundled_folder() / "bikes" / "city-rim.yaml").read_text(encoding="utf-8")
ENVIRONMENT = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)}
posix = pytest.mark.skipif(os.name != "posix", reason="streams are closed by a shell here")

FITS = "check city-rim"
BLOCKED = "swap city-rim --take-off saddle"
NO_BIKE = "check no-such-bike"


def _in_shell(arguments: str, redirection: str) -> subprocess.CompletedProcess[str]:
    line = f"{shlex.quote(sys.executable)} -m buildcheck {arguments} {redirection}"
    return subprocess.run(line, shell=True, env=ENVIRONMENT, capture_output=True, text=True, check=False)


@posix
@pytest.mark.parametrize(
    ("arguments", "redirection", "code"),
    [
        (FITS, ">&-", 0), (BLOCKED, ">&-", 1), (f"{BLOCKED} --format json", ">&- 2>&-", 1), ("explain", ">&-", 0),
        ("--version", ">&-", 0), ("--help", ">&- 2>&-", 0), (NO_BIKE, "2>&-", 2), (NO_BIKE, ">&- 2>&- <&-", 2),
        (FITS, "<&-", 0), ("parts find lantern", "2>&-", 0), ("check --nonsense", "2>&-", 2),
    ],
)  # fmt: skip
def test_a_closed_stream_changes_nothing(arguments: str, redirection: str, code: int) -> None:
    done = _in_shell(arguments, redirection)
    assert done.returncode == code
    assert done.stderr == ""


@posix
def test_nothing_is_written_into_a_file_that_takes_the_number_of_a_closed_stream(tmp_path: Path) -> None:
    report = tmp_path / "report"
    assert _in_shell(f"{FITS} --output {report}", ">&- 2>&- <&-").returncode == 0
    assert report.read_text(encoding="utf-8") == run(*FITS.split()).out


@posix
def test_a_closed_standard_input_holds_no_bike() -> None:
    done = _in_shell("check -", "<&-")
    assert done.returncode == 2
    assert done.stderr == "<stdin>:1:1: syntax: the file cannot be read: standard input is closed\n"


@posix
@pytest.mark.parametrize("arguments", [NO_BIKE, "check --nonsense", "swap city-rim"])
def test_a_reader_of_the_errors_that_goes_away_changes_nothing(arguments: str) -> None:
    read, write = os.pipe()
    os.close(read)
    command = [sys.executable, "-m", "buildcheck", *arguments.split()]
    done = subprocess.run(command, stdout=subprocess.PIPE, stderr=write, env=ENVIRONMENT, check=False)
    os.close(write)
    assert (done.returncode, done.stdout) == (2, b"")


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no device that is always full")
@pytest.mark.parametrize("arguments", [FITS, "parts find lantern", "explain"])
def test_a_full_disk_is_told_and_is_no_verdict(arguments: str) -> None:
    done = _in_shell(arguments, ">/dev/full")
    assert done.returncode == 2
    assert done.stderr.splitlines()[-1] == "buildcheck: No space left on device"
    assert _in_shell(NO_BIKE, "2>/dev/full").returncode == 2


@pytest.mark.parametrize("columns", ["0", "-1", "", "1", "x"])
def test_a_terminal_of_any_width_shows_the_report(columns: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", columns)
    assert "FITS: nothing was found that blocks it" in run("check", "city-rim", terminal=True).out


@pytest.mark.parametrize("format_", ["text", "json"])
def test_a_dash_is_standard_output(format_: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    for command in (["check", "city-rim"], ["job", "city-rim", "--fit", "wexcombe-hide@saddle"]):
        assert run(*command, "--format", format_, "--output", "-") == run(*command, "--format", format_)
    assert list(tmp_path.iterdir()) == []


def test_a_file_name_cannot_upset_the_terminal(tmp_path: Path) -> None:
    path = tmp_path / "bike\x1b[31m\n.yaml"
    path.write_text(CITY.replace("length_mm: 1020", "length_mm: 700"), encoding="utf-8")
    shown = run("check", path, "--all").out
    assert "\x1b" not in shown
    assert r"bike\x1b[31m\n.yaml:30" in shown
    for arguments in (["check", f"{path}x"], ["check", "city-rim", "--output", tmp_path / "\x1b" / "x"]):
        ran = run(*arguments)
        assert (ran.code, ran.out) == (2, "")
        assert ran.err.removesuffix("\n").isprintable()


@pytest.mark.parametrize(
    "arguments", [["check", "--\x1b[31m"], ["\x1b[31m"], ["explain", "\x1b[31m"], ["parts", "show", "\x1b[31m"],
                  ["check", "city-rim", "--set", "\x1b[31m=1"], ["swap", "city-rim", "--fit", "\x1b[31m"],
                  ["swap", "city-rim", "--take-off", "saddle", "--rate", "\x1b[31m"],
                  ["check", "city-rim", "--format", "\x1b[31m"]],
)  # fmt: skip
def test_no_word_of_the_command_line_can_upset_the_terminal(arguments: list[str]) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert "\x1b" not in ran.err
    assert r"\x1b[31m" in ran.err


@pytest.mark.parametrize("character", ["\x00", "\x1b", "\x08", "\r", "\x7f", "\x9b", "\uffff"])
@pytest.mark.parametrize("line", ['name: "{}"', 'name: "x"\n"no{}te": x', 'note: "{}"'])
def test_a_control_character_in_a_bike_file_is_refused_with_its_line(line: str, character: str) -> None:
    written = line.format(f"\\u{ord(character):04x}")
    bike = "\n".join(row for row in CITY.splitlines() if not row.startswith(("name:", "note:")))
    more = "" if line.startswith("name") else 'name: "x"\n'
    ran = run("check", "-", stdin=f"{more}{written}\n{bike}\n")
    assert (ran.code, ran.out) == (2, "")
    assert f"U+{ord(character):04X}, which is a control character" in ran.err
    assert ran.err.startswith(f"<stdin>:{1 + (more + written).count(chr(10))}:")


def test_a_line_break_in_a_name_makes_no_line_of_its_own() -> None:
    name = "name: Harrowdene Parkway city bike, size 55"
    assert name in CITY
    ran = run("check", "-", stdin=CITY.replace(name, 'name: "x\\nBLOCKED: \\u202eno"'))
    assert r"Bike: x BLOCKED: \u202eno [city-rim]" in ran.out
    assert not any(line.startswith("BLOCKED") for line in ran.out.splitlines())
