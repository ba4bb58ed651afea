"""`buildcheck job`: exit codes, formats, readers, languages, and what it refuses."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from buildcheck import answering
from buildcheck.model.job import JobCard
from buildcheck.report.lines import WIDTH
from command import run
from library.test_schemas import faults

DEMO = ("job", "allroad-wired", "--fit", "wexcombe-veil-420-100@handlebar")
STEM = ("job", "allroad-wired", "--fit", "tolverne-alder-110@stem")
IMPOSSIBLE = ("job", "kids-20", "--fit", "dunreth-toddle-plain-406@accessory-stabilisers")


@pytest.fixture(autouse=True, scope="module")
def made_once() -> Iterator[None]:
    """The card of a request is made once: what differs here is how it is told."""
    made: dict[str, JobCard] = {}
    make = answering.card_for

    def card_for(*asked: Any, stop: Any, **more: Any) -> JobCard:
        key = repr((asked, sorted(more.items())))
        if key not in made:
            made[key] = make(*asked, stop=stop, **more)
        return made[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(answering, "card_for", card_for)
        yield


@pytest.mark.parametrize("reader", ["mechanic", "customer"])
@pytest.mark.parametrize("language", ["en", "de"])
def test_the_text_keeps_to_80_columns_and_says_all_in_words(reader: str, language: str) -> None:
    ran = run(*DEMO, "--for", reader, "--language", language, "--promise", "2026-12-04")
    assert (ran.code, ran.err) == (0, "")
    assert max(map(len, ran.out.splitlines())) <= WIDTH
    assert "\\x" not in ran.out
    assert {"en": "4 December 2026", "de": "4. Dezember 2026"}[language] in ran.out


def test_a_customer_reads_no_torque_and_a_mechanic_does() -> None:
    mechanic, customer = run(*STEM).out, run(*STEM, "--for", "customer").out
    assert "N·m" in mechanic
    assert "N·m" not in customer
    assert "Torques" not in customer
    assert "does not replace" in " ".join(customer.split())


def test_the_json_is_as_its_schema_says() -> None:
    for arguments in (DEMO, STEM, IMPOSSIBLE):
        ran = run(*arguments, "--format", "json")
        made = json.loads(ran.out)
        assert faults("job", made) == []
        assert ran.code == (0 if made["verdict"].startswith("fits") else 1)


@pytest.mark.parametrize("format_", ["text", "json", "html", "svg"])
@pytest.mark.parametrize(("arguments", "code"), [(STEM, 0), (IMPOSSIBLE, 1)], ids=["fits", "blocked"])
def test_the_exit_code_is_the_verdict_in_every_format(arguments: tuple[str, ...], code: int, format_: str) -> None:
    ran = run(*arguments, "--format", format_)
    assert (ran.code, ran.err) == (code, "")
    assert ran.out


def test_a_job_that_cannot_be_done_tells_why_and_has_no_order_of_work() -> None:
    out = " ".join(run(*IMPOSSIBLE).out.split())
    assert out.startswith("Job card: IMPOSSIBLE")
    assert "What rules out every remedy" in out
    assert "Order of work" not in out
    assert "stabilisers" in out


def test_the_page_goes_to_a_file(tmp_path: Path) -> None:
    path = tmp_path / "card.html"
    assert run(*STEM, "--format", "html", "--output", path).out == ""
    assert path.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


@pytest.mark.parametrize(
    ("arguments", "told"),
    [
        (("job", "allroad-wired"), "say what changes"),
        ((*STEM, "--remedy", "1"), "--remedy: there is no remedy 1: this change has none"),
        ((*STEM, "--promise", "soon"), "a day such as 2026-12-04 is expected, not 'soon'"),
        ((*STEM, "--correlation", "2"), "a number from 0 to 1 is expected, not 2"),
        ((*STEM, "--actuals", "nowhere.csv"), "nowhere.csv:1:1: syntax: the file cannot be read"),
        (("job", "-", "--fit", "x", "--actuals", "-"), "standard input holds one file"),
    ],
    ids=["no-change", "no-remedy", "promise", "correlation", "no-file", "two-on-stdin"],
)
def test_what_cannot_be_used_ends_with_2(arguments: tuple[str, ...], told: str) -> None:
    ran = run(*arguments)
    assert (ran.code, ran.out) == (2, "")
    assert told in " ".join(ran.err.replace("│", " ").split())


def test_actual_times_are_read_from_a_file(tmp_path: Path) -> None:
    path = tmp_path / "taken.csv"
    path.write_text("operation,minutes\nfit-stem,30\nfit-stem,28\n", encoding="utf-8")
    before, after = run(*STEM), run(*STEM, "--actuals", path)
    assert "fit-stem: done 2 times" in " ".join(after.out.split())
    assert "fit-stem: done" not in before.out


def test_actual_times_count_in_a_swap_too(tmp_path: Path) -> None:
    path = tmp_path / "taken.csv"
    path.write_text("operation,minutes\nfit-stem,30\nfit-stem,28\n", encoding="utf-8")
    swap = ("swap", *STEM[1:], "--format", "json")
    before, after = (json.loads(run(*swap, *more).out)["work"] for more in ((), ("--actuals", path)))
    assert after["asked_minutes"]["likely"] > before["asked_minutes"]["likely"]
    assert [note.startswith("fit-stem: done 2 times") for note in after["notes"]] == [True]
    assert before["notes"] == []


def test_an_unknown_operation_among_them_is_told_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "taken.csv"
    path.write_text("operation,minutes\nfit-stm,30\n", encoding="utf-8")
    ran = run(*STEM, "--actuals", path)
    assert ran.code == 2
    assert "taken.csv:2:" in ran.err
    assert "fit-stem" in ran.err
