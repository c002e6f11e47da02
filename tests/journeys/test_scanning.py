"""A printed label, read beside the car: from the paper to the connected piece."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from shopcool.core import clock
from shopcool.people.models import User
from tests.equipment.printed import codes_on, pages_of
from tests.equipment.workshop import Workshop
from tests.jobs.bay import BEFORE_CONNECTION, Bay
from tests.people_fixtures import PASSWORD

pytestmark = [pytest.mark.journey, pytest.mark.django_db(transaction=True)]


def test_a_scanned_label_connects_its_piece_to_the_car_at_hand(
    page: Page, live_server: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    page.context.set_default_timeout(20_000)
    expect.set_options(timeout=20_000)
    bay = Bay(Workshop()).checked_in()
    for kind in BEFORE_CONNECTION:
        bay.record(kind)
    monkeypatch.setattr(clock, "now", lambda: bay.workshop.later(0.1))
    technician = User.objects.get(username="tilda")
    technician.set_password(PASSWORD)
    technician.save()

    page.goto(f"{live_server.url}/jobs/{bay.job.number}/")
    page.fill("[name=username]", "tilda")
    page.fill("[name=password]", PASSWORD)
    page.get_by_role("button", name="Sign in").click()
    page.goto(scanned(page, live_server.url, "H-1"))
    page.get_by_role("link", name=re.compile("^Connect to")).click()
    expect(page.get_by_role("checkbox", name=re.compile("^H-1"))).to_be_checked()
    page.get_by_role("button", name="Connect this piece").click()

    expect(page.get_by_text("Cleared and connected: H-1.")).to_be_visible()
    page.goto(scanned(page, live_server.url, "H-1"))
    expect(page.get_by_text("It is on this car now.")).to_be_visible()


def scanned(page: Page, address: str, code: str) -> str:
    """Print the label of a piece as a person does, and return what an independent reader sees on it."""
    page.goto(f"{address}/equipment/{code}/")
    page.get_by_role("link", name="Print its label").click()
    page.get_by_label("One label of 50 × 30 mm").check(force=True)
    with page.expect_download() as download:
        page.get_by_role("button", name="Make the PDF").click()
    (picture,) = pages_of(download.value.path().read_bytes(), 150)
    (found,) = codes_on(picture)
    assert found.startswith(f"{address}/p/")
    return found
