"""One Chromium for the session: Debian's own. Where it is missing the tests are skipped; CI may not skip them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = Path(os.environ.get("BUILDCHECK_CHROMIUM", "/usr/bin/chromium"))
# No sandbox, as CI is root; and nothing that Chromium would do in the network by itself.
FLAGS = [
    "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking",
    "--disable-component-update", "--disable-sync",
]  # fmt: skip


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    if not CHROMIUM.exists():
        told = f"{CHROMIUM} is missing: apt-get install chromium fonts-liberation, or set BUILDCHECK_CHROMIUM"
        if os.environ.get("BUILDCHECK_CI_BROWSER"):
            pytest.fail(told)
        pytest.skip(told)
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=str(CHROMIUM), args=FLAGS)
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def tab(browser: Browser) -> Iterator[Page]:
    """A page that reaches no network; each test shows its own card on it."""
    page = browser.new_page()
    page.route("**/*", lambda route: route.abort())
    yield page
    page.close()
