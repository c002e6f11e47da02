"""The record of a job in the browser: asked for, watched, taken, and kept from strangers."""

from __future__ import annotations

from io import BytesIO
from unittest.mock import patch

import pytest
from django.urls import reverse
from pypdf import PdfReader

from jobs.choices import ReportStatus, ServiceKind, StepKind
from jobs.models import Report
from jobs.services.booking import Booking, job_book
from jobs.services.report_making import report_make
from jobs.services.report_requests import report_open
from shopcool.people.models import User
from tests.jobs.bay import Bay

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture(autouse=True)
def no_queue():
    """Nothing leaves the test for a worker."""
    with patch("jobs.tasks.report_make_task.delay") as delay:
        yield delay


@pytest.fixture
def browser(bay: Bay, signed_in):
    """The browser of the technician."""
    return signed_in(User.objects.get(username="tilda"))


def page_of(bay: Bay) -> str:
    return reverse("jobs:job", args=[bay.job.number])


def panel_of(bay: Bay) -> str:
    return reverse("jobs:report", args=[bay.job.number])


def made(bay: Bay) -> Report:
    """Return a finished report."""
    report, _is_new = report_open(actor=bay.technician, job=bay.job, now=bay.workshop.now)
    report_make(report_id=report.pk, now=bay.workshop.now)
    return Report.objects.get(pk=report.pk)


class TestPanel:
    def test_offers_the_record_on_the_page_of_the_job(self, bay, browser):
        html = browser.get(page_of(bay)).content.decode()

        assert f'action="{panel_of(bay)}"' in html
        assert "Make the record" in html

    def test_leads_back_to_the_job_without_script(self, bay, browser):
        response = browser.post(panel_of(bay))

        assert (response.status_code, response.url) == (302, f"{page_of(bay)}#record")
        html = browser.get(page_of(bay)).content.decode()
        assert "The record is being made" in html
        assert "Waiting for its turn" in html
        assert browser.get(panel_of(bay)).url == response.url

    def test_renews_itself_until_the_record_is_ready(self, bay, browser):
        waiting = browser.post(panel_of(bay), **HTMX).content.decode()
        assert f'hx-get="{panel_of(bay)}" hx-trigger="every 2s"' in waiting

        Report.objects.update(status=ReportStatus.RUNNING, progress=40, message="Setting the pages")
        running = browser.get(panel_of(bay), **HTMX).content.decode()
        assert 'value="40"' in running
        assert "Setting the pages" in running

        Report.objects.update(status=ReportStatus.QUEUED)
        report_make(report_id=Report.objects.get().pk, now=bay.workshop.now)
        ready = browser.get(panel_of(bay), **HTMX).content.decode()
        assert "hx-trigger" not in ready
        assert reverse("jobs:report_file", args=[bay.job.number, Report.objects.get().pk]) in ready

    def test_says_why_it_failed_and_lets_one_try_again(self, bay, browser):
        browser.post(panel_of(bay))
        Report.objects.update(status=ReportStatus.FAILED, message="The record could not be made.")

        html = browser.get(panel_of(bay), **HTMX).content.decode()

        assert "The record could not be made." in html
        assert "Try again" in html

    def test_says_when_the_job_went_on_after_the_record(self, bay, browser):
        bay.checked_in()
        made(bay)
        assert "The job went on after that" not in browser.get(page_of(bay)).content.decode()

        bay.record(StepKind.LABEL)

        assert "The job went on after that" in browser.get(page_of(bay)).content.decode()

    def test_pressed_twice_asks_once(self, bay, browser, django_capture_on_commit_callbacks, no_queue):
        with django_capture_on_commit_callbacks(execute=True):
            browser.post(panel_of(bay))
            browser.post(panel_of(bay), **HTMX)

        no_queue.assert_called_once_with(report_id=Report.objects.get().pk)


class TestFile:
    def test_is_a_pdf_with_a_clean_name(self, bay, browser):
        report = made(bay)

        response = browser.get(reverse("jobs:report_file", args=[bay.job.number, report.pk]))

        name = f"job-{bay.job.number}-record.pdf"
        assert response["Content-Type"] == "application/pdf"
        assert response["Content-Disposition"] == f'attachment; filename="{name}"'
        assert PdfReader(BytesIO(response.getvalue())).metadata.title == f"Record of job {bay.job.number}"

    def test_of_another_job_or_not_ready_is_not_found(self, bay, browser):
        report = made(bay)
        other = Booking(ServiceKind.INSPECTION, bay.workshop.now)
        elsewhere = job_book(
            actor=bay.technician, circuit=bay.job.circuit, booking=other, now=bay.workshop.now
        )

        file_url = reverse("jobs:report_file", args=[elsewhere.number, report.pk])
        assert browser.get(file_url).status_code == 404
        Report.objects.update(status=ReportStatus.FAILED)
        assert browser.get(reverse("jobs:report_file", args=[bay.job.number, report.pk])).status_code == 404


class TestPolicy:
    @pytest.mark.parametrize(
        ("who", "status"), [("technician", 200), ("front_desk", 200), ("owner", 200), ("outsider", 404)]
    )
    def test_opens_panel_and_file_for_colleagues_only(self, bay, request, signed_in, who, status):
        report = made(bay)
        browser = signed_in(request.getfixturevalue(who))

        file_url = reverse("jobs:report_file", args=[bay.job.number, report.pk])
        assert browser.get(panel_of(bay), **HTMX).status_code == status
        assert browser.post(panel_of(bay), **HTMX).status_code == status
        response = browser.get(file_url)
        response.close()
        assert response.status_code == status

    def test_sends_nobody_to_sign_in(self, bay, client):
        report = made(bay)

        for url in (panel_of(bay), reverse("jobs:report_file", args=[bay.job.number, report.pk])):
            assert reverse("people:sign_in") in client.get(url).url
