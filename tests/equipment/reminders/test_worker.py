"""Real workers, broker and mail server: whatever dies or comes twice, each reminder comes once."""

from __future__ import annotations

import signal
from collections import Counter
from contextlib import ExitStack
from datetime import date, time, timedelta
from pathlib import Path

import pytest
from django.db.models import F

from equipment.choices import DocumentKind, PieceKind
from equipment.models import Piece, PieceDocument, PieceState
from equipment.reminders.models import Digest, DigestStatus, Reminder, ReminderRun, ReminderStatus
from equipment.services.digests import CLAIM_ENDS_AFTER, digest_send
from equipment.services.reminders import reminders_run
from equipment.tasks import reminders_run_task
from shopcool.celery import app
from shopcool.core import clock
from shopcool.core.actors import Role
from shopcool.people.models import User
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get
from tests.mail_server import mail_server
from tests.workers import beat, own_queue, wait_for, worker

pytestmark = [pytest.mark.long, pytest.mark.django_db(transaction=True)]
DOWN = timedelta(days=4)
ENTRY = "remind of what is due"


def machine_due(days: int, today: date) -> None:
    """Take in a machine whose certificate ends so many days from today."""
    piece = Piece.objects.create(code=f"M{days}", name="Machine", kind=PieceKind.MACHINE, refrigerant="R134A")
    PieceState.objects.create(piece=piece)
    PieceDocument.objects.create(
        piece=piece, kind=DocumentKind.CERTIFICATE, number="C-1", body="Board", issued_on=date(2025, 1, 1),
        valid_until=today + timedelta(days=days), refrigerants=["R134A"],
    )  # fmt: skip


def ticks(beat_log: Path) -> int:
    """Return how often a beat has sent its task."""
    return beat_log.read_text().count(f"due task {ENTRY}")


def messages_left(queue: str) -> int:
    with app.connection_for_read() as broker:
        return int(broker.default_channel.client.llen(queue))


@pytest.fixture
def silent_workshop(mail_on: None) -> date:
    """A workshop with an owner, whose reminders were written four days ago; then everything stood still."""
    shop_get()
    Shop.objects.update(reminders_at=time(0), time_zone="UTC")
    User.objects.create_user("orla", full_name="Orla", roles=[Role.OWNER], email="orla@shop.example")
    now = clock.now()
    for days in (31, 6, 2, 0, -2):
        machine_due(days, now.date())
    delivered: list[int] = []
    reminders_run(now=now - DOWN, worker="before", deliver=delivered.append)
    for digest_id in delivered:
        digest_send(digest_id=digest_id, now=now - DOWN)
    return now.date()


def test_a_killed_worker_two_beats_and_three_days_of_silence_tell_everything_once(
    silent_workshop: date, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    queue, log = own_queue(monkeypatch, reminders_run_task), tmp_path / "worker.log"
    digest = Digest.objects.filter(day=silent_workshop)
    variables = {"SHOPCOOL_EMAIL_FROM": "workshop@shop.example"}
    with mail_server() as server, ExitStack() as workers, ExitStack() as beats:
        variables["SHOPCOOL_EMAIL_URL"] = server.url
        server.answers.clear()
        pair = [beats.enter_context(beat(ENTRY, queue, tmp_path / name, every_s=0.3)) for name in "ab"]
        with worker(queue, tmp_path, **variables):
            wait_for(lambda: bool(server.attempted), log)
        assert digest.get().status == DigestStatus.CLAIMED

        # Five minutes later the claim of the dead worker is over.
        digest.update(touched_at=F("touched_at") - CLAIM_ENDS_AFTER)
        server.answers.set()
        both = [workers.enter_context(worker(queue, tmp_path, **variables)) for _ in range(2)]
        wait_for(lambda: digest.get().status == DigestStatus.SENT, log)
        enough = max(map(ticks, pair)) + 2
        wait_for(lambda: min(map(ticks, pair)) >= enough, pair[0])
        beats.close()
        wait_for(lambda: not messages_left(queue), log)
        for process in both:
            process.send_signal(signal.SIGTERM)
            process.wait(timeout=30)

    number = digest.get().message_id
    assert server.accepted == [number]
    assert server.attempted == [number, number]
    days = [silent_workshop - DOWN, silent_workshop]
    assert list(ReminderRun.objects.order_by("day").values_list("day", flat=True)) == days
    notices = Reminder.objects.values_list("due_key", "due_on", "stage", "days_ahead")
    assert set(Counter(notices).values()) == {1}
    told = Reminder.objects.filter(status=ReminderStatus.OPEN).order_by("due_on")
    assert [(row.stage, row.days_ahead) for row in told] == [
        ("OVERDUE", 0), ("DUE", 0), ("COMING", 7), ("COMING", 7),
    ]  # fmt: skip
