"""The Celery application and its schedule."""

from __future__ import annotations

import os

from celery import Celery

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "shopcool.settings")

app = Celery("shopcool")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.conf.beat_schedule = {
    # A killed worker leaves a report half made; a minute later another one takes it up.
    # `manage.py reports_resume` does the same by hand.
    "take up reports that stand still": {
        "task": "jobs.reports_resume",
        "schedule": 60.0,
        "options": {"expires": 50},
    },
    # Once a day, from the workshop's own reminder time on, one of these runs writes the reminders; the
    # others close what is done and take up e-mails that stand still. `manage.py reminders_run` does the
    # same by hand.
    "remind of what is due": {
        "task": "equipment.reminders_run",
        "schedule": 300.0,
        "options": {"expires": 280},
    },
    # Files that a rolled-back transaction or a killed process left behind, once a day.
    # `manage.py attachments_sweep` does the same by hand.
    "sweep away files without a record": {
        "task": "attachments.sweep",
        "schedule": 24 * 3600.0,
        "options": {"expires": 3600},
    },
}
app.autodiscover_tasks()
