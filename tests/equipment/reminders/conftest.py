"""A workshop in Berlin with things that fall due, and a clock that the tests move."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

import pytest
from pytest_django import DjangoCaptureOnCommitCallbacks
from pytest_django.fixtures import Settings

from equipment.choices import DocumentKind, PieceKind
from equipment.models import PieceDocument
from equipment.reminders.models import Reminder, ReminderStatus
from equipment.services.digests import digest_send
from equipment.services.reminders import RunOutcome, reminders_run
from shopcool.people.models import User
from shopcool.shop.models import Shop
from shopcool.shop.selectors import shop_get
from tests.equipment.workshop import Workshop

TODAY = date(2026, 3, 2)


@dataclass
class Remembering:
    """A workshop whose day's reminders can be written, sent and read in a few words."""

    workshop: Workshop
    capture: DjangoCaptureOnCommitCallbacks
    delivered: list[int] = field(default_factory=list)

    @property
    def owner(self) -> User:
        return User.objects.get(username="orla")

    def certificate(self, due_on: date, code: str = "M-1") -> PieceDocument:
        """Give a new machine a certificate that ends on a day."""
        machine = self.workshop.piece(code, PieceKind.MACHINE, refrigerant="R1234YF")
        return self.renewed(machine.pk, due_on)

    def renewed(self, piece_id: int, due_on: date) -> PieceDocument:
        """Give a machine a certificate that ends on a day."""
        return PieceDocument.objects.create(
            piece_id=piece_id, kind=DocumentKind.CERTIFICATE, number=f"C-{due_on}", body="Board",
            issued_on=date(2025, 1, 1), valid_until=due_on, refrigerants=["R1234YF"],
            covers_high_voltage=True,
        )  # fmt: skip

    def run(self, day: int = 0, at: str = "07:02", *, early: bool = False) -> RunOutcome:
        """Run so many days after today, at an hour of the workshop, and send what is to be sent."""
        return self.run_at(self.moment(day, at), early=early)

    def run_at(self, moment: datetime, *, early: bool = False) -> RunOutcome:
        """Run at a moment, and send what is to be sent."""
        with self.capture(execute=True):
            outcome = reminders_run(now=moment, worker="test", deliver=self.delivered.append, early=early)
        for digest_id in self.delivered:
            digest_send(digest_id=digest_id, now=moment)
        self.delivered.clear()
        return outcome

    def moment(self, day: int, at: str = "07:02") -> datetime:
        return datetime.fromisoformat(f"{TODAY}T{at}+01:00") + timedelta(days=day)

    def told(self, user: User | None = None) -> list[str]:
        """Return the stages that a person was really told, in order."""
        rows = Reminder.objects.filter(recipient=user or self.owner).order_by("written_at", "pk")
        return [
            f"{row.stage} {row.days_ahead}" if row.days_ahead else row.stage
            for row in rows
            if row.status != ReminderStatus.SUPERSEDED or row.closed_at != row.written_at
        ]


@pytest.fixture
def mail_on(settings: Settings) -> None:
    """A mail server that keeps what it gets in memory."""
    settings.MAIL_IS_ON = True
    settings.DEFAULT_FROM_EMAIL = "Shopcool <workshop@shop.example>"
    settings.PUBLIC_URL = "https://shop.example"


@pytest.fixture
def remembering(
    workshop: Workshop, mail_on: None, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> Remembering:
    """A workshop in Berlin whose owner reads e-mail."""
    shop_get()
    Shop.objects.update(time_zone="Europe/Berlin", name="Harbour Street Workshop")
    User.objects.filter(username="orla").update(email="orla@shop.example")
    return Remembering(workshop, django_capture_on_commit_callbacks)
