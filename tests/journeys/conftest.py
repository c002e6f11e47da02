"""The browser of the journeys: the Chromium of the system, at the size of a tablet in a bay."""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM = os.environ.get("SHOPCOOL_CHROMIUM") or shutil.which("chromium") or shutil.which("chromium-browser")
LANDSCAPE = {"width": 1024, "height": 768}
PORTRAIT = {"width": 820, "height": 1180}

# Playwright keeps an event loop in this thread; Django would take it for asynchronous code.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One browser for all journeys."""
    if CHROMIUM is None:
        pytest.skip("No Chromium on this machine: install chromium to drive the pages in a real browser.")
    with sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=CHROMIUM, args=["--no-sandbox"])
        yield started
        started.close()


@pytest.fixture
def page(browser: Browser) -> Iterator[Page]:
    """A fresh tablet; breaking the security policy, a failing script or a failing answer fails the test."""
    context = browser.new_context(viewport=LANDSCAPE, color_scheme="light", reduced_motion="reduce")
    context.set_default_timeout(5000)
    page = context.new_page()
    faults: list[str] = []
    page.on("pageerror", lambda error: faults.append(str(error)))
    page.on(
        "console", lambda line: faults.append(line.text) if "Content Security Policy" in line.text else None
    )
    page.on(
        "response",
        lambda answer: faults.append(f"{answer.status} {answer.url}") if answer.status >= 500 else None,
    )
    yield page
    context.close()
    assert faults == []
