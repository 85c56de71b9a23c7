"""Premiums of overtime, down time that was written as maintenance, and moves that were judged at once."""

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('planning', '0005_correction_factors'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='planmove',
            name='is_estimate',
            field=models.BooleanField(default=False, help_text='judged at once, since the time of the plan was up'),
        ),
        migrations.AddField(
            model_name='planmove',
            name='premium_saved',
            field=models.DecimalField(decimal_places=4, default=0, max_digits=11),
        ),
        migrations.AddField(
            model_name='planrun',
            name='premiums',
            field=models.JSONField(blank=True, default=dict, help_text='by plant: share of the labour rate that an hour of overtime costs more'),
        ),
        migrations.AddField(
            model_name='planrun',
            name='window_at',
            field=models.DateTimeField(blank=True, help_text='when the down time was written as maintenance', null=True),
        ),
        migrations.AddField(
            model_name='planrun',
            name='window_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
    ]
