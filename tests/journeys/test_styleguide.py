"""The style guide in a browser: all can be reached and read at any size, by day and by night."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from axe_playwright_python.sync_playwright import Axe
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Page
from pytest_django.live_server_helper import LiveServer

from shopcool.people.models import User
from tests.journeys.conftest import LANDSCAPE, PORTRAIT

pytestmark = pytest.mark.journey

PHONE = {"width": 390, "height": 844}
DESK = {"width": 1440, "height": 900}
TOO_SMALL = """[...document.querySelectorAll("a, button, select, summary, .tile, input, textarea")]
  .filter((one) => !one.matches(".skip, [type=hidden], .tile input"))
  .map((one) => [one.getBoundingClientRect(), one])
  .filter(([box]) => box.width && (box.height < 48 || box.width < 48))
  .map(([box, one]) => `${one.outerHTML.slice(0, 80)} ${box.width} x ${box.height}`)"""


@pytest.fixture
def context(browser: Browser, live_server: LiveServer, owner: User) -> Iterator[BrowserContext]:
    """A browser with the owner signed in; the policy is off, as the accessibility rules are injected."""
    client = Client()
    client.force_login(owner)
    context = browser.new_context(bypass_csp=True, reduced_motion="reduce")
    context.add_cookies(
        [{"name": "sessionid", "value": client.cookies["sessionid"].value, "url": live_server.url}]
    )
    yield context
    context.close()


def open_guide(context: BrowserContext, url: str, size: dict[str, int], scheme: str) -> Page:
    """Return the style guide at this size, by day (light) or by night (dark)."""
    page = context.new_page()
    page.set_viewport_size(size)
    page.emulate_media(color_scheme=scheme)
    page.goto(f"{url}/styleguide/")
    assert page.get_by_role("heading", name="Style guide").is_visible()
    return page


def test_every_component_can_be_read_and_reached(context: BrowserContext, live_server: LiveServer) -> None:
    for scheme in ("light", "dark"):
        page = open_guide(context, live_server.url, LANDSCAPE, scheme)

        violations = Axe().run(page).response["violations"]

        assert [(one["id"], [node["html"] for node in one["nodes"]]) for one in violations] == []
        page.close()


def test_longest_words_never_break_the_layout(context: BrowserContext, live_server: LiveServer) -> None:
    for size in (LANDSCAPE, PORTRAIT, PHONE, DESK):
        page = open_guide(context, live_server.url, size, "light")

        beyond = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")

        assert beyond == 0, size
        page.close()


def test_what_is_touched_is_large_enough(context: BrowserContext, live_server: LiveServer) -> None:
    for size in (LANDSCAPE, PORTRAIT, PHONE):
        page = open_guide(context, live_server.url, size, "light")

        assert page.evaluate(TOO_SMALL) == [], size
        page.close()
