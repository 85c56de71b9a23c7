"""Counts of changes, by which figures kept in a process are known to be still true.

The triggers that count are laid after each `migrate` by `quotes.watched`, so that a later migration that alters a
watched table needs to do nothing.
"""

from django.db import migrations, models


def unwatch(apps, schema_editor):
    from quoting.quotes.watched import unwatch

    unwatch(schema_editor.connection.alias)


class Migration(migrations.Migration):
    dependencies = [("quotes", "0017_rates_of_transit")]
    operations = [
        migrations.CreateModel(
            name="CountedChange",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=10)),
                ("changes", models.BigIntegerField()),
                ("mark", models.BigIntegerField()),
            ],
            options={"ordering": ["pk"]},
        ),
        migrations.RunPython(migrations.RunPython.noop, unwatch),
    ]
