"""Job numbers from a sequence, and the digest that makes sending a form twice harmless."""

from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("jobs", "0002_append_only")]

    operations = [
        migrations.RunSQL(
            "CREATE SEQUENCE jobs_job_number AS bigint START WITH 1001;",
            "DROP SEQUENCE jobs_job_number;",
        ),
        migrations.AddField(
            model_name="steprecord",
            name="input_digest",
            field=models.CharField(blank=True, max_length=64),
            preserve_default=True,
        ),
    ]
