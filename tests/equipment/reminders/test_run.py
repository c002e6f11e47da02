"""The day's reminders in the database: each once, one digest, and nothing when the day is rolled back."""

from __future__ import annotations

from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, date, datetime, time, timedelta
from email import message_from_bytes
from itertools import product
from threading import Barrier
from zoneinfo import ZoneInfo

import pytest
from django.core import mail
from django.db import connections, transaction
from pytest_django import DjangoAssertNumQueries
from pytest_django.fixtures import Settings

from equipment.choices import DocumentKind
from equipment.models import PieceDocument
from equipment.oil.lots import oil_lot_open
from equipment.reminders.models import Digest, DigestStatus, Reminder, ReminderRun, ReminderStatus
from equipment.reminders.selectors import reminders_standing
from equipment.services.digests import CLAIM_ENDS_AFTER, MOST_ATTEMPTS, digest_send, digests_standing
from equipment.services.reminders import reminders_run
from shopcool.engineering.quantities import Kind, parse
from shopcool.people.models import CompetenceKind, User
from shopcool.people.services.competences import competence_add
from shopcool.shop.models import Shop
from tests.equipment.reminders.conftest import TODAY, Remembering
from tests.equipment.workshop import Workshop

pytestmark = pytest.mark.django_db


def in_days(days: int) -> date:
    return TODAY + timedelta(days=days)


def test_each_stage_is_told_once_however_often_the_run_comes(remembering: Remembering) -> None:
    remembering.certificate(in_days(31))

    days = (0, 1, 2, 23, 24, 25, 30, 31, 32, 33)
    for day, at in product(days, ("06:59", "07:02", "12:00")):
        remembering.run(day, at)

    assert remembering.told() == ["COMING 30", "COMING 7", "DUE", "OVERDUE"]
    assert [message.subject for message in mail.outbox] == [
        "Harbour Street Workshop: 1 reminder",
        "Harbour Street Workshop: 1 reminder",
        "Harbour Street Workshop: 1 reminder",
        "Harbour Street Workshop: 1 reminder, 1 overdue",
    ]
    assert ReminderRun.objects.count() == len(days)
    assert Reminder.objects.filter(status=ReminderStatus.OPEN).count() == 1


def test_after_three_days_down_one_digest_tells_the_newest_of_each(remembering: Remembering) -> None:
    for number, days in enumerate((31, 8, 2, 1, 0)):
        remembering.certificate(in_days(days), f"M-{number}")
    remembering.run(0)
    mail.outbox.clear()

    remembering.run(4, "14:30")

    assert [message.subject for message in mail.outbox] == ["Harbour Street Workshop: 5 reminders, 3 overdue"]
    open_rows = Reminder.objects.filter(status=ReminderStatus.OPEN).order_by("due_on")
    assert [row.stage for row in open_rows] == ["OVERDUE", "OVERDUE", "OVERDUE", "COMING", "COMING"]
    remembering.run(4, "14:35")
    assert len(mail.outbox) == 1


# Clock changes of 2026 by Directive 2000/84/EC (01:00 UTC) and 15 U.S.C. 260a (02:00 local time).
@pytest.mark.parametrize(
    ("zone", "at", "change"),
    [
        ("Europe/Berlin", time(2, 30), date(2026, 3, 29)),
        ("Europe/Berlin", time(2, 30), date(2026, 10, 25)),
        ("America/New_York", time(2, 30), date(2026, 3, 8)),
        ("America/New_York", time(1, 30), date(2026, 11, 1)),
    ],
)
def test_an_hour_that_is_skipped_or_comes_twice_neither_loses_nor_repeats_a_reminder(
    remembering: Remembering, zone: str, at: time, change: date
) -> None:
    Shop.objects.update(time_zone=zone, reminders_at=at, reminder_days=[1])
    remembering.certificate(change)
    midnight = datetime.combine(change - timedelta(days=1), time(), ZoneInfo(zone)).astimezone(UTC)

    for hours in (*range(0, 24, 6), *(24 + half / 2 for half in range(9)), *range(30, 73, 6)):
        remembering.run_at(midnight + timedelta(hours=hours))

    assert remembering.told() == ["COMING 1", "DUE", "OVERDUE"]
    assert len(mail.outbox) == Digest.objects.count() == 3
    days = ReminderRun.objects.order_by("day").values_list("day", flat=True)
    assert [(day - change).days for day in days] == [-1, 0, 1]


def test_what_is_done_is_closed_at_the_next_run_and_its_new_day_reminds_again(
    remembering: Remembering,
) -> None:
    old = remembering.certificate(in_days(-1))
    remembering.run(0)

    remembering.renewed(old.piece_id, in_days(30))
    outcome = remembering.run(0, "09:00")

    assert (outcome.day, outcome.done) == (None, 1)
    assert Reminder.objects.get(stage="OVERDUE").status == ReminderStatus.DONE
    remembering.run(1)
    assert remembering.told() == ["OVERDUE", "COMING 30"]


def test_shorter_notice_does_not_count_as_done(remembering: Remembering) -> None:
    remembering.certificate(in_days(30))
    remembering.run(0)
    Shop.objects.update(reminder_days=[])

    assert remembering.run(1).done == 0


def test_a_competence_reminds_its_holder_first_and_the_owner_once_it_is_overdue(
    remembering: Remembering,
) -> None:
    workshop = remembering.workshop
    priya = User.objects.create_user("priya", full_name="Priya Nair", roles=["TECHNICIAN"])
    User.objects.filter(pk=priya.pk).update(email="priya@shop.example")
    competence_add(
        actor=workshop.owner, user_id=priya.pk, kind=CompetenceKind.HIGH_VOLTAGE, number="HV-1",
        body="Board", issued_on=date(2024, 1, 1), valid_until=in_days(0), now=workshop.now,
    )  # fmt: skip

    remembering.run(0)
    assert [message.to for message in mail.outbox] == [["Priya Nair <priya@shop.example>"]]
    assert "the work is refused" in str(mail.outbox[0].body)

    remembering.run(1)
    assert remembering.told() == ["OVERDUE"]
    assert remembering.told(priya) == ["DUE", "OVERDUE"]
    assert len(mail.outbox) == 3


def test_oil_reminds_a_week_before_it_has_stood_open_too_long_and_at_once_when_it_runs_low(
    remembering: Remembering,
) -> None:
    workshop = remembering.workshop
    low = parse("240", Kind.VOLUME, default_unit="ml")
    lot = oil_lot_open(
        actor=workshop.technician, lot=workshop.lot(low=low), opened_at=workshop.now, now=workshop.now
    )
    for day in (0, 1, 22, 23):
        remembering.run(day)
    assert remembering.told() == ["COMING 7"]

    injector = workshop.injector()
    workshop.fill(injector, lot, "20")
    remembering.run(24)
    remembering.run(25)

    assert remembering.told() == ["COMING 7", "DUE", "OVERDUE"]
    assert "Next container of POE 68" in str(mail.outbox[-1].body)
    standing = reminders_standing(workshop.owner, today=in_days(25))
    assert {(row.what, row.lot_code, row.without_it) for row in standing} == {
        ("Using up L-1 POE 68", "L-1", "the oil may not be used"),
        ("Next container of POE 68", "L-1", ""),
    }
    workshop.lot("L-2", low=low)
    assert remembering.run(26).done == 1


def test_the_email_says_what_is_due_in_plain_words_with_links(remembering: Remembering) -> None:
    remembering.certificate(in_days(7))

    remembering.run(0)

    (sent,) = mail.outbox
    text = str(sent.body)
    assert "Certificate C-2026-03-09 of M-1" in text
    assert "due on 9 March 2026; without it the piece is not ready" in text
    assert "https://shop.example/equipment/M-1/" in text
    html = str(sent.alternatives[0][0])  # type: ignore[attr-defined]
    assert '<a href="https://shop.example/reminders/">' in html
    headers = message_from_bytes(sent.message().as_bytes())
    assert headers["Message-ID"] == Digest.objects.get().message_id
    assert headers["Auto-Submitted"] == "auto-generated"


def test_without_a_mail_server_reminders_stand_in_the_list_and_come_in_the_first_digest_later(
    remembering: Remembering, settings: Settings
) -> None:
    settings.MAIL_IS_ON = False
    remembering.certificate(in_days(30))
    assert remembering.run(0).reminders == 1
    assert (mail.outbox, Digest.objects.count()) == ([], 0)

    settings.MAIL_IS_ON = True
    remembering.run(1)
    assert len(mail.outbox) == 1


def test_a_day_that_is_rolled_back_sends_nothing_and_is_done_again(remembering: Remembering) -> None:
    remembering.certificate(in_days(0))
    delivered: list[int] = []

    with remembering.capture(execute=True) as callbacks, transaction.atomic():
        reminders_run(now=remembering.moment(0), worker="test", deliver=delivered.append)
        transaction.set_rollback(True)

    assert (callbacks, delivered, Reminder.objects.count(), ReminderRun.objects.count()) == ([], [], 0, 0)
    remembering.run(0)
    assert remembering.told() == ["DUE"]


def test_early_does_not_wait_for_the_hour_and_the_hour_then_does_nothing(remembering: Remembering) -> None:
    remembering.certificate(in_days(0))

    assert remembering.run(0, "05:00").day is None
    assert remembering.run(0, "05:01", early=True).reminders == 1
    assert remembering.run(0, "07:00").day is None


class TestSending:
    def waiting(self, remembering: Remembering) -> Digest:
        remembering.certificate(in_days(0))
        with remembering.capture(execute=True):
            reminders_run(now=remembering.moment(0), worker="test", deliver=remembering.delivered.append)
        (digest,) = Digest.objects.all()
        assert remembering.delivered == [digest.pk]
        return digest

    def test_two_workers_with_the_same_digest_send_it_once(self, remembering: Remembering) -> None:
        digest, now = self.waiting(remembering), remembering.moment(0)

        digest_send(digest_id=digest.pk, now=now)
        digest_send(digest_id=digest.pk, now=now)

        assert len(mail.outbox) == 1
        digest.refresh_from_db()
        assert (digest.status, digest.attempts, digest.sent_at) == (DigestStatus.SENT, 1, now)

    def test_a_claim_of_a_dead_worker_runs_out_and_the_email_keeps_its_number(
        self, remembering: Remembering
    ) -> None:
        digest, now = self.waiting(remembering), remembering.moment(0)
        Digest.objects.update(status=DigestStatus.CLAIMED, attempts=1, touched_at=now)

        assert digests_standing(now=now + CLAIM_ENDS_AFTER - timedelta(seconds=1)) == []
        later = now + CLAIM_ENDS_AFTER
        assert digests_standing(now=later) == [digest.pk]
        digest_send(digest_id=digest.pk, now=later)

        assert mail.outbox[0].extra_headers["Message-ID"] == digest.message_id
        assert digests_standing(now=later + timedelta(days=1)) == []

    def test_a_server_that_refuses_is_asked_again_later_and_at_last_left_to_the_next_day(
        self, remembering: Remembering, settings: Settings, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        digest, now = self.waiting(remembering), remembering.moment(0)
        settings.EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
        settings.EMAIL_HOST, settings.EMAIL_PORT = "127.0.0.1", 9  # nobody listens on the discard port

        for _attempt in range(MOST_ATTEMPTS):
            digest_send(digest_id=digest.pk, now=now)
        digest.refresh_from_db()
        assert digest.status == DigestStatus.WAITING
        assert digest.failure.startswith("ConnectionRefusedError")

        assert digests_standing(now=now + timedelta(minutes=1)) == []
        assert digests_standing(now=now + timedelta(hours=5)) == []
        digest.refresh_from_db()
        assert digest.status == DigestStatus.FAILED
        settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
        remembering.run(1)
        assert [message.subject for message in mail.outbox] == [
            "Harbour Street Workshop: 1 reminder, 1 overdue"
        ]

    @pytest.mark.parametrize("change", [{"email": ""}, {"is_active": False}])
    def test_who_left_or_took_their_address_away_meanwhile_gets_none_until_they_are_back(
        self, remembering: Remembering, change: dict[str, object]
    ) -> None:
        digest = self.waiting(remembering)
        User.objects.filter(pk=digest.recipient_id).update(**change)

        digest_send(digest_id=digest.pk, now=remembering.moment(0))

        digest.refresh_from_db()
        assert (digest.status, mail.outbox) == (DigestStatus.FAILED, [])
        User.objects.filter(pk=digest.recipient_id).update(email="orla@shop.example", is_active=True)
        remembering.run(1)
        assert len(mail.outbox) == 1

    def test_what_was_done_meanwhile_is_not_sent(self, remembering: Remembering) -> None:
        digest = self.waiting(remembering)
        remembering.renewed(PieceDocument.objects.get().piece_id, in_days(90))
        with remembering.capture():
            reminders_run(now=remembering.moment(0, "07:05"), worker="test", deliver=print)

        digest_send(digest_id=digest.pk, now=remembering.moment(0, "07:06"))

        digest.refresh_from_db()
        assert (digest.status, mail.outbox) == (DigestStatus.EMPTY, [])


@pytest.mark.django_db(transaction=True)
def test_eight_beats_at_the_same_moment_write_each_reminder_once(mail_on: None) -> None:
    workshop, beats = Workshop(), 8
    User.objects.update(email="orla@shop.example")
    machine = workshop.machine()
    PieceDocument.objects.filter(piece=machine, kind=DocumentKind.CERTIFICATE).update(valid_until=TODAY)
    moment, barrier = workshop.now, Barrier(beats)
    handed_over: list[int] = []

    def beat(number: int) -> int:
        try:
            barrier.wait(timeout=30)
            run = reminders_run(now=moment, worker=f"beat {number}", deliver=handed_over.append)
            return run.reminders
        finally:
            connections.close_all()

    with ThreadPoolExecutor(beats) as pool:
        assert sorted(pool.map(beat, range(beats))) == [0] * (beats - 1) + [1]

    assert (ReminderRun.objects.count(), Digest.objects.count()) == (1, 1)
    assert Reminder.objects.filter(status=ReminderStatus.OPEN).count() == 1
    for digest_id in handed_over:
        digest_send(digest_id=digest_id, now=moment)
    assert len(mail.outbox) == 1


def test_a_run_asks_as_often_for_many_as_for_one(
    remembering: Remembering, django_assert_max_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(12):
        remembering.certificate(in_days(number), f"M-{number}")

    with django_assert_max_num_queries(30):
        reminders_run(now=remembering.moment(0), worker="test", deliver=print)
    with django_assert_max_num_queries(14):
        reminders_run(now=remembering.moment(0, "07:05"), worker="test", deliver=print)
