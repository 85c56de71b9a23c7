"""Imports of rates, frozen by the database like everything that is a record."""

from importlib import import_module

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

FROZEN = {
    "quotes_rateimport": ("number", "table", "file_name", "file_digest", "effective", "counts", "by_id", "at"),
    "quotes_rateimportchange": (
        "record_id", "subject", "valid_from", "status", "figure", "old", "new", "percent",
    ),
}  # fmt: skip


def freeze(apps, schema_editor):
    triggers = import_module("quoting.quotes.migrations.0002_frozen_by_the_database")
    statements = {"sqlite": triggers._sqlite, "postgresql": triggers._postgresql}[schema_editor.connection.vendor]
    for table, columns in FROZEN.items():
        for statement in statements(table, columns):
            schema_editor.execute(statement, params=None)


def thaw(apps, schema_editor):
    """The triggers go with their tables."""


class Migration(migrations.Migration):

    dependencies = [
        ('quotes', '0010_repricing'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='RateImport',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('number', models.CharField(max_length=20, unique=True)),
                ('table', models.CharField(max_length=20)),
                ('file_name', models.CharField(max_length=200)),
                ('file_digest', models.CharField(max_length=64)),
                ('effective', models.DateField(blank=True, null=True)),
                ('counts', models.JSONField()),
                ('at', models.DateTimeField(db_index=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-at', '-pk'],
            },
        ),
        migrations.CreateModel(
            name='RateImportChange',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('subject', models.CharField(db_index=True, max_length=120)),
                ('valid_from', models.DateField()),
                ('status', models.CharField(max_length=10)),
                ('figure', models.CharField(max_length=80)),
                ('old', models.CharField(blank=True, max_length=300)),
                ('new', models.CharField(blank=True, max_length=300)),
                ('percent', models.CharField(blank=True, max_length=30)),
                ('record', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='changes', to='quotes.rateimport')),
            ],
            options={
                'ordering': ['pk'],
            },
        ),
        migrations.CreateModel(
            name='RateUpload',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('token', models.CharField(max_length=32, unique=True)),
                ('table', models.CharField(max_length=20)),
                ('file_name', models.CharField(max_length=200)),
                ('content', models.BinaryField()),
                ('effective', models.DateField(blank=True, null=True)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
            ],
            options={
                'ordering': ['-at'],
            },
        ),
        migrations.RunPython(freeze, thaw),
    ]
