"""Keep step records append-only."""

from django.db import migrations

from shopcool.core.triggers import append_only


class Migration(migrations.Migration):
    """Database guards of the jobs."""

    dependencies = [("jobs", "0001_initial"), ("core", "0002_append_only")]

    operations = [append_only("jobs_steprecord")]
