"""The jobs of the workshop."""

from django.apps import AppConfig


class JobsConfig(AppConfig):
    """Jobs, their procedure, step records and reports."""

    name = "jobs"
    label = "jobs"
