"""Take up reports whose worker is gone, by hand."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from jobs.services.report_requests import reports_resume
from shopcool.core import clock


class Command(BaseCommand):
    """``manage.py reports_resume``, what beat does every minute."""

    help = "Hand reports that stand still to the workers again."

    def handle(self, *args: Any, **options: Any) -> None:
        """Say how many there were."""
        self.stdout.write(f"{reports_resume(now=clock.now())} reports were handed over again.")
