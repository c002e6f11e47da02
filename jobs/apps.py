"""The jobs of the workshop."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Jobs, their procedure, step records and reports."""

    name = "jobs"
    label = "jobs"

    def ready(self) -> None:
        """Take attachments to jobs and to what was recorded in their steps."""
        from jobs.attachments import KINDS
        from shopcool.attachments.parents import register

        for kind in KINDS:
            register(kind)
