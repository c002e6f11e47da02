"""Remove attached files that no record knows."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from shopcool.attachments.sweeping import attachments_sweep
from shopcool.core import clock


class Command(BaseCommand):
    """``manage.py attachments_sweep``: what the nightly task does, by hand."""

    help = "Remove attached files that have had no record for a day, and name them."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print one line per file and how many there were."""
        removed = attachments_sweep(now=clock.now())
        for path in removed:
            self.stdout.write(str(path))
        self.stdout.write(f"{len(removed)} files were removed.")
