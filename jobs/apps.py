"""The jobs of the workshop."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Jobs, their procedure, step records and reports."""

    name = "jobs"
    label = "jobs"

    def ready(self) -> None:
        """Take attachments to jobs and their steps, and add the oil over the visits to a vehicle's page."""
        from jobs.attachments import KINDS
        from jobs.pages.oil_history import oil_panels
        from shopcool.attachments.parents import register
        from shopcool.vehicles.panels import PANELS

        for kind in KINDS:
            register(kind)
        PANELS.append(oil_panels)
