"""Keep the vehicle maker's own rule for the oil of a circuit."""

from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('vehicles', '0002_entries_and_submissions'),
    ]

    operations = [
        migrations.AddField(
            model_name='circuit',
            name='oil_rule',
            field=models.TextField(blank=True, default='', max_length=10000, verbose_name='oil rule of the vehicle maker'),
            preserve_default=False,
        ),
    ]
