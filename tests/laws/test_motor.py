"""Law: a bike whose file names a motor never fits, and every view says why in one plain sentence."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from buildcheck.jobs import Agreed, job_card
from buildcheck.library.texts import load_texts
from buildcheck.model.levels import Verdict
from buildcheck.report.job_page import job_page
from buildcheck.report.job_text import job_lines
from buildcheck.report.json_view import job_json, report_json
from buildcheck.report.text import report_lines
from laws.bench import BIKES, bike, change, verdict, vetting
from laws.strategies import jobs

MOTORS = ("at-the-cranks", "in-the-front-wheel", "in-the-rear-wheel", "elsewhere")
PLAIN = "This bike has a motor: whether drive, battery and approvals allow this build is not checked here."


def squeezed(text: str) -> str:
    return " ".join(text.split())


@given(data=st.data(), motor=st.sampled_from(MOTORS))
def test_no_change_to_it_fits(data: st.DataObject, motor: str) -> None:
    job = data.draw(jobs(), label="job")
    driven = replace(job.bike, motor=motor)
    usual = verdict(job.bike, job.change)
    expected = Verdict.BLOCKED if usual is Verdict.BLOCKED else Verdict.UNDECIDED
    assert verdict(driven, job.change) is expected


@pytest.mark.parametrize("name", BIKES)
def test_it_does_not_fit_as_it_stands_nor_with_the_part_that_is_there(name: str) -> None:
    driven = replace(bike(name), motor="elsewhere")
    same = change(driven, f"{driven['saddle'].part.id}@saddle")
    assert vetting(driven).check().verdict is Verdict.UNDECIDED
    assert verdict(driven, same) is Verdict.UNDECIDED


def test_every_view_says_so() -> None:
    driven = replace(bike("city-rim"), motor="at-the-cranks")
    bench, asked = vetting(driven), change(driven, "dunreth-chain-8-long@chain")
    for report in (bench.check(), bench.swap(asked)):
        assert PLAIN in squeezed(" ".join(line.text for line in report_lines(report)))
        assert PLAIN in {finding["message"] for finding in json.loads(report_json(report))["findings"]}
    card = job_card(bench, asked, Agreed())
    assert PLAIN in job_json(card)
    for language in ("en", "de"):
        texts = load_texts(language, strict=True)
        (reason,) = (reason for reason in card.open if reason.name == "motor-not-checked")
        told = {"mechanic": texts.told(reason.messages[0]), "customer": texts.finding(reason.name)}
        for reader in ("mechanic", "customer"):
            assert told[reader] in squeezed(" ".join(line.text for line in job_lines(card, texts, reader)))
            assert told[reader] in squeezed(job_page(card, texts, reader))
