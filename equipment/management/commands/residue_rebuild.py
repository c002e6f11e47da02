"""Fold every exposure log again and write the derived residue."""

from __future__ import annotations

from typing import Any

from django.core.management.base import BaseCommand

from equipment.services.verification import states_rebuild


class Command(BaseCommand):
    """``manage.py residue_rebuild``."""

    help = "Rebuild the derived residue of every piece from its exposure log."

    def handle(self, *args: Any, **options: Any) -> None:
        """Say how many states were wrong."""
        self.stdout.write(f"{states_rebuild()} states were rebuilt.")
