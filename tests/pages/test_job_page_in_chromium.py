"""The job card in a real browser: nothing runs over, everybody can read it, the demo's is two sheets of paper."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page
from pypdf import PdfReader

from buildcheck.library.texts import load_texts
from buildcheck.model.job import JobCard
from buildcheck.report.job_page import job_page
from report.job_fixture import demo_card, demo_drawings, open_card, real_card

NARROW, WIDE = 360, 1280
# The look for what bars a reader takes seconds: `make pages` has each reader at each width, every run at one.
READERS = [(NARROW, "mechanic"), (WIDE, "customer"), (WIDE, "mechanic"), (NARROW, "customer")]
LOOKED_AT = READERS if os.environ.get("HYPOTHESIS_PROFILE") == "prove" else READERS[:2]
A4_MM = (210, 297)
OVER_THE_EDGE = """() => [...document.querySelectorAll('body *')]
    .filter(it => !it.closest('svg') && it.getBoundingClientRect().right > document.documentElement.clientWidth + 0.5)
    .map(it => it.outerHTML.slice(0, 80))"""
RUNS_OVER = "() => document.documentElement.scrollWidth > document.documentElement.clientWidth"
SMALLEST_PX = """() => Math.min(...[...document.querySelectorAll('body *')]
    .filter(it => it.tagName !== 'SUP' && !it.closest('svg') && it.checkVisibility()
        && [...it.childNodes].some(child => child.nodeType === 3 && child.textContent.trim()))
    .map(it => parseFloat(getComputedStyle(it).fontSize)))"""


def show(tab: Page, card: JobCard, audience: str, language: str = "en", width: int = WIDE) -> None:
    tab.emulate_media(media="null")
    tab.set_viewport_size({"width": width, "height": 900})
    tab.set_content(job_page(card, load_texts(language), audience, demo_drawings()))  # type: ignore[arg-type]


def sheets(tab: Page) -> PdfReader:
    return PdfReader(BytesIO(tab.pdf(prefer_css_page_size=True, print_background=True)))


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize("audience", ["mechanic", "customer"])
def test_nothing_runs_over(tab: Page, audience: str, language: str) -> None:
    card = real_card()
    long = replace(card.parts[0], name="x" * 90)
    show(tab, replace(card, bike_name="y" * 90, parts=(long, *card.parts)), audience, language)
    for width in (WIDE, NARROW):
        tab.set_viewport_size({"width": width, "height": 900})
        assert tab.evaluate(OVER_THE_EDGE) == []
        assert not tab.evaluate(RUNS_OVER)


@pytest.mark.parametrize("card", [real_card, demo_card])
@pytest.mark.parametrize("audience", ["mechanic", "customer"])
def test_the_card_of_the_demo_is_two_sheets_of_a4(tab: Page, audience: str, card: Callable[[], JobCard]) -> None:
    show(tab, card(), audience)
    pages = sheets(tab).pages
    assert len(pages) <= 2
    for page in pages:
        found = [float(side) / 72 * 25.4 for side in page.mediabox[2:]]
        assert found == pytest.approx(A4_MM, abs=1)


def test_drawings_come_to_paper_when_they_are_asked_for(tab: Page) -> None:
    show(tab, demo_card(), "mechanic")
    title = demo_drawings()[-1].title
    assert title not in "".join(page.extract_text() for page in sheets(tab).pages)
    tab.get_by_label("Print the drawings, too").check()
    assert title in sheets(tab).pages[-1].extract_text()


@pytest.mark.parametrize(("width", "audience"), LOOKED_AT)
def test_axe_finds_nothing(tab: Page, width: int, audience: str) -> None:
    show(tab, open_card(), audience, width=width)
    found = Axe().run(tab, options={"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}})
    assert found.response["violations"] == [], found.generate_report()


@pytest.mark.parametrize("audience", ["mechanic", "customer"])
def test_letters_are_large_enough(tab: Page, audience: str) -> None:
    show(tab, open_card(), audience, width=NARROW)
    assert tab.evaluate(SMALLEST_PX) >= 13
    tab.emulate_media(media="print")
    assert tab.evaluate(SMALLEST_PX) * 72 / 96 >= 8


def test_steps_are_ticked_from_the_keyboard(tab: Page) -> None:
    show(tab, demo_card(), "mechanic")
    box = tab.locator("#step-1 input")
    box.focus()
    tab.keyboard.press("Space")
    assert box.is_checked()
