"""Keep what was entered about circuits, append-only, and recognise a form that is sent twice."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from shopcool.core.triggers import append_only


class Migration(migrations.Migration):

    dependencies = [
        ('vehicles', '0001_initial'),
        ('core', '0002_append_only'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='vehicle',
            name='submission_key',
            field=models.UUIDField(blank=True, editable=False, null=True, unique=True),
        ),
        migrations.CreateModel(
            name='CircuitEntry',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('stream', models.CharField(max_length=120)),
                ('sequence', models.BigIntegerField()),
                ('recorded_at', models.DateTimeField()),
                ('recorded_by_name', models.CharField(max_length=150)),
                ('previous_hash', models.CharField(max_length=64)),
                ('hash', models.CharField(max_length=64)),
                ('values', models.JSONField()),
                ('circuit', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='entries', to='vehicles.circuit')),
                ('recorded_by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'abstract': False,
                'indexes': [models.Index(fields=['circuit', 'sequence'], name='vehicles_entry_of_circuit')],
                'constraints': [models.UniqueConstraint(fields=('stream', 'sequence'), name='vehicles_circuitentry_chain')],
            },
        ),
        append_only('vehicles_circuitentry'),
    ]
