"""`buildcheck new`: a short bike file, from options or from questions."""

from __future__ import annotations

from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from buildcheck.cli import beginning
from buildcheck.library import writing
from buildcheck.library.begun import Beginning, begun, id_of
from buildcheck.library.yaml_text import read_document
from command import run
from test_ask_command import _Day

LIKE = ("--like", "base/base.yaml")  # a bike of which only the bar is not known
FOR = ("--for", "fit tolverne-alder-120@stem")


@pytest.fixture(autouse=True)
def _folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(beginning, "date", _Day)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "base").mkdir()
    text = "like: road-rim\nbike: base\nname: Base\nparts:\n  handlebar: {kind: handlebar}\n"
    (tmp_path / "base" / "base.yaml").write_text(text, encoding="utf-8")


def told(name: str = "my-bike.yaml") -> Any:
    return read_document(Path(name).read_text(encoding="utf-8"), name).value


def test_an_outline_is_enough() -> None:
    ran = run("new", "my-bike.yaml", "--outline", "road-rim")
    assert (ran.code, ran.out) == (0, "")
    assert ran.err == "Written: my-bike.yaml\nNext: buildcheck ask my-bike.yaml --fit PART@POSITION\n"
    assert Path("my-bike.yaml").read_text(encoding="utf-8").splitlines()[1:] == [
        "like: outline/road-rim", "bike: my-bike", "name: My bike", "in_use: true   # it is ridden today as it stands",
    ]  # fmt: skip
    assert "2026-12-01" in Path("my-bike.yaml").read_text(encoding="utf-8")
    assert run("check", "my-bike.yaml").code in (0, 1)


def test_what_matters_for_a_change_is_written_as_comments() -> None:
    assert run("new", "my-bike.yaml", *LIKE, *FOR).code == 0
    text = Path("my-bike.yaml").read_text(encoding="utf-8")
    assert "# buildcheck ask my-bike.yaml --fit tolverne-alder-120@stem\n# parts:\n" in text
    assert "#   handlebar:\n#     measured:\n#       # handlebar: clamp, in mm. Read the print" in text
    assert "#       clamp_mm: unknown\n" in text
    assert set(told()) == {"like", "bike", "name", "in_use"}
    assert "#   stem:" not in text  # of a new part nothing is told in the file
    assert max(map(len, text.splitlines())) <= 120


def test_without_their_first_sign_the_comments_are_read() -> None:
    run("new", "my-bike.yaml", *LIKE, *FOR)
    lines = Path("my-bike.yaml").read_text(encoding="utf-8").splitlines()
    start = lines.index("# parts:")
    bare = [line.removeprefix("#") for line in lines[start:]]
    bare[0] = "parts:"
    value: Any = read_document("\n".join(bare), "").value
    assert value["parts"]["handlebar"]["measured"]["clamp_mm"] == "unknown"
    assert {name: spot.keys() for name, spot in value["parts"].items() if spot.keys() != {"measured"}} == {}


def test_a_bike_that_it_is_like_may_be_a_file() -> None:
    Path("others").mkdir()
    run("new", "others/first.yaml", "--like", "city-rim", "--name", "Meier: the first")
    assert told("others/first.yaml")["name"] == "Meier: the first"
    assert run("new", "second.yaml", "--like", "others/first.yaml", "--not-in-use").code == 0
    assert told("second.yaml") == {"like": "others/first.yaml", "bike": "second", "name": "Second", "in_use": False}
    assert run("check", "second.yaml").out.startswith("FITS: ")


def test_no_file_is_replaced() -> None:
    Path("my-bike.yaml").write_text("mine", encoding="utf-8")
    ran = run("new", "my-bike.yaml", "--outline", "road-rim")
    assert ran.code == 2
    assert "my-bike.yaml is there already, and no file is replaced" in ran.err
    Path("link.yaml").symlink_to("nowhere")
    assert run("new", "link.yaml", "--outline", "road-rim").code == 2
    assert Path("my-bike.yaml").read_text(encoding="utf-8") == "mine"


def test_not_even_one_that_comes_meanwhile() -> None:
    def meanwhile(path: Path, text: str) -> None:
        path.write_text("mine", encoding="utf-8")
        writing.write_new(path, text)

    with mock.patch.object(beginning, "write_new", meanwhile):
        ran = run("new", "my-bike.yaml", "--outline", "road-rim")
    assert (ran.code, ran.err) == (2, "buildcheck: my-bike.yaml: File exists\n")
    assert sorted(path.name for path in Path().iterdir()) == ["base", "my-bike.yaml"]
    assert Path("my-bike.yaml").read_text(encoding="utf-8") == "mine"


@pytest.mark.parametrize(
    ("options", "why"),
    [
        (("--outline", "road-rin"), 'there is no outline "road-rin" — did you mean "road-rim"?; there are '),
        (("--like", "nowhere.yaml"), 'there is no bike, outline or file "nowhere.yaml"'),
        (("--outline", "road-rim", "--like", "city-rim"), "not both"),
        (("--outline", "road-rim", "--for", "make it nice"), '"fit PART@POSITION" or "take off POSITION" is expected'),
        (("--outline", "road-rim", "--for", "fit no-such-part"), "no part 'no-such-part'"),
        ((), "say what it is like"),
    ],
)
def test_what_cannot_be_begun(options: tuple[str, ...], why: str) -> None:
    ran = run("new", "my-bike.yaml", *options)
    assert (ran.code, ran.out) == (2, "")
    assert why in ran.err
    assert [path.name for path in Path().iterdir()] == ["base"]


def test_on_a_terminal_it_asks() -> None:
    ran = run("new", "my-bike.yaml", keys="nothing\nroad-rim\nThe red one\nfit tolverne-alder-120@stem\n")
    assert ran.code == 0
    assert " is none of them" in ran.err
    assert told() == {"like": "road-rim", "bike": "my-bike", "name": "The red one", "in_use": True}
    assert ran.err.endswith("Next: buildcheck ask my-bike.yaml --fit tolverne-alder-120@stem\n")


def test_whoever_leaves_begins_nothing() -> None:
    assert run("new", "my-bike.yaml", keys="").code == 130
    assert [path.name for path in Path().iterdir()] == ["base"]


def test_what_is_begun_can_be_asked_about() -> None:
    run("new", "my-bike.yaml", *LIKE, *FOR)
    fit = ("--fit", "tolverne-alder-120@stem")
    assert run("ask", "my-bike.yaml", *fit, "--set", "handlebar.clamp_mm=31.8").code == 1
    assert told()["parts"] == {"handlebar": {"measured": {"clamp_mm": 31.8}}}
    ran = run("ask", "my-bike.yaml", *fit, "--set", "handlebar.clamp_mm=26", "--overwrite")
    assert ran.out.startswith("BLOCKED: ")


@pytest.mark.parametrize(
    ("file", "made"), [("My Bike.yaml", "my-bike"), ("22.yml", "22"), ("Über.yaml", "ber"), ("___.yaml", "my-bike")]
)
def test_the_file_names_the_bike(file: str, made: str) -> None:
    assert id_of(Path(file)) == made


@pytest.mark.parametrize("name", ["Null", "a: b", "# x", "Größe 5", "- a", "12", "yes"])
def test_any_name_is_read_back(name: str) -> None:
    value: Any = read_document(begun(Beginning("city-rim", name), "a", "2026-12-01"), "").value
    assert value["name"] == name
