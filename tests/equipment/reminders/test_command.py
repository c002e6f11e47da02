"""``manage.py reminders_run``: the day's work by hand, said in a sentence."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.core import mail
from django.core.management import call_command

from equipment.reminders.models import Digest, DigestStatus, ReminderRun
from shopcool.core import clock
from tests.equipment.reminders.conftest import TODAY, Remembering

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def due_today(remembering: Remembering) -> None:
    """The certificate of a machine ends today."""
    remembering.certificate(TODAY)


def said(
    remembering: Remembering, monkeypatch: pytest.MonkeyPatch, at: str, *options: str, day: int = 0
) -> str:
    """Run the command at an hour of the workshop and return what it says."""
    output = StringIO()
    monkeypatch.setattr(clock, "now", lambda: remembering.moment(day, at))
    with remembering.capture(execute=True):
        call_command("reminders_run", *options, stdout=output)
    return output.getvalue().strip()


def test_writes_and_sends_once(remembering: Remembering, monkeypatch: pytest.MonkeyPatch) -> None:
    first = said(remembering, monkeypatch, "07:02")
    again = said(remembering, monkeypatch, "07:03")

    assert first == "2026-03-02: 1 reminder written, 1 e-mail, 0 closed as done."
    assert again == "Nothing to write: done today already, or before the reminder time. 0 closed."
    assert [message.to for message in mail.outbox] == [["Orla <orla@shop.example>"]]
    assert ReminderRun.objects.get().worker.startswith("command@")


def test_waits_for_the_time_of_the_workshop_unless_told_not_to(
    remembering: Remembering, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert said(remembering, monkeypatch, "05:00").startswith("Nothing to write")
    assert said(remembering, monkeypatch, "05:01", "--early").startswith("2026-03-02: 1 reminder written")


def test_sends_what_another_worker_left(remembering: Remembering, monkeypatch: pytest.MonkeyPatch) -> None:
    said(remembering, monkeypatch, "07:02")
    left = remembering.moment(0, "07:02") - timedelta(hours=1)
    Digest.objects.update(status=DigestStatus.CLAIMED, sent_at=None, touched_at=left)

    said(remembering, monkeypatch, "07:30")

    numbers = [message.extra_headers["Message-ID"] for message in mail.outbox]
    assert numbers == [Digest.objects.get().message_id] * 2
