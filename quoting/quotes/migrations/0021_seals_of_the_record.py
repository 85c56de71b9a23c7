"""Seals upon the record of deeds, frozen by the database like the record itself.

``FROZEN`` names all frozen tables of this app: a later migration that alters one of them on SQLite must end with
`freeze` of these again, since the rebuilt table has lost its triggers.
"""

from importlib import import_module

from django.db import migrations, models

frozen_first = import_module("quoting.quotes.migrations.0002_frozen_by_the_database")
frozen_again = import_module("quoting.quotes.migrations.0014_frozen_again")

NEW = {"quotes_auditseal": ("number", "first", "last", "count", "marks", "at", "before", "digest")}
FROZEN = frozen_again.FROZEN | NEW


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    statements = {"sqlite": frozen_first._sqlite, "postgresql": frozen_first._postgresql}[vendor]
    for table, columns in NEW.items():
        for statement in statements(table, columns):
            schema_editor.execute(statement, params=None)


def thaw(apps, schema_editor):
    on_table = schema_editor.connection.vendor == "postgresql"
    for table in NEW:
        for event in ("update", "delete"):
            schema_editor.execute(f"DROP TRIGGER {table}_no_{event}" + (f" ON {table}" if on_table else ""))


class Migration(migrations.Migration):
    dependencies = [("quotes", "0020_rates_of_planning")]
    operations = [
        migrations.CreateModel(
            name="AuditSeal",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("number", models.PositiveBigIntegerField(unique=True)),
                ("first", models.BigIntegerField()),
                ("last", models.BigIntegerField()),
                ("count", models.PositiveIntegerField()),
                ("marks", models.BinaryField()),
                ("at", models.DateTimeField()),
                ("before", models.CharField(blank=True, max_length=64)),
                ("digest", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("last__gte", models.F("first")), ("count__gte", 1)),
                        name="seal_has_entries",
                    )
                ],
            },
        ),
        migrations.RunPython(freeze, thaw),
    ]
