"""Do the day's reminders by hand, without queue and worker."""

from __future__ import annotations

from argparse import ArgumentParser
from socket import gethostname
from typing import Any

from django.core.management.base import BaseCommand

from equipment.reminders.words import emails_words, reminders_words
from equipment.services.digests import digest_send
from equipment.services.reminders import RunOutcome, reminders_run
from shopcool.core import clock


class Command(BaseCommand):
    """``manage.py reminders_run``, what beat does every few minutes."""

    help = "Write the reminders of the day, close what is done and send the e-mails that wait."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the wish not to wait for the reminder time."""
        parser.add_argument("--early", action="store_true", help="do not wait for the reminder time")

    def handle(self, *args: Any, **options: Any) -> None:
        """Say what was done; run again on the same day it does nothing twice."""
        outcome = reminders_run(
            now=clock.now(), worker=f"command@{gethostname()}", deliver=_send, early=options["early"]
        )
        self.stdout.write(_sentence(outcome))


def _send(digest_id: int) -> None:
    digest_send(digest_id=digest_id, now=clock.now())


def _sentence(outcome: RunOutcome) -> str:
    if outcome.day is None:
        return f"Nothing to write: done today already, or before the reminder time. {outcome.done} closed."
    return (
        f"{outcome.day}: {reminders_words(outcome.reminders)} written, {emails_words(outcome.digests)}, "
        f"{outcome.done} closed as done."
    )
