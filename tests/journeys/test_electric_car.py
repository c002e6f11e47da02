"""The main job, as technicians do it on a tablet: refused, purged, cleared, done, closed, printed.

One does it in metric and one in US units; both records must say the same.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.urls import reverse
from django.utils import timezone
from playwright.sync_api import Locator, Page, expect

from equipment.choices import Verdict
from equipment.models import Clearance, Piece
from jobs.choices import JobStatus
from jobs.demo.load import demo_load
from jobs.demo.people import PASSWORD
from jobs.models import Job, StepRecord
from jobs.tasks import report_make_task
from tests.core.documents.reading import text_of
from tests.journeys.conftest import PORTRAIT
from tests.journeys.figures import EXPECTED, METRIC, US, Figures, read_back
from tests.workers import own_queue
from tests.workers import worker as running_worker

pytestmark = [pytest.mark.journey, pytest.mark.long, pytest.mark.django_db(transaction=True)]
SCREENSHOTS = Path(".screenshots")
PLATE = "TQ 400 E"
#: A whole job with its drawings.
LARGEST_RECORD = 2_000_000


class Tablet:
    """What a technician does on the page, in words."""

    def __init__(self, page: Page, address: str, *, pictures: bool) -> None:
        self.page = page
        self.address = address
        self.pictures = pictures
        page.context.set_default_timeout(20_000)
        expect.set_options(timeout=20_000)
        SCREENSHOTS.mkdir(exist_ok=True)

    def sign_in(self, name: str) -> None:
        self.page.goto(self.address)
        self.page.fill("[name=username]", name)
        self.page.fill("[name=password]", PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()

    def picture(self, name: str) -> None:
        if self.pictures:
            self.page.screenshot(path=SCREENSHOTS / f"{name}.png", full_page=True)

    def type_step(self, **values: str) -> Locator:
        form = (
            self.page.locator("main form").filter(has=self.page.locator(f"[name={next(iter(values))}]")).first
        )
        form.evaluate("form => form.querySelectorAll('details').forEach(part => part.open = true)")
        for name, value in values.items():
            field = form.locator(f"[name={name}]").first
            if field.get_attribute("type") in {"radio", "checkbox"}:
                form.locator(f"[name={name}][value='{value}']").check(force=True)
            elif field.evaluate("element => element.tagName") == "SELECT":
                field.select_option(value)
            else:
                field.fill(value)
        return form

    def record(self, title: str, **values: str) -> None:
        form = self.type_step(**values)
        form.get_by_role("button", name=re.compile("^Record")).click()
        expect(self.page.get_by_text(f"On record: {title}.")).to_be_visible()

    def choose(self, *codes: str) -> None:
        for code in codes:
            box = self.page.get_by_role("checkbox", name=re.compile(rf"^{code}\b"))
            # The verdict stays in view at the foot of the page and may lie over the tile.
            box.evaluate("box => box.checked || box.click()")
            expect(box).to_be_checked()


@pytest.fixture
def worker(settings: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """A real Celery worker on the test's database, with a queue that no other test's worker empties."""
    settings.MEDIA_ROOT = tmp_path / "files"
    with running_worker(own_queue(monkeypatch, report_make_task), tmp_path):
        yield


@pytest.mark.parametrize("figures", [METRIC, US], ids=["metric", "us"])
def test_electric_car_from_refusal_to_record(
    page: Page, live_server: Any, worker: None, figures: Figures
) -> None:
    demo_load(timezone.now())
    tablet = Tablet(page, live_server.url, pictures=figures is METRIC)
    tablet.sign_in(figures.person)
    choose_units(tablet, figures)
    tablet.picture("01-today")
    page.get_by_role("link", name=PLATE).first.click()
    job = Job.objects.get(circuit__vehicle__registration=PLATE, status=JobStatus.CHECKED_IN)
    expect(page).to_have_url(re.compile(job.number))

    prepare(tablet)
    refused(tablet)
    purge(tablet, job, figures)
    connect(tablet, job)
    work_on_the_car(tablet, figures)
    finish(tablet, job, figures)
    compare_record(print_record(tablet, job), job, figures)


def choose_units(tablet: Tablet, figures: Figures) -> None:
    page = tablet.page
    expect(page.get_by_role("link", name=PLATE).first).to_be_visible()
    page.goto(tablet.address + reverse("people:own_units"))
    tablet.type_step(**figures.units)
    page.get_by_role("button", name="Use these units").click()
    expect(page.get_by_text("Your units hold from now on.")).to_be_visible()
    page.goto(tablet.address)


def prepare(tablet: Tablet) -> None:
    tablet.record("Label and complaint", label="READ")
    tablet.record(
        "High-voltage precautions",
        isolated="yes",
        waited="10",
        proved_before="yes",
        measured_at="compressor plug",
        voltage="0,4",
        proved_after="yes",
        voltage_tester=piece_id("T-2"),
        gloves=piece_id("P-1"),
        gloves_checked="yes",
    )
    tablet.record(
        "Refrigerant identification",
        result="ANALYSED",
        purity="99,6",
        hydrocarbon="0",
        air="0.4",
        identified_with=piece_id("A-1"),
        filter="CLEAN",
    )
    tablet.record("Recovered-oil bottle at the start", machine=piece_id("M-2"), emptied="yes")


def refused(tablet: Tablet) -> None:
    tablet.choose("M-2", "H-2", "G-1")
    for code in ("M-2", "H-2", "G-1"):
        sentence = f"{code} holds residue of PAG, which conducts"
        expect(tablet.page.get_by_text(sentence).first).to_be_visible()
    tablet.picture("02-refused")
    expect(tablet.page.get_by_role("button", name=re.compile("^Connect"))).to_have_count(0)


def purge(tablet: Tablet, job: Job, figures: Figures) -> None:
    page = tablet.page
    page.get_by_role("link", name=re.compile("purge", re.IGNORECASE)).first.click()
    expect(page).to_have_url(re.compile("/equipment/purges/new/"))
    tablet.picture("03-purge")
    page.locator("[name=positions]").first.wait_for(state="attached")
    for tick in page.locator("[name=positions]").all():
        tick.check(force=True)
    tablet.type_step(**figures.purge, completed="yes")
    page.get_by_role("button", name="Record this purge").click()
    expect(page).to_have_url(re.compile(r"/equipment/purges/\d+/"))
    tablet.picture("04-purged")
    page.goto(f"{tablet.address}/jobs/{job.number}/")


def connect(tablet: Tablet, job: Job) -> None:
    page = tablet.page
    tablet.choose("M-2", "H-2", "G-1")
    tablet.picture("05-cleared")
    page.get_by_role("button", name=re.compile("^Connect")).click()
    expect(page.get_by_text("Readings before").first).to_be_visible()
    assert Clearance.objects.filter(job_number=job.number, verdict=Verdict.PERMITTED).exists()


def work_on_the_car(tablet: Tablet, figures: Figures) -> None:
    tablet.record("Readings before", state="STATIC", **figures.before)
    tablet.record(
        "Insulation test",
        test="COMPONENT",
        resistance="> 550 MΩ",
        between="HV+ and housing",
        disconnected="compressor plug",
        nominal_voltage="500",
        actual_voltage="526",
        applied="60",
        surface="DRY",
        tester=piece_id("T-1"),
    )
    machine = piece_id("M-2")
    tablet.record(
        "Recovery",
        into="MACHINE",
        machine=machine,
        duration="18",
        pressure_returned="no",
        **figures.recovery,
    )
    tablet.record(
        "Evacuation and vacuum hold",
        machine=machine,
        pumped="25",
        valve_closed_first="yes",
        gauge="ELECTRONIC",
        gauge_used=piece_id("U-1"),
        held="10",
        **figures.evacuation,
    )
    tablet.record("Oil added", added="no", why_none="hardly any came out")
    tablet.picture("06-charge")
    tablet.record("Charge", machine=machine, **figures.charge)
    tablet.record("Readings after", state="RUNNING", **figures.after)
    tablet.record(
        "Leak check", method="ELECTRONIC", detector=piece_id("D-1"), smallest="4 g/year", result="NONE_FOUND"
    )


def finish(tablet: Tablet, job: Job, figures: Figures) -> None:
    page = tablet.page
    page.get_by_role("button", name=re.compile("^(Disconnect|Take)")).first.click()
    expect(page.get_by_text("Closing purge").first).to_be_visible()
    page.goto(f"{tablet.address}/jobs/{job.number}/")
    page.set_viewport_size(PORTRAIT)  # type: ignore[arg-type]
    tablet.picture("07-closing-purge")
    purge(tablet, job, figures)
    form = tablet.type_step(next_service_on="2028-11-01", customer_told="yes")
    form.get_by_role("button", name=re.compile("[Cc]lose")).click()
    expect(page.get_by_text("Closed").first).to_be_visible()
    job.refresh_from_db()
    assert job.status == JobStatus.CLOSED
    assert StepRecord.objects.filter(job=job).count() >= 14


def print_record(tablet: Tablet, job: Job) -> bytes:
    page = tablet.page
    page.get_by_role("button", name="Make the record").click()
    link = page.get_by_role("link", name="Open the record")
    expect(link.first).to_be_visible(timeout=60_000)
    tablet.picture("08-record")
    address = link.first.get_attribute("href")
    answer = page.context.request.get(f"{tablet.address}{address}")
    return bytes(answer.body())


def compare_record(pdf: bytes, job: Job, figures: Figures) -> None:
    """Read every figure back: in the units of the person, and in both where these are not metric."""
    assert len(pdf) < LARGEST_RECORD
    text = text_of(pdf)
    for said in (job.number, PLATE, "> 550 MΩ", "SAE J2788", *figures.said):
        assert said in text
    for label, units, meant, digit in EXPECTED:
        for unit in units if figures is US else units[:1]:
            read = read_back(text, label, unit)
            nearest = {found: min(meant, key=lambda one: abs(one - found)) for found in read}
            assert set(nearest.values()) == set(meant), (label, read)
            assert all(abs(found - one) <= digit for found, one in nearest.items()), (label, read)


def piece_id(code: str) -> str:
    return str(Piece.objects.values_list("pk", flat=True).get(code=code))
