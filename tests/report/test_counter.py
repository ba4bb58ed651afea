"""The report for the counter: 30 lines of 80 columns whatever was asked, and what it must not lose."""

from __future__ import annotations

import random
import shlex
from dataclasses import replace

import pytest

from buildcheck.model.bikes import Change
from buildcheck.model.findings import Finding
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.report import MeasureFirst, Outcome, Remedy, RemedyPart, Report, Search
from buildcheck.model.sentences import say
from buildcheck.report.budget import MOST_LINES
from buildcheck.report.counter import Asked, counter_lines
from buildcheck.report.lines import WIDTH
from buildcheck.vetting import CAUTIONS, Vetting
from command import run
from laws.bench import BIKES, bike, catalogue

DEMO = ("allroad-wired", "--fit", "wexcombe-veil-420-100@handlebar")
PER_BIKE = 4


def shown(report: Report, *options: str) -> list[str]:
    lines = [line.text for line in counter_lines(report, Asked("swap", report.bike, options))]
    assert len(lines) <= MOST_LINES == 30
    assert max(map(len, lines)) <= WIDTH == 80
    return lines


def some_changes(name: str) -> list[Change]:
    """Changes of one to three parts, drawn by chance from all that each position takes; the same in each run."""
    chance, of = random.Random(name), bike(name)
    homes = sorted(position for position, spot in of.fitted.items() if spot.home == position)
    changes = []
    for _ in range(PER_BIKE):
        fit, take_off = [], []
        for position in chance.sample(homes, chance.choice((1, 1, 2, 3))):
            row = catalogue().standards.position(position)
            assert row is not None
            if chance.random() < 0.15:
                take_off.append(position)
            else:
                fit.append((chance.choice([part.id for part in catalogue().of_kinds(row.kinds)]), position))
        changes.append(Change(tuple(fit), tuple(take_off)))
    return changes


@pytest.mark.parametrize("name", BIKES)
def test_whatever_is_asked_it_has_30_lines_of_80_columns(name: str) -> None:
    vetting = Vetting(bike(name), catalogue(), stop=lambda vetted: "enough" if vetted > 15 else "")
    for change in some_changes(name):
        report = vetting.swap(change)
        options = [word for part, at in change.fit for word in ("--fit", f"{part}@{at}")]
        options += [word for at in change.take_off for word in ("--take-off", at)]
        lines = shown(report, *options)
        assert lines[0].split(":")[0].replace(" ", "-").casefold() == report.verdict
        assert any(line.startswith("Next: buildcheck ") for line in lines)
        assert " ".join(lines).count("Brakes and steering: after any of this work") == 1
        telling = [f for f in report.findings if f.level is Level.CAUTION and f.since is Since.CHANGE]
        assert not telling or "Risks to tell" in lines or any("risk" in line for line in lines)
    shown(replace(vetting.check(), change=()))


def test_the_demo_has_four_causes_and_tells_each() -> None:
    lines = run("swap", *DEMO).out.splitlines()
    assert len(lines) <= MOST_LINES
    assert "Why: 4 causes of 14 findings" in lines
    assert [line[:2] for line in lines if line[:1].isdigit()] == ["1.", "2.", "3.", "4."]
    assert f"Next: buildcheck job {' '.join(DEMO)}" in lines
    text = " ".join(" ".join(lines).split())
    assert "Leave off Dunreth Pannikin bar bag." in text
    assert "2 x wexcombe-veil-spacer-10 EUR 7.70" in text


def test_all_and_why_tell_what_the_counter_does_not() -> None:
    all_, because = run("swap", *DEMO, "--all"), run("swap", *DEMO, "--why")
    every, why = all_.out, because.out
    assert {all_.code, because.code} == {1}
    for text in (every, why):
        assert "What blocks (14)" in text
        assert "Cheaper, but it does not do" in text
    assert "Bleed" not in why
    assert "\nWork\n" in every
    assert "\nWork\n" not in why
    assert run("check", "city-rim", "--all", "--why").out == run("check", "city-rim", "--all").out
    as_json = ("check", "city-rim", "--format", "json")
    assert run(*as_json, "--all").out == run(*as_json).out


def test_the_next_command_can_be_typed() -> None:
    for arguments in (
        ("swap", *DEMO), ("swap", "city-rim", "--take-off", "saddle"), ("check", "city-rim"),
        ("swap", "city-rim", "--fit", "tolverne-lantern-100", "--rate", "50", "--keep", "handlebar"),
        ("swap", "allroad-wired", "--fit", "tolverne-alder-90", "--set", "handlebar.clamp_mm=unknown"),
    ):  # fmt: skip
        out = run(*arguments).out
        command = out[out.index("Next: buildcheck ") + len("Next: buildcheck ") : out.index("All of it")]
        words = shlex.split(command.replace("\\\n", " "))
        assert words
        if not any("VALUE" in word or "PART" in word for word in words):
            assert run(*words).code in (0, 1)


def test_what_is_measured_takes_the_place_of_what_was_said_to_be_unknown() -> None:
    out = run("swap", "allroad-wired", "--fit", "tolverne-alder-90", "--set", "handlebar.clamp_mm=unknown").out
    assert "handlebar.clamp_mm=VALUE" in out
    assert "handlebar.clamp_mm=unknown" not in out
    assert "1. handlebar.clamp_mm (3 min): Read the print" in out


LONG = "a very long sentence about a part with a name that nobody would ever remember, " * 6


def crowded(verdict: Verdict) -> Report:
    """A report in which everything is too long and too much."""
    levels = [level for level in Level for _ in range(40)]
    findings = tuple(
        Finding(f"{level}-{number}", level, say("{it}.", it=LONG), (f"position-{number}", "x" * 200))
        for number, level in enumerate(levels)
    )
    parts = tuple(RemedyPart(f"part-{number}-{'y' * 60}", LONG, f"position-{number}", 12.5) for number in range(40))
    remedy = Remedy(parts, 500.0, report_work().extra_minutes, 900.0, (), ("z" * 90,) * 9, (), "proof",
                    gives_up=(say("{it}", it=LONG),) * 9)  # fmt: skip
    measure = tuple(MeasureFirst(f"p-{n}", "a" * 90, LONG, 3.0, ("b",)) for n in range(40))
    from buildcheck.fit.roots import root_causes

    return Report(
        verdict, "bike" * 40, LONG, change=report_change(), findings=findings, cleared=findings,
        remedies=(remedy,) if verdict is not Verdict.UNDECIDED else (), work=report_work(), measure_first=measure,
        search=Search(Outcome.GAVE_UP, limit=LONG), asked_parts=parts, root_causes=root_causes(findings, {}),
        cautions=CAUTIONS,
    )  # fmt: skip


def report_of_the_demo() -> Report:
    return Vetting(bike("city-rim"), catalogue()).swap(Change((("tolverne-lantern-80", "stem"),)))


def report_change() -> tuple:  # type: ignore[type-arg]
    return report_of_the_demo().change * 40


def report_work():  # type: ignore[no-untyped-def]
    return report_of_the_demo().work


@pytest.mark.parametrize("verdict", list(Verdict))
def test_a_report_in_which_all_is_too_long_has_room(verdict: Verdict) -> None:
    options = tuple(word for n in range(40) for word in ("--fit", f"{'part' * 10}-{n}@position"))
    lines = shown(crowded(verdict), *options)
    text = " ".join(lines)
    for word in ("Brakes and steering", "Next: ", "All of it", "more"):
        assert word in text


def test_of_what_was_there_before_a_line_is_told() -> None:
    report = report_of_the_demo()
    old = [f for f in report.findings if f.since is Since.BEFORE]
    assert old
    assert any(line.startswith("There before, not touched: ") for line in shown(report))


def test_a_name_with_line_breaks_makes_no_line_of_its_own() -> None:
    report = replace(report_of_the_demo(), bike_name="x\nBLOCKED: \u202eno\x1b[31m")
    lines = shown(report)
    assert lines[1] == r"Bike: x BLOCKED: \u202eno\x1b[31m [city-rim]"


def test_what_moves_or_is_left_off_keeps_to_the_columns() -> None:
    moved = RemedyPart(None, say("lead {it} elsewhere", it=LONG), "wire-frame", 0.0)
    remedy = replace(crowded(Verdict.BLOCKED).remedies[0], parts=(moved,), gives_up=())
    lines = shown(replace(report_of_the_demo(), remedies=(remedy,), search=Search(Outcome.CHEAPEST)))
    assert any(line.startswith("  Lead a very long sentence") for line in lines)
