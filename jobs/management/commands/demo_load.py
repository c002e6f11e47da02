"""Load the invented workshop into an empty database."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.demo.load import demo_load
from shopcool.core.clock import now
from shopcool.core.errors import DomainError


class Command(BaseCommand):
    """``manage.py demo_load``."""

    help = "Load the demo workshop into an empty database."

    def handle(self, *args: Any, **options: Any) -> None:
        """Load it, or say why not."""
        try:
            demo_load(now())
        except DomainError as error:
            raise CommandError(error.message) from error
        self.stdout.write("The demo workshop is ready.")
