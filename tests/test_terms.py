"""`buildcheck swap` with terms: what they do to the remedies, and how bad ones end."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from buildcheck.library.folders import bundled_folder
from command import run

SHIM = "tolverne-shim-260-254"
BLOCKED = ["swap", "city-rim", "--fit", "tolverne-lantern-100"]
CITY = (bundled_folder() / "bikes" / "city-rim.yaml").read_text(encoding="utf-8")


def remedies(*options: object) -> list[dict[str, Any]]:
    ran = run(*BLOCKED, "--format", "json", *options)
    assert (ran.code, ran.err) == (1, "")
    found: list[dict[str, Any]] = json.loads(ran.out)["remedies"]
    return found


def touched(found: list[dict[str, Any]], key: str) -> set[str]:
    return {part[key] for remedy in found for part in remedy["parts"]}


def test_an_hour_costs_what_the_option_says_or_else_the_shop(tmp_path: Path) -> None:
    (tmp_path / "workshop").mkdir()
    (tmp_path / "workshop" / "shop.yaml").write_text("shop: [{rate_eur_per_hour: 90, source: a test}]\n")
    mine = ("--catalog", tmp_path)
    for rate, options in [(60, ()), (90, mine), (120, ("--rate", "120")), (12.5, ("--rate", "12.50", *mine))]:
        for remedy in remedies(*options):
            hours = remedy["extra_minutes"]["mean"] / 60
            told = 0.05 / 60 * rate  # the mean is told to a tenth of a minute
            assert remedy["total_cost"] == pytest.approx(remedy["parts_cost"] + hours * rate, abs=told + 0.02)


def test_the_folder_of_the_option_counts_more_than_that_of_the_environment(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name, rate in (("one", 90), ("two", 120)):
        (tmp_path / name / "workshop").mkdir(parents=True)
        (tmp_path / name / "workshop" / "shop.yaml").write_text(
            f"shop: [{{rate_eur_per_hour: {rate}, source: a test}}]\n"
        )
    monkeypatch.setenv("BUILDCHECK_CATALOG", str(tmp_path / "one"))
    assert remedies() == remedies("--rate", "90")
    assert remedies("--catalog", tmp_path / "two") == remedies("--rate", "120")


def test_what_is_kept_or_excluded_is_in_no_remedy() -> None:
    assert SHIM in touched(remedies(), "id")
    assert SHIM not in touched(remedies("--exclude", SHIM), "id")
    assert "bar-clamp-shim" not in touched(remedies("--keep", "bar-clamp-shim"), "position")
    neither = touched(remedies("--keep", "bar-clamp-shim", "--keep", "handlebar"), "position")
    assert neither.isdisjoint({"bar-clamp-shim", "handlebar"})


@pytest.mark.parametrize(
    ("options", "why"),
    [
        (["--rate", "-5"], "--rate: a plain number of euros for an hour"),
        (["--keep", "handelbar"], 'did you mean "handlebar"?'),
        (["--keep", "stem"], "the change itself alters 'stem'"),
        (["--exclude", "tolverne-shim-260-25"], f'did you mean "{SHIM}"?'),
        (["--stock", "none.csv"], "none.csv:1:1: syntax: the file cannot be read: No such file or directory"),
        (["--stock", "."], ".:1:1: syntax: the file cannot be read: Is a directory"),
        (["--stock", "-"], "<stdin>:1:1: schema: the file is empty"),
    ],
)
def test_bad_terms_end_with_2(options: list[str], why: str) -> None:
    for format_ in ("text", "json"):
        ran = run(*BLOCKED, *options, "--format", format_)
        assert (ran.code, ran.out) == (2, "")
        assert why in ran.err
        assert "Traceback" not in ran.err


def test_only_one_file_comes_from_standard_input() -> None:
    assert run("swap", "-", "--take-off", "saddle", "--stock", "-", stdin=CITY).code == 2
    assert run(*BLOCKED, "--stock", "-", stdin=f"part,quantity\n{SHIM},1\n").code == 1


def test_terms_belong_to_a_swap() -> None:
    assert run("check", "city-rim", "--rate", "50").code == 2
