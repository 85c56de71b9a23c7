"""Issued documents, replies and audit entries are frozen again, with their new columns; reviews and master data too.

As in 0002: a later migration that alters one of these tables on SQLite must end with this operation again.
"""

from importlib import import_module

from django.db import migrations

frozen_before = import_module("quoting.quotes.migrations.0002_frozen_by_the_database")

FROZEN = {
    "quotes_quote": (*frozen_before.FROZEN["quotes_quote"], "record", "record_digest", "supersedes_id"),
    "quotes_customerreply": (*frozen_before.FROZEN["quotes_customerreply"], "key", "address", "agent"),
    "quotes_auditentry": frozen_before.FROZEN["quotes_auditentry"],
    "quotes_review": ("inquiry_id", "version", "data_digest", "kind", "confirmed", "reasons", "note", "by_id", "at"),
    "quotes_masterdata": ("digest", "content", "kept_at"),
}


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    statements = {"sqlite": frozen_before._sqlite, "postgresql": frozen_before._postgresql}[vendor]
    for table, columns in FROZEN.items():
        for statement in statements(table, columns):
            schema_editor.execute(statement, params=None)


def thaw(apps, schema_editor):
    on_table = schema_editor.connection.vendor == "postgresql"
    for table in FROZEN:
        for event in ("update", "delete"):
            schema_editor.execute(f"DROP TRIGGER {table}_no_{event}" + (f" ON {table}" if on_table else ""))


class Migration(migrations.Migration):
    dependencies = [("quotes", "0013_review_record_and_master_data")]
    operations = [migrations.RunPython(freeze, thaw)]
