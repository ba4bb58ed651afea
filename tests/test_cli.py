"""The command line: exit codes, where output goes, and that a fault of ours never looks like a verdict."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from buildcheck import __version__, cli
from buildcheck.cli import explain as explain_cli
from buildcheck.library.cache import cache_folder
from buildcheck.library.folders import bundled_folder, cases_folder, schemas_folder
from command import run

CITY = (bundled_folder() / "bikes" / "city-rim.yaml").read_text(encoding="utf-8")
ENVIRONMENT = {**os.environ, "PYTHONPATH": os.pathsep.join(sys.path), "TERM": "xterm-256color"}
BUILDCHECK = [sys.executable, "-m", "buildcheck"]

# What the bike is asked, and how it must end.
FITS = ["check", "city-rim"]
EXTRA_WORK = ["swap", "allroad-wired", "--fit", "pellhurst-hose-a-2000@rear-brake-line"]
BLOCKED = ["swap", "city-rim", "--take-off", "saddle"]
UNDECIDED = ["check", "city-rim", "--set", "stem.bar_clamp_mm=unknown", "--set", "handlebar.clamp_mm=25..26"]


@pytest.mark.parametrize(
    ("arguments", "code", "verdict"),
    [(FITS, 0, "fits"), (EXTRA_WORK, 0, "fits-with-extra-work"), (BLOCKED, 1, "blocked"), (UNDECIDED, 1, "undecided")],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_the_exit_code_is_the_verdict_in_every_format(
    arguments: list[str], code: int, verdict: str, tmp_path: Path
) -> None:
    text, plain = run(*arguments), run(*arguments, "--format", "json")
    assert text.code == plain.code == code
    assert run(*arguments, "--output", tmp_path / "report").code == code
    assert text.err == plain.err == ""
    assert json.loads(plain.out)["verdict"] == verdict
    assert text.out.startswith(f"{verdict.upper().replace('-', ' ')}: ")


def test_a_fault_of_ours_ends_with_3_and_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def crash(*_: object, **__: object) -> None:
        raise KeyError("stem")

    monkeypatch.setattr("buildcheck.face.vet", crash)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    ran = run("check", "city-rim")
    assert (ran.code, ran.out) == (3, "")
    assert "KeyError" in ran.err
    assert "a fault of buildcheck itself, not of your file" in ran.err


def test_an_interrupt_is_no_verdict(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("buildcheck.face.vet", interrupt)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    assert run("check", "city-rim").code == 130


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        ([], "Usage"),
        (["chek"], "No such command"),
        (["check"], "Missing argument"),
        (["check", "city-rim", "extra"], "unexpected extra argument"),
        (["check", "city-rim", "--formt", "json"], "No such option"),
        (["check", "city-rim", "--format", "yaml"], "'yaml' is not one of 'text', 'json'"),
        (["check", "city-rim", "--output"], "requires an argument"),
        (["swap", "city-rim"], "say what changes: --fit PART[@POSITION], --renew POSITION"),
        (["explain", "bar-clamp-mismtch"], 'did you mean "bar-clamp-mismatch"?'),
        (["parts", "show", "tolverne-aldr-100"], 'did you mean "tolverne-alder-100"?'),
        (["parts"], "Usage"),
        (["parts", "find"], "Missing argument"),
    ],
)
def test_usage_errors_end_with_2_and_say_nothing_on_standard_output(arguments: list[str], why: str) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert why in ran.err
    assert "Traceback" not in ran.err


def test_help_and_version() -> None:
    assert run("--version").out == f"buildcheck {__version__}\n"
    for arguments in (["--help"], ["check", "--help"], ["parts", "--help"]):
        ran = run(*arguments)
        assert (ran.code, ran.err) == (0, "")
        assert ran.out.startswith("Usage: ")


# ---- where a bike comes from, where a report goes ----


def test_a_bike_from_standard_input_is_the_same_bike() -> None:
    assert run("check", "-", "--all", stdin=CITY) == run("check", "city-rim", "--all")
    assert run("swap", "-", "--take-off", "saddle", "--all", stdin=CITY) == run(*BLOCKED, "--all")


def test_a_file_comes_before_a_bundled_bike_of_its_name(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    Path("city-rim").write_text(CITY.replace("Harrowdene Parkway city bike", "Another bike"))
    assert "Another bike" in run("check", "city-rim").out
    assert "Another bike" not in run("check", str(bundled_folder() / "bikes" / "city-rim.yaml")).out


@pytest.mark.parametrize("format_", ["text", "json"])
def test_output_goes_to_the_file_alone(format_: str, tmp_path: Path) -> None:
    path = tmp_path / "report"
    path.write_text("old")
    ran = run(*BLOCKED, "--format", format_, "--output", path)
    assert (ran.code, ran.out, ran.err) == (1, "", "")
    assert path.read_text(encoding="utf-8") == run(*BLOCKED, "--format", format_).out
    assert list(tmp_path.iterdir()) == [path]


def test_output_that_cannot_be_written_leaves_nothing_behind(tmp_path: Path) -> None:
    for path, why in [(tmp_path / "none" / "report", "No such file or directory"), (tmp_path, "Is a directory")]:
        ran = run(*FITS, "--output", path)
        assert (ran.code, ran.out, ran.err) == (2, "", f"buildcheck: {path}: {why}\n")
    assert list(tmp_path.iterdir()) == []


def test_a_report_that_is_refused_leaves_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "report"
    path.write_text("old")
    assert run("check", "-", "--output", path, stdin="").code == 2
    assert path.read_text() == "old"


def test_demo_writes_its_reports_and_pages(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    ran = run("demo")
    assert ran.code == 0
    whole = (tmp_path / "demo-out" / "report.txt").read_text(encoding="utf-8")
    assert whole == run("swap", cli.DEMO_BIKE, "--fit", *cli.DEMO_FIT, "--all").out
    assert ran.out == run("swap", cli.DEMO_BIKE, "--fit", *cli.DEMO_FIT).out
    assert len(ran.out.splitlines()) <= 30 < len(whole.splitlines())
    assert json.loads((tmp_path / "demo-out" / "report.json").read_text(encoding="utf-8"))["bike"] == "allroad-wired"
    for name in ("job.html", "customer.html"):
        assert (tmp_path / "demo-out" / name).read_text(encoding="utf-8").startswith("<!DOCTYPE html>")
        assert name in ran.err
    shutil.rmtree("demo-out")
    Path("demo-out").write_text("in the way")
    assert run("demo").code == 2


# ---- catalogues ----

PART = "parts:\n  - {kind: saddle, id: {id}, maker: Nobody, name: Bench, weight_g: 300}\n"


def shelf(folder: Path, part_id: str) -> Path:
    (folder / "parts").mkdir(parents=True)
    (folder / "parts" / "saddles.yaml").write_text(PART.replace("{id}", part_id))
    return folder


def test_catalogues_add_parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    one, two, three = (shelf(tmp_path / name, f"bench-{name}") for name in ("one", "two", "three"))
    monkeypatch.setenv("BUILDCHECK_CATALOG", os.pathsep.join(["", str(two), str(three)]))
    found = run("parts", "find", "bench", "saddle", "--catalog", one)
    assert [line.split()[0] for line in found.out.splitlines()] == ["bench-one", "bench-three", "bench-two"]
    assert "tolverne-alder-100" in run("parts", "find", "tolverne", "--catalog", one).out
    monkeypatch.delenv("BUILDCHECK_CATALOG")
    both = run("parts", "find", "bench", "--catalog", one, "--catalog", two)
    assert [line.split()[0] for line in both.out.splitlines()] == ["bench-one", "bench-two"]
    assert run("parts", "find", "bench").out == ""
    swapped = run("swap", "city-rim", "--fit", "bench-one", "--catalog", one, "--format", "json")
    assert json.loads(swapped.out)["change"] == [{"fit": "bench-one", "position": "saddle"}]
    assert run("swap", "city-rim", "--fit", "bench-one").code == 2


def test_find_tells_kind_price_and_number() -> None:
    ran = run("parts", "find", "WEXCOMBE", "veil")
    first = ran.out.splitlines()[0]
    assert re.fullmatch(r"wexcombe-veil-420-100 +EUR 338\.50  .*width 420.*  Wexcombe Veil bar-stem 420 x 100", first)
    assert re.fullmatch(r"\d+ of \d+ parts\n", ran.err)
    none = run("parts", "find", "xyzzy")
    assert (none.code, none.out, none.err[:5]) == (0, "", "0 of ")


def test_show_tells_what_is_known_what_is_not_and_where_it_stands(tmp_path: Path) -> None:
    ran = run("parts", "show", "tolverne-alder-100")
    assert ran.code == 0
    assert re.match(
        r"Tolverne Alder stem 100 mm by Tolverne \[tolverne-alder-100\], catalog/parts/stems\.yaml:\d+\n", ran.out
    )
    assert "  length_mm: 100.0\n" in ran.out
    assert re.search(r"not known:.*\bquill_mm\b", ran.out)
    mine = run("parts", "show", "bench", "--catalog", shelf(tmp_path / "mine", "bench"))
    assert mine.out.startswith(f"Bench by Nobody [bench], {tmp_path}/mine/parts/saddles.yaml:2\n")


def test_verify_counts_what_it_has_read(tmp_path: Path) -> None:
    plain = run("parts", "verify")
    more = run("parts", "verify", "--catalog", shelf(tmp_path / "mine", "bench"))
    counts = [int(re.match(r"(\d+) parts, \d+ bikes, ", ran.out)[1]) for ran in (plain, more)]  # type: ignore[index]
    assert counts[1] == counts[0] + 1
    assert plain.out.endswith(": all in order\n")


# ---- explain, schema ----


def test_explain_lists_explains_and_writes_json() -> None:
    names = [line.split()[0] for line in run("explain").out.splitlines() if not line.startswith(" ")]
    pages = json.loads(run("explain", "--format", "json").out)
    assert names == sorted(names) == [page["name"] for page in pages]
    assert len(names) > 60
    ran = run("explain", "bar-clamp-mismatch")
    assert ran.out.startswith("bar-clamp-mismatch (blocks")
    assert [label for label in ("Fault:", "Why:", "Cure:", "Source:") if label not in ran.out] == []
    assert "An example that fires (fires-" in ran.out
    prose = ran.out.partition("An example")[0]
    assert max(len(line) for line in prose.splitlines()) <= 80
    assert "Cured by: fitting tolverne-shim-260-254 as bar-clamp-shim" in ran.out
    assert "Silent: The calliper finds 31.75 mm on a 31.8 mm bar." in ran.out
    assert "  - set handlebar.clamp_mm: 31.75 instead of 25.4" in ran.out
    page = json.loads(run("explain", "bar-clamp-mismatch", "--format", "json").out)
    example = page.pop("example")
    assert page in pages
    assert {"name", "levels", "fault", "why", "cure", "source", "looks_at", "in_use"} == set(page)
    assert example["message"].startswith("The handlebar")
    assert example["cured_by"]["position"] == "bar-clamp-shim"
    assert {"what": "set stem.bar_clamp_mm", "fires": "26.0", "silent": None} in example["differences"]


def test_explain_tells_what_to_leave_off() -> None:
    assert "Cured by: leaving off the spacer-4" in run("explain", "spacers-above-stem-too-high").out


def test_explain_does_without_an_example(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(explain_cli, "cases_folder", lambda: tmp_path)
    assert "example" not in run("explain", "bar-clamp-mismatch").out
    assert json.loads(run("explain", "bar-clamp-mismatch", "--format", "json").out)["example"] is None
    assert cases_folder().is_dir()


def test_schema_is_written_and_compared(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    folder = tmp_path / "schemas"
    monkeypatch.setattr(cli, "schemas_folder", lambda: folder)
    assert run("schema", "--check").code == 1
    assert not folder.exists()
    written = run("schema")
    assert written.code == 0
    assert sorted(path.name for path in folder.iterdir()) == sorted(path.name for path in schemas_folder().iterdir())
    assert {line.split("/")[1] for line in written.out.splitlines()} == {path.name for path in folder.iterdir()}
    assert run("schema", "--check").code == 0
    (folder / "bike.schema.json").write_text("{}\n")
    stale = run("schema", "--check")
    assert (stale.code, stale.out) == (1, "differs: schemas/bike.schema.json\n")
    assert run("schema").out == "written: schemas/bike.schema.json\n"
    assert run("schema", "--check").out == "schemas are equal to the records\n"


# ---- terminals, pipes, names ----

ESCAPE = "\x1b"


def test_colour_only_on_a_terminal_that_wants_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    monkeypatch.setenv("COLUMNS", "40")
    coloured, plain = run(*BLOCKED, terminal=True), run(*BLOCKED)
    assert ESCAPE in coloured.out
    assert ESCAPE not in plain.out
    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured.out) == plain.out
    assert ESCAPE not in run(*BLOCKED, "--format", "json", terminal=True).out
    monkeypatch.setenv("NO_COLOR", "1")
    assert run(*BLOCKED, terminal=True) == plain


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are POSIX")
@pytest.mark.parametrize(("no_color", "escapes"), [("", True), ("1", False)])
def test_on_a_pseudo_terminal(no_color: str, escapes: bool) -> None:
    import pty

    master, slave = pty.openpty()
    environment = {**ENVIRONMENT, "NO_COLOR": no_color}
    with subprocess.Popen([*BUILDCHECK, *FITS], stdout=slave, stderr=subprocess.PIPE, env=environment) as process:
        os.close(slave)
        written = b""
        while True:
            try:
                data = os.read(master, 65536)
            except OSError:  # Linux says so when the other end is closed
                break
            if not data:
                break
            written += data
    os.close(master)
    assert process.returncode == 0
    assert b"FITS:" in written
    assert (b"\x1b" in written) is escapes


@pytest.mark.parametrize("terminal", [False, True])
def test_a_name_with_brackets_survives_and_one_with_escapes_is_tamed(
    terminal: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("TERM", "xterm-256color")
    name = "[bold]Old[/bold] [red] :smile: \\[x] [/]"
    bike = re.sub(r"^name: .*$", lambda _: f"name: '{name}'", CITY, count=1, flags=re.M)
    assert f"Bike: {name} [city-rim]" in run("check", "-", stdin=bike, terminal=terminal).out
    bike = re.sub(r"^name: .*$", lambda _: 'name: "a\\u202Eb"', CITY, count=1, flags=re.M)
    ran = run("check", "-", stdin=bike, terminal=terminal)
    assert "Bike: a\\u202eb [city-rim]" in ran.out


def test_a_terminal_that_lacks_a_character_shows_something_else() -> None:
    bike = CITY.replace("name: Harrowdene", "name: Überland – Harrowdene")
    ran = run("check", "-", stdin=bike, encoding="ascii")
    assert ran.code == 0
    assert "?berland ? Harrowdene" in ran.out
    assert run("check", "-", stdin=bike.replace("stem:", "stemm\u0259:"), encoding="ascii").code == 2


@pytest.mark.skipif(os.name != "posix", reason="elsewhere names are text")
def test_names_that_are_no_text(tmp_path: Path) -> None:
    path = tmp_path / os.fsdecode(b"bike\xff.yaml")
    path.write_text(CITY.replace("length_mm: 1020", "length_mm: 700"), encoding="utf-8")
    out = tmp_path / "report"
    assert run("check", path, "--format", "json", "--output", out).code == 1
    assert "bike\\\\udcff.yaml:30" in out.read_text(encoding="utf-8")
    for arguments in (
        [path.parent / os.fsdecode(b"none\xff")],
        ["city-rim", "--set", os.fsdecode(b"stem.length_mm=\xff")],
    ):
        ran = run("check", *arguments)
        assert (ran.code, ran.out) == (2, "")
        assert "Traceback" not in ran.err
    assert run("swap", "city-rim", "--fit", os.fsdecode(b"\xff")).code == 2


@pytest.mark.skipif(os.name != "posix", reason="pipes that break are POSIX")
@pytest.mark.parametrize(
    ("arguments", "code"),
    [
        (FITS, 0),
        (BLOCKED, 1),
        ([*BLOCKED, "--format", "json"], 1),
        (["explain"], 0),
        (["parts", "show", "ostmoor-round-5"], 0),
    ],
)
def test_a_reader_that_goes_away_changes_nothing(arguments: list[str], code: int) -> None:
    read, write = os.pipe()
    os.close(read)
    done = subprocess.run([*BUILDCHECK, *arguments], stdout=write, stderr=subprocess.PIPE, env=ENVIRONMENT, check=False)
    os.close(write)
    assert (done.returncode, done.stderr) == (code, b"")


def test_the_cache_is_not_where_the_users_is() -> None:
    assert cache_folder() != Path.home() / ".cache" / "buildcheck"
