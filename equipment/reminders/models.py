"""Tables of the reminders: who was told what, in which run and digest, and what was put aside."""

from __future__ import annotations

from django.conf import settings
from django.db import models
from django.db.models import F, Q
from django.utils.translation import gettext_lazy as _

from equipment.due import refusal_words
from equipment.reminders.stages import Stage


class ReminderRun(models.Model):
    """The day's work, done once for each day of the workshop; the row exists only when all of it is done."""

    day = models.DateField(unique=True)
    #: Where it ran: the name that the worker, or the command, gives itself.
    worker = models.CharField(max_length=200)
    finished_at = models.DateTimeField()
    reminders = models.PositiveIntegerField()
    digests = models.PositiveIntegerField()

    def __str__(self) -> str:
        return f"reminders of {self.day}"


class DigestStatus(models.TextChoices):
    """Where the e-mail of a digest stands."""

    WAITING = "WAITING", _("Waiting")
    CLAIMED = "CLAIMED", _("Being sent")
    SENT = "SENT", _("Sent")
    EMPTY = "EMPTY", _("Nothing left to say")
    FAILED = "FAILED", _("Not sent")


class Digest(models.Model):
    """One e-mail to one person with everything that was new on a day.

    ``message_id`` is made with the row, so that a repeated sending can be recognised as the same e-mail.
    """

    day = models.DateField()
    recipient = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="digests")
    status = models.CharField(max_length=10, choices=DigestStatus.choices, default=DigestStatus.WAITING)
    message_id = models.CharField(max_length=200, unique=True)
    #: How often a worker began; whoever began last may write what became of it.
    attempts = models.PositiveSmallIntegerField(default=0)
    #: When it was queued or last begun; the next attempt waits from here.
    touched_at = models.DateTimeField()
    sent_at = models.DateTimeField(null=True)
    failure = models.CharField(max_length=300, blank=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(fields=["day", "recipient"], name="equipment_digest_once"),
            models.CheckConstraint(
                name="equipment_digest_sent_has_time",
                condition=~Q(status=DigestStatus.SENT) | Q(sent_at__isnull=False),
            ),
        ]
        indexes = [
            models.Index(
                fields=["status"],
                name="equipment_digest_open",
                condition=Q(status__in=["WAITING", "CLAIMED"]),
            )
        ]

    def __str__(self) -> str:
        return f"digest of {self.day} to {self.recipient_id}"


class ReminderStatus(models.TextChoices):
    """Whether a reminder still matters."""

    OPEN = "OPEN", _("Open")
    SUPERSEDED = "SUPERSEDED", _("A newer one took its place")
    DONE = "DONE", _("Done")


class Reminder(models.Model):
    """One person is told once of one stage of one due thing.

    ``due_key`` and ``due_on`` name the due thing; ``what`` says it as it was said. Of one need, one
    reminder is open at most: the newest.
    """

    due_key = models.CharField(max_length=80)
    due_on = models.DateField()
    kind = models.CharField(max_length=20)
    stage = models.CharField(max_length=10, choices=Stage.choices)
    days_ahead = models.PositiveSmallIntegerField(default=0)
    what = models.CharField(max_length=400)
    blocks = models.BooleanField()
    piece_code = models.CharField(max_length=20, blank=True)
    lot_code = models.CharField(max_length=20, blank=True)
    person = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, on_delete=models.PROTECT, related_name="+"
    )
    recipient = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="reminders"
    )
    status = models.CharField(max_length=12, choices=ReminderStatus.choices, default=ReminderStatus.OPEN)
    written_at = models.DateTimeField()
    closed_at = models.DateTimeField(null=True)
    digest = models.ForeignKey(Digest, null=True, on_delete=models.PROTECT, related_name="reminders")

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["due_key", "due_on", "stage", "days_ahead", "recipient"],
                name="equipment_reminder_once",
            ),
            models.UniqueConstraint(
                fields=["recipient", "due_key", "due_on"],
                name="equipment_reminder_one_open",
                condition=Q(status="OPEN"),
            ),
            models.CheckConstraint(
                name="equipment_reminder_closed_has_time",
                condition=Q(status="OPEN") ^ Q(closed_at__isnull=False),
            ),
        ]
        indexes = [
            models.Index(
                fields=["recipient", "due_on"], name="equipment_reminder_list", condition=Q(status="OPEN")
            )
        ]

    def __str__(self) -> str:
        return f"{self.what}: {self.get_stage_display()}"

    @property
    def without_it(self) -> str:
        """What is refused when it is not done, as a part of a sentence; empty when nothing is."""
        return refusal_words(
            blocks=self.blocks, is_person=self.person_id is not None, is_lot=bool(self.lot_code)
        )


class Snooze(models.Model):
    """A person put a reminder aside until a day, with a reason; who and when stays on record."""

    reminder = models.ForeignKey(Reminder, on_delete=models.PROTECT, related_name="snoozes")
    until = models.DateField(_("remind me again on"))
    reason = models.CharField(_("reason"), max_length=300)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")
    #: When it ended, by its day, by the person or because the work was done.
    ended_at = models.DateTimeField(null=True)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["reminder"], name="equipment_snooze_one_open", condition=Q(ended_at__isnull=True)
            ),
            models.CheckConstraint(name="equipment_snooze_has_reason", condition=~Q(reason="")),
            models.CheckConstraint(
                name="equipment_snooze_order",
                condition=Q(ended_at__isnull=True) | Q(ended_at__gte=F("made_at")),
            ),
        ]

    def __str__(self) -> str:
        return f"snooze of reminder {self.reminder_id} until {self.until}"
