"""Make the record of a job by hand, without queue and worker."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from jobs.models import Report
from jobs.selectors import jobs_visible_to
from jobs.services.report_making import report_make
from jobs.services.report_requests import report_open
from shopcool.core import clock
from shopcool.core.errors import DomainError
from shopcool.people.models import User


class Command(BaseCommand):
    """``manage.py report_make J-1001 --for olga``."""

    help = "Make the record of a job as a PDF here and now, and say where it lies."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Take the job and the person who asks."""
        parser.add_argument("job", help="number of the job")
        parser.add_argument("--for", dest="username", required=True, help="sign-in name of who asks for it")

    def handle(self, *args: Any, **options: Any) -> None:
        """Make the report on behalf of the person, whose rights count."""
        user = User.objects.filter(username=options["username"], is_active=True).first()
        if user is None:
            raise CommandError(f"Nobody signs in as {options['username']}.")
        actor = user.as_actor()
        job = jobs_visible_to(actor).filter(number=options["job"]).first()
        if job is None:
            raise CommandError(f"{user} sees no job {options['job']}.")
        try:
            report, _is_new = report_open(actor=actor, job=job, now=clock.now())
        except DomainError as error:
            raise CommandError(error.message) from error
        report_make(report_id=report.pk, now=clock.now())
        self.stdout.write(_outcome(Report.objects.get(pk=report.pk)))


def _outcome(report: Report) -> str:
    return report.file.path if report.file else f"Report {report.pk}: {report.get_status_display()}."
