"""`buildcheck ask`: questions one at a time, and where their answers go."""

from __future__ import annotations

import os
import sys
from datetime import date
from pathlib import Path
from typing import Any
from unittest import mock

import pytest

from buildcheck.cli import asking
from buildcheck.library import writing
from buildcheck.library.folders import bundled_bike
from buildcheck.library.yaml_text import read_document
from command import Ran, run

FIT = ("--fit", "tolverne-carrow-100@stem")
TODAY = "2026-12-01"
# What is not known, and matters for another stem: the bar's clamp, a spacer's height, the steerer's length in part.
UNKNOWN = {
    "  fork: {part: harrowdene-packway-steel, measured: {steerer_length_mm: 256}}":
        "  fork: {part: harrowdene-packway-steel, measured: {steerer_length_mm: 250..256}}",
    "  spacer-2: {part: ostmoor-round-5, on: spacer-1}":
        "  spacer-2: {part: ostmoor-round-5, measured: {height_mm: unknown}, on: spacer-1}",
    "  handlebar: {part: tolverne-brae-440}":
        "  handlebar:\n    part: tolverne-brae-440   # from the old bike\n    measured:\n      clamp_mm: unknown",
}  # fmt: skip
TRUTH = {"spacer-2.height_mm": "5", "handlebar.clamp_mm": "26", "fork.steerer_length_mm": "256"}


class _Day(date):
    @classmethod
    def today(cls) -> _Day:
        return cls.fromisoformat(TODAY)


@pytest.fixture
def bike(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A tourer of which some facts are not known, in the folder where the commands run."""
    monkeypatch.setattr(asking, "date", _Day)
    monkeypatch.chdir(tmp_path)
    text = bundled_bike("tourer-cable").read_text(encoding="utf-8")
    for known, unknown in UNKNOWN.items():
        assert known in text
        text = text.replace(known, unknown)
    path = tmp_path / "my.yaml"
    path.write_text(text, encoding="utf-8")
    return path


def new_lines(path: Path, before: str) -> list[str]:
    """The lines that a command changed."""
    old = before.splitlines()
    return [line for line in path.read_text(encoding="utf-8").splitlines() if line not in old]


def told(path: Path, position: str) -> dict[str, Any]:
    value: Any = read_document(path.read_text(encoding="utf-8"), "").value
    measured: dict[str, Any] = value["parts"][position].get("measured", {})
    return measured


def questions(ran: Ran) -> list[str]:
    """The heads of the questions, in their order."""
    return [line.partition(". ")[2] for line in ran.err.splitlines() if line[:1].isdigit() and ". " in line]


def test_questions_until_it_is_decided(bike: Path) -> None:
    before = bike.read_text(encoding="utf-8")
    keys, asked = "", 0
    names = {"spacer 2": "spacer-2.height_mm", "handlebar": "handlebar.clamp_mm", "fork": "fork.steerer_length_mm"}
    for _ in range(4):
        bike.write_text(before, encoding="utf-8")
        ran = run("ask", "my.yaml", *FIT, keys=keys)
        if len(questions(ran)) == asked:
            break
        asked = len(questions(ran))
        keys += TRUTH[names[questions(ran)[-1].partition(":")[0]]] + "\n"
    assert (ran.code, asked) == (0, 3)
    assert ran.out.startswith("FITS: ")
    assert "Written into my.yaml: 3 answers\n" in ran.err
    assert sorted(new_lines(bike, before)) == [
        "      clamp_mm: 26  # 2026-12-01",
        "  fork: {part: harrowdene-packway-steel, measured: {steerer_length_mm: 256}}  # steerer_length_mm 2026-12-01",
        "  spacer-2: {part: ostmoor-round-5, measured: {height_mm: 5}, on: spacer-1}  # height_mm 2026-12-01",
    ]
    assert "part: tolverne-brae-440   # from the old bike" in bike.read_text(encoding="utf-8")


def test_a_question_says_how_and_what_is_usual(bike: Path) -> None:
    ran = run("ask", "my.yaml", *FIT, keys="\n\n\n")
    assert "handlebar: clamp (3 min)\n   Read the print at the middle of the bar;" in ran.err
    assert "   Usual: 25.4, 26, 31.8, 35 mm.\n" in ran.err
    assert "   Known so far: 250..256 mm.\n" in ran.err
    assert "Enter: do not know" in ran.err
    assert ran.out.startswith("UNDECIDED: ")


def test_what_nobody_knows_is_asked_once_and_the_end_is_undecided(bike: Path) -> None:
    before = bike.read_text(encoding="utf-8")
    ran = run("ask", "my.yaml", *FIT, keys="?\nunknown\ndo not know\n")
    assert ran.code == 1
    assert len(questions(ran)) == len(set(questions(ran))) == 3
    assert ran.out.startswith("UNDECIDED: ")
    assert "Measure first" in ran.out
    assert bike.read_text(encoding="utf-8") == before


@pytest.mark.parametrize("keys", ["q\n", ""])
def test_one_may_stop(bike: Path, keys: str) -> None:
    ran = run("ask", "my.yaml", *FIT, keys=keys)
    assert (ran.code, len(questions(ran))) == (1, 1)
    assert ran.out.startswith("UNDECIDED: ")


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ("aluminium", "a number in mm, an interval such as 7.9..8.3, or unknown is"),
        ("6..5", "an interval runs from low to high"),
        ("-5", "is not possible here"),
        ("nan", "or unknown is expected"),
        ("5 cm", "carries a unit"),
        ("\x1b[2J", "which is a control character"),
    ],
)
def test_a_wrong_answer_is_told_why_and_asked_again(bike: Path, wrong: str, why: str) -> None:
    before = bike.read_text(encoding="utf-8")
    ran = run("ask", "my.yaml", *FIT, keys=f"{wrong}\n5,0 mm\nq\n")
    assert why in " ".join(ran.err.split())
    assert "\x1b" not in ran.err
    assert new_lines(bike, before) == [
        "  spacer-2: {part: ostmoor-round-5, measured: {height_mm: 5}, on: spacer-1}  # height_mm 2026-12-01"
    ]


def test_what_was_written_before_an_interruption_stays(bike: Path) -> None:
    first = mock.Mock(side_effect=["5", KeyboardInterrupt])
    with mock.patch("buildcheck.cli.prompt.read_line", first):
        ran = run("ask", "my.yaml", *FIT, keys="")
    assert (ran.code, ran.out) == (130, "")
    assert told(bike, "spacer-2") == {"height_mm": 5}
    assert "Written into my.yaml: 1 answer\n" in ran.err


@pytest.mark.skipif(os.name != "posix", reason="a terminal of its own")
def test_ctrl_c_on_a_real_terminal(bike: Path) -> None:
    import pty

    pid, terminal = pty.fork()
    if pid == 0:
        os.environ["PYTHONPATH"] = os.pathsep.join(sys.path)
        os.execv(sys.executable, [sys.executable, "-m", "buildcheck", "ask", "my.yaml", *FIT])
    shown = b""
    for key in (b"5\n", b"\x03"):
        while not shown.endswith(b"? "):
            shown += os.read(terminal, 4096)
        shown = b""
        os.write(terminal, key)
    _, status = os.waitpid(pid, 0)
    os.close(terminal)
    assert os.waitstatus_to_exitcode(status) == 130
    assert told(bike, "spacer-2") == {"height_mm": 5}


def test_a_file_is_never_half_written(bike: Path) -> None:
    before = bike.read_text(encoding="utf-8")
    with mock.patch.object(writing.os, "replace", side_effect=OSError(28, "No space left on device")):
        ran = run("ask", "my.yaml", *FIT, "--set", "spacer-2.height_mm=5")
    assert ran.code == 2
    assert "No space left on device" in ran.err
    assert bike.read_text(encoding="utf-8") == before
    assert [path.name for path in bike.parent.iterdir()] == ["my.yaml"]


def test_what_an_editor_wrote_meanwhile_stays(bike: Path) -> None:
    def typed(prompt: str) -> str:
        bike.write_text(bike.read_text(encoding="utf-8") + "# meanwhile\n", encoding="utf-8")
        return "5" if "spacer" in prompt else "q"

    with mock.patch("buildcheck.cli.prompt.read_line", typed):
        run("ask", "my.yaml", *FIT, keys="")
    assert bike.read_text(encoding="utf-8").endswith("# meanwhile\n# meanwhile\n")
    assert told(bike, "spacer-2") == {"height_mm": 5}


def test_without_a_terminal_answers_come_from_options_and_files(bike: Path) -> None:
    Path("answers.yaml").write_text("spacer-2.height_mm: 5\nfork.steerer_length_mm: 256\n", encoding="utf-8")
    ran = run("ask", "my.yaml", *FIT, "--answers", "answers.yaml", "--set", "handlebar.clamp_mm=26.0")
    assert (ran.code, questions(ran)) == (0, [])
    assert told(bike, "handlebar") == {"clamp_mm": 26}
    assert told(bike, "fork") == {"steerer_length_mm": 256}


def test_answers_may_be_piped(bike: Path) -> None:
    ran = run("ask", "my.yaml", *FIT, "--answers", "-", stdin="{spacer-2.height_mm: 5, handlebar.clamp_mm: unknown}")
    assert ran.code == 1
    assert told(bike, "spacer-2") == {"height_mm": 5}
    assert told(bike, "handlebar") == {"clamp_mm": "unknown"}


def test_without_a_terminal_nothing_is_asked(bike: Path) -> None:
    before = bike.read_text(encoding="utf-8")
    ran = run("ask", "my.yaml", *FIT, stdin="5\n26\n256\n")
    assert (ran.code, ran.err) == (1, "")
    assert ran.out == run("swap", "my.yaml", *FIT).out
    assert bike.read_text(encoding="utf-8") == before


@pytest.mark.parametrize(
    ("wrong", "why"),
    [
        ("fork.steerer_length_mm: 20", "meaning: my.yaml says '250..256'"),
        ("fork.threat: 20", "meaning: a fork has no attribute 'threat'"),
        ("frok.threaded: true", "meaning: nothing sits in 'frok' on this bike — did you mean \"fork\"?"),
        ("fork.steerer_length_mm: {}", "schema: steerer_length_mm: a number"),
        ("fork: 20", 'meaning: POSITION.ATTRIBUTE is expected, not "fork"'),
        ("handlebar.material: aluminum ore", "meaning: 'aluminum ore' is not"),
    ],
)
def test_of_answers_all_are_taken_or_none(bike: Path, wrong: str, why: str) -> None:
    before = bike.read_text(encoding="utf-8")
    Path("answers.yaml").write_text(f"spacer-2.height_mm: 5\n{wrong}\n", encoding="utf-8")
    ran = run("ask", "my.yaml", *FIT, "--answers", "answers.yaml")
    assert (ran.code, ran.out) == (2, "")
    assert f"answers.yaml:2:1: {why}" in ran.err
    assert bike.read_text(encoding="utf-8") == before


def test_answers_are_a_mapping(bike: Path) -> None:
    ran = run("ask", "my.yaml", *FIT, "--answers", "-", stdin="[5]")
    assert (ran.code, ran.err) == (2, "<stdin>:1:1: schema: POSITION.ATTRIBUTE: VALUE is expected\n")


def test_an_answer_is_replaced_only_if_asked_for(bike: Path) -> None:
    again = ("ask", "my.yaml", *FIT, "--set", "handlebar.clamp_mm=25.4")
    assert run("ask", "my.yaml", *FIT, "--set", "handlebar.clamp_mm=26").code == 1
    kept = bike.read_text(encoding="utf-8")
    ran = run(*again)
    assert ran.code == 2
    assert "my.yaml says 26 already; --overwrite puts 25.4 in its place" in ran.err
    assert bike.read_text(encoding="utf-8") == kept
    assert run("ask", "my.yaml", *FIT, "--set", "handlebar.clamp_mm=26").err == ""  # the same is no other answer
    run(*again, "--overwrite")
    assert told(bike, "handlebar") == {"clamp_mm": 25.4}


def test_what_is_known_of_a_new_part_is_not_told_of_the_old_one(bike: Path) -> None:
    before = bike.read_text(encoding="utf-8")
    ran = run("ask", "my.yaml", *FIT, "--set", "stem.bar_clamp_mm=31.8")
    assert "give it again: --set stem.bar_clamp_mm=31.8\n" in ran.err
    assert bike.read_text(encoding="utf-8") == before
    assert ran.out == run("swap", "my.yaml", *FIT, "--set", "stem.bar_clamp_mm=31.8").out


@pytest.mark.parametrize(
    ("arguments", "why"),
    [
        (("tourer-cable",), "tourer-cable is a bundled bike"),
        (("-",), "give its name, not -"),
        (("nowhere.yaml",), "nowhere.yaml:1:1: syntax: the file cannot be read: No such file or directory"),
        (("my.yaml", "--set", "fork.threaded"), "POSITION.ATTRIBUTE=VALUE is expected"),
        (("my.yaml", "--fit", "no-such-part"), "no part 'no-such-part'"),
    ],
)
def test_what_cannot_be_asked_about(bike: Path, arguments: tuple[str, ...], why: str) -> None:
    ran = run("ask", *arguments)
    assert (ran.code, ran.out) == (2, "")
    assert why in ran.err
    assert not Path("tourer-cable").exists()


@pytest.fixture
def outline(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A bike with a post of which nothing is known, as on an outline."""
    monkeypatch.setattr(asking, "date", _Day)
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "my.yaml"
    text = "like: road-rim\nbike: mine\nname: Mine\nparts:\n  seatpost: {kind: seatpost}  # old\n"
    path.write_text(text, encoding="utf-8")
    return path


SADDLE = ("--fit", "wexcombe-thrift-carbon@saddle")


def test_a_part_that_is_recognised_needs_no_measuring(outline: Path) -> None:
    ran = run("ask", "my.yaml", *SADDLE, keys="hazel\nno such thing\nwexcombe-hazel-272-350\nq\n")
    assert questions(ran)[0] == "seatpost: which part (1 min)"
    assert "wexcombe-hazel-272-350 (" in ran.err
    assert "More of its name, please." in ran.err
    assert "No part here has that in its name" in ran.err
    text = outline.read_text(encoding="utf-8")
    assert text.endswith("parts:\n  seatpost: {part: wexcombe-hazel-272-350}  # old; part 2026-12-01\n")
    assert not any(question.startswith("seatpost:") for question in questions(ran)[1:])


def test_of_a_part_that_nobody_recognises_the_facts_are_asked(outline: Path) -> None:
    ran = run("ask", "my.yaml", *SADDLE, keys="\n\nq\n")
    first, second = questions(ran)[:2]
    assert first == "seatpost: which part (1 min)"
    assert not second.startswith("seatpost: which part")


def test_what_is_there_may_be_told_without_a_terminal(outline: Path) -> None:
    told_of = ("accessory-lamp.part=none", "seatpost.part=wexcombe-hazel-272-350", "seatpost.head_mm=40")
    options = [word for setting in told_of for word in ("--set", setting)]
    run("ask", "my.yaml", *SADDLE, *options)
    value: Any = read_document(outline.read_text(encoding="utf-8"), "").value
    assert value["parts"] == {
        "accessory-lamp": "none", "seatpost": {"part": "wexcombe-hazel-272-350", "measured": {"head_mm": 40}},
    }  # fmt: skip


@pytest.mark.parametrize(
    ("setting", "why"),
    [
        ("seatpost.part=no-such-part", "--set: no part 'no-such-part' in the catalogue"),
        ("seatpost.part=tolverne-alder-110", "--set: "),
        ("seatpost.part=3", "--set: a part, a kind of part or none is expected, not 3"),
    ],
)
def test_what_cannot_be_there_is_refused(outline: Path, setting: str, why: str) -> None:
    before = outline.read_text(encoding="utf-8")
    ran = run("ask", "my.yaml", *SADDLE, "--set", setting)
    assert (ran.code, ran.out) == (2, "")
    assert why in ran.err
    assert outline.read_text(encoding="utf-8") == before
    assert run("ask", "my.yaml", *SADDLE, "--set", "seatpost.part=wexcombe-hazel-272-350").code in (0, 1)
    again = ("ask", "my.yaml", *SADDLE, "--set", "seatpost.part=wexcombe-birch-272-350")
    assert "--overwrite puts 'wexcombe-birch-272-350' in its place" in run(*again).err
    assert run(*again, "--overwrite").code in (0, 1)
