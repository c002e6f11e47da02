"""Recompute every chain and derived state, look at every attached file, and name what does not hold."""

from __future__ import annotations

from typing import Any

from django.apps import apps
from django.core.management.base import BaseCommand, CommandError

from equipment.services.verification import stale_states
from shopcool.attachments.sweeping import changed_files
from shopcool.core.records import ChainedRecord, chain_breaks


class Command(BaseCommand):
    """``manage.py verify_records``: exit code 0 when everything holds."""

    help = "Recompute the record chains, the derived residue and the attached files; name what differs."

    def handle(self, *args: Any, **options: Any) -> None:
        """Print one line per table, or stop with the list of breaks."""
        findings: list[str] = []
        for model in apps.get_models():
            if not issubclass(model, ChainedRecord):
                continue
            breaks = [str(found) for found in chain_breaks(model)]
            findings += breaks
            self.stdout.write(f"{model._meta.db_table}: {'ok' if not breaks else 'broken'}")
        stale = [f"state of {state.piece.code} differs from its log" for state in stale_states()]
        self.stdout.write(f"derived residue: {'ok' if not stale else 'differs'}")
        findings += stale
        files = list(changed_files())
        self.stdout.write(f"attached files: {'ok' if not files else 'differ'}")
        findings += files
        if findings:
            raise CommandError("\n".join(findings))
        self.stdout.write("Every record holds.")
