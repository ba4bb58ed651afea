"""Law: every card can be told in every way, and no line of text is too long."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st
from markupsafe import Markup

from buildcheck.jobs import Agreed, job_card
from buildcheck.library.texts import load_texts
from buildcheck.report.drawings import LABELS, drawings_of
from buildcheck.report.job_page import job_page
from buildcheck.report.job_text import job_lines
from buildcheck.report.lines import WIDTH
from laws.bench import vetting
from laws.strategies import jobs

TEXTS = [load_texts("en"), load_texts("de")]


# Each example plans a job, mostly with a search for remedies.
@settings(max_examples=settings.default.max_examples // 2)
@given(data=st.data())
def test_a_card_can_be_told_in_every_way(data: st.DataObject) -> None:
    job = data.draw(jobs(), label="job")
    card = job_card(vetting(job.bike), job.change, Agreed())
    for texts in TEXTS:
        drawings = drawings_of(card.pictures, lambda key, texts=texts: texts.drawing(key, LABELS[key]), texts.position)
        for reader in ("mechanic", "customer"):
            assert max(len(line.text) for line in job_lines(card, texts, reader)) <= WIDTH
            assert str(Markup.escape(card.bike_name)) in job_page(card, texts, reader, drawings)
