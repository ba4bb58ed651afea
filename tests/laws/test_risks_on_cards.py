"""Law: each caution of the bike after the job is on the mechanic's card, and on the customer's if it is for riders."""

from __future__ import annotations

import json
import os
import re
from functools import cache
from html import unescape
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from buildcheck.jobs import Agreed, job_card, with_remedy
from buildcheck.library.cases import bike_and_change, read_case
from buildcheck.library.texts import load_texts
from buildcheck.model.findings import Finding
from buildcheck.model.job import JobCard
from buildcheck.model.levels import Level, Since, Verdict
from buildcheck.model.texts import Audience, Texts
from buildcheck.report.job_page import job_page
from buildcheck.report.job_text import job_lines
from buildcheck.report.json_view import job_json
from buildcheck.rules import RULES
from buildcheck.vetting import Vetting
from laws.bench import catalogue, vetting
from laws.strategies import Job, jobs
from rules.test_cases import FIRING

STANDARDS = catalogue().standards
TEXTS = [load_texts("en", strict=True), load_texts("de", strict=True)]
# A missing fact makes a caution of what would be extra work.
ENDS_IN_CAUTION = {Level.EXTRA, Level.CAUTION}
WHOM = {rule.name: rule.rider for rule in RULES} | {row.name: row.rider for row in STANDARDS.joints}
# `make prove` has every case, every run the first of each third name.
PROVES = os.environ.get("HYPOTHESIS_PROFILE") == "prove"
EVERY = [path for path in FIRING if read_case(path).said["expect"]["level"] == Level.CAUTION]
CAUTIONS = EVERY if PROVES else [*{path.parent.name: path for path in reversed(EVERY)}.values()][::3]
# Each example plans a job, mostly with a search for remedies.
FEW = settings(max_examples=max(5, settings.default.max_examples // 4))


def test_whom_a_caution_concerns_is_said_of_all_that_can_end_in_one_and_of_nothing_else() -> None:
    said = [(rule.name, rule.levels, rule.rider) for rule in RULES]
    said += [(row.name, row.levels, row.rider) for row in STANDARDS.joints]
    assert [name for name, levels, rider in said if bool(ENDS_IN_CAUTION & {*levels}) != (rider is not None)] == []
    assert all(row.rider == WHOM[row.name] for row in STANDARDS.joints), "rows of one name say the same"


def soon(vetted: int) -> str:
    """Ends the search for remedies early: which of them is found does not matter here."""
    return "enough" if vetted > 20 else ""


def holds_for(job: Job) -> None:
    bench = Vetting(job.bike, catalogue(), stop=soon)
    card = job_card(bench, job.change, Agreed())
    report = bench.swap(job.change)
    whole = job.change if card.remedy is None else with_remedy(job.change, report.remedies[card.remedy - 1])
    cautions = [finding for finding in bench.vetted(whole).findings if finding.level is Level.CAUTION]
    plain = json.loads(job_json(card))["risks"]
    assert [(risk["name"], risk["positions"], risk["rider"]) for risk in plain] == [
        (finding.name, [*finding.positions], WHOM[finding.name]) for finding in cautions
    ]
    for texts in TEXTS:
        wanted = {
            "mechanic": sorted(map(squeezed, (_for_mechanic(finding, texts) for finding in cautions))),
            "customer": sorted({risk for finding in cautions if (risk := _for_customer(finding, cautions, texts))}),
        }
        for reader in ("mechanic", "customer"):
            title = texts.label("risks" if reader == "mechanic" else "risks-for-customer")
            assert sorted(in_text(card, texts, reader, title)) == wanted[reader]
            assert sorted(on_page(card, texts, reader)) == wanted[reader]


def _for_mechanic(finding: Finding, texts: Texts) -> str:
    told = texts.told(finding.message)
    return told if finding.since is Since.CHANGE else texts.label("risk-before", risk=told)


def _for_customer(finding: Finding, cautions: list[Finding], texts: Texts) -> str:
    """Its sentence, with the places of all cautions that it is told together with; empty if it is not for the rider."""
    if not WHOM[finding.name]:
        return ""
    alike = [other for other in cautions if (other.name, other.since) == (finding.name, finding.since)]
    places = ", ".join(dict.fromkeys(texts.position(other.positions[0], "customer") for other in alike))
    told = f"{places[0].upper()}{places[1:]}: {texts.risk(finding.name)}"
    return squeezed(told if finding.since is Since.CHANGE else texts.label("risk-before-customer", risk=told))


def squeezed(text: str) -> str:
    return " ".join(text.replace("\N{NO-BREAK SPACE}", " ").split())


def in_text(card: JobCard, texts: Texts, reader: Audience, title: str) -> list[str]:
    """The entries below the heading, each in one line."""
    lines = list(job_lines(card, texts, reader))
    starts = [number for number, line in enumerate(lines) if (line.text, line.style) == (title, "head")]
    if not starts:
        return []
    found: list[str] = []
    for line in lines[starts[0] + 2 :]:
        if line.style != "caution":
            break
        if line.text.startswith("! "):
            found.append(line.text[2:])
        else:
            found[-1] += f" {line.text.strip()}"
    return [squeezed(text) for text in found]


def on_page(card: JobCard, texts: Texts, reader: Audience) -> list[str]:
    """The entries of the section. Whether the page is valid is asked in tests/report."""
    page = job_page(card, texts, reader)
    sections = re.findall(r'<section id="risks".*?</section>', page, re.DOTALL)
    return [squeezed(unescape(item)) for section in sections for item in re.findall("<li>(.*?)</li>", section)]


@FEW
@given(data=st.data())
def test_the_cautions_of_the_vetting_are_those_of_every_view(data: st.DataObject) -> None:
    holds_for(data.draw(jobs(), label="job"))


@cache
def _job(path: Path) -> Job:
    return Job(*bike_and_change(read_case(path), catalogue()))


@pytest.mark.parametrize("path", CAUTIONS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_every_kind_of_caution_is_told(path: Path) -> None:
    holds_for(_job(path))


@FEW
@given(data=st.data())
def test_what_is_impossible_is_called_so_and_a_remedy_is_never_as_asked(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    card = job_card(vetting(job.bike), job.change, Agreed())
    for texts in TEXTS:
        for reader in ("mechanic", "customer"):
            pages = (" ".join(line.text for line in job_lines(card, texts, reader)), job_page(card, texts, reader))
            for shown in map(squeezed, pages):
                assert card.stands is Verdict.BLOCKED or texts.label("safety-not-ridden") not in shown
                if card.remedy is not None:
                    assert texts.verdict(Verdict.FITS, reader) not in shown
                    assert texts.label("no-remedy") not in shown
                    assert texts.label("summary-as-asked") not in shown
                if card.verdict is Verdict.BLOCKED:
                    assert texts.verdict(Verdict.BLOCKED, "customer") not in shown
                    assert texts.label("not-possible") in shown
