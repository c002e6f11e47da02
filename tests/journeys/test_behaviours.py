"""What the small scripts promise, tried in a real browser; and that the pages work without them."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from pytest_django.fixtures import Settings
from pytest_django.live_server_helper import LiveServer

from tests.journeys import sample_pages

pytestmark = pytest.mark.journey


@pytest.fixture(scope="module")
def server() -> Iterator[LiveServer]:
    """A server of its own: the sample pages need no database, so none is emptied between the tests."""
    server = LiveServer("localhost")
    yield server
    server.stop()


@pytest.fixture
def site(server: LiveServer, settings: Settings) -> str:
    """The address of the sample pages, with nothing received yet."""
    settings.ROOT_URLCONF = "tests.journeys.sample_pages"
    sample_pages.received.clear()
    return server.url


class TestDraft:
    def test_what_was_typed_survives_a_reload(self, page: Page, site: str) -> None:
        page.goto(f"{site}/charge/")
        page.get_by_label("Charge").fill("55")

        page.reload()

        expect(page.get_by_label("Charge")).to_have_value("55")

    def test_a_recorded_form_opens_empty_and_shows_its_message(self, page: Page, site: str) -> None:
        page.goto(f"{site}/charge/")
        page.get_by_label("Charge").fill("55")
        page.get_by_role("button", name="Record the charge").click()

        expect(page.get_by_text("The charge is on record.")).to_be_visible()
        expect(page.get_by_label("Charge")).to_have_value("")
        assert sample_pages.received == ["55"]

    def test_a_refused_form_keeps_what_was_typed_beside_the_error(self, page: Page, site: str) -> None:
        page.goto(f"{site}/charge/")
        page.get_by_label("Charge").fill("5o")
        page.get_by_role("button", name="Record the charge").click()

        expect(page.get_by_text("Digits only.")).to_be_visible()
        expect(page.get_by_label("Charge")).to_have_value("5o")

        page.reload()
        expect(page.get_by_label("Charge")).to_have_value("5o")

    def test_a_dead_network_loses_nothing_and_sends_once(self, page: Page, site: str) -> None:
        page.goto(f"{site}/charge/")
        page.get_by_label("Charge").fill("70")
        page.context.set_offline(True)
        page.get_by_role("button", name="Record the charge").click()

        expect(page.locator("[data-network-banner]")).to_be_visible()
        expect(page.get_by_label("Charge")).to_have_value("70")
        assert sample_pages.received == []

        page.context.set_offline(False)
        expect(page.get_by_text("The charge is on record.")).to_be_visible()
        assert sample_pages.received == ["70"]


class TestOnce:
    def test_a_double_press_sends_one_form(self, page: Page, site: str) -> None:
        page.goto(f"{site}/charge/")
        page.get_by_label("Charge").fill("55")
        page.get_by_role("button", name="Record the charge").dblclick()

        expect(page.get_by_text("The charge is on record.")).to_be_visible()
        assert sample_pages.received == ["55"]


class TestTimer:
    def test_reckons_from_its_start(self, page: Page, site: str) -> None:
        page.goto(f"{site}/clock/")

        expect(page.locator("#up [data-timer-clock]")).to_contain_text("10:0")
        expect(page.locator("#over")).to_contain_text("Time is up")
        expect(page.locator("#over [data-timer-clock]")).to_have_text("0:00")

    def test_a_clock_started_here_goes_on_after_a_reload(self, page: Page, site: str) -> None:
        page.goto(f"{site}/clock/")
        expect(page.locator("#own [data-timer-clock]")).to_have_text("10:00")
        start = page.locator("#own").get_by_role("button", name="Start the clock")
        start.click()
        expect(page.locator("#own [data-timer-clock]")).to_contain_text("9:5")

        page.reload()

        expect(page.locator("#own [data-timer-clock]")).to_contain_text("9:5")
        expect(start).to_be_hidden()

    def test_a_clock_that_has_run_out_gives_its_minutes_and_starts_again(self, page: Page, site: str) -> None:
        page.goto(f"{site}/clock/")
        short = page.locator("#short")
        short.get_by_role("button", name="Start the clock").click()

        expect(short.locator("input")).to_have_value("0 min")
        expect(short).to_contain_text("Time is up")

        short.get_by_role("button", name="Start again").click()
        expect(short).not_to_contain_text("Time is up")


class TestRefresh:
    def test_renews_itself_until_someone_types(self, page: Page, site: str) -> None:
        page.goto(f"{site}/board/")
        first = int(page.locator("#count").inner_text())
        expect(page.locator("#count")).not_to_have_text(str(first))

        page.locator("#plate").fill("AB 12")
        kept = page.locator("#count").inner_text()
        page.wait_for_timeout(2500)

        expect(page.locator("#plate")).to_have_value("AB 12")
        expect(page.locator("#count")).to_have_text(kept)


class TestQuestion:
    def test_asks_first_and_goes_back(self, page: Page, site: str) -> None:
        page.goto(f"{site}/question/")
        expect(page.get_by_role("dialog")).to_be_hidden()

        page.get_by_role("button", name="Put out of service").click()
        expect(page.get_by_role("dialog", name="Put S-2 out of service?")).to_be_visible()
        page.get_by_role("button", name="Go back").click()

        expect(page.get_by_role("dialog")).to_be_hidden()
        assert sample_pages.received == []

    def test_acts_when_confirmed(self, page: Page, site: str) -> None:
        page.goto(f"{site}/question/")
        page.get_by_role("button", name="Put out of service").click()
        page.get_by_role("button", name="Yes, put it out").click()

        expect(page.get_by_role("dialog")).to_be_hidden()
        assert sample_pages.received == ["retired"]


class TestTheme:
    def test_day_and_night_are_remembered(self, page: Page, site: str) -> None:
        page.goto(f"{site}/question/")
        ground = "getComputedStyle(document.body).backgroundColor"
        day = page.evaluate(ground)

        page.get_by_role("button", name="Night").click()
        page.reload()

        assert page.evaluate(ground) != day
        expect(page.get_by_role("button", name="Night")).to_have_attribute("aria-pressed", "true")


class TestWithoutScript:
    def test_the_act_behind_a_question_stays_possible(self, browser: Browser, site: str) -> None:
        context = browser.new_context(java_script_enabled=False)
        page = context.new_page()
        page.goto(f"{site}/question/")

        page.get_by_role("button", name="Yes, put it out").click()
        page.wait_for_load_state()

        context.close()
        assert sample_pages.received == ["retired"]

    def test_a_form_is_sent_and_refused_as_usual(self, browser: Browser, site: str) -> None:
        context = browser.new_context(java_script_enabled=False)
        page = context.new_page()
        page.goto(f"{site}/charge/")
        page.get_by_label("Charge").fill("5o")

        page.get_by_role("button", name="Record the charge").click()

        expect(page.get_by_text("Digits only.")).to_be_visible()
        context.close()
