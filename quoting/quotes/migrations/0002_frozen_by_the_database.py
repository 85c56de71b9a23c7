"""What is issued or recorded is frozen by the database itself, not only by the models.

A later migration that alters one of these tables on SQLite rebuilds it and thereby drops its triggers; it must end
with this operation again. A test changes issued rows by plain SQL and would show it.
"""

from django.db import migrations

FROZEN = {
    "quotes_quote": (
        "number", "revision", "inquiry_id", "kind", "snapshot", "digest", "pdf", "pdf_digest", "issued_by_id",
        "issued_at", "valid_until",
    ),
    "quotes_customerreply": ("quote_id", "kind", "text", "release", "at"),
    "quotes_auditentry": ("at", "by_id", "action", "inquiry_id", "quote_id", "detail"),
}


def _sqlite(table, columns):
    changed = " OR ".join(f'OLD."{column}" IS NOT NEW."{column}"' for column in columns)
    for event, when in (("UPDATE", f"WHEN {changed}"), ("DELETE", "")):
        yield (
            f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} {when} "
            f"BEGIN SELECT RAISE(ABORT, '{table} is frozen: {event} refused'); END"
        )


def _postgresql(table, columns):
    changed = " OR ".join(f'OLD."{column}" IS DISTINCT FROM NEW."{column}"' for column in columns)
    yield (
        f"CREATE OR REPLACE FUNCTION {table}_frozen() RETURNS trigger LANGUAGE plpgsql AS $$ "
        f"BEGIN RAISE EXCEPTION '{table} is frozen: % refused', TG_OP USING ERRCODE = 'integrity_constraint_violation'; "
        "END $$"
    )
    for event, when in (("UPDATE", f"WHEN ({changed})"), ("DELETE", "")):
        yield (
            f"CREATE TRIGGER {table}_no_{event.lower()} BEFORE {event} ON {table} "
            f"FOR EACH ROW {when} EXECUTE FUNCTION {table}_frozen()"
        )


def freeze(apps, schema_editor):
    statements = {"sqlite": _sqlite, "postgresql": _postgresql}[schema_editor.connection.vendor]
    for table, columns in FROZEN.items():
        for statement in statements(table, columns):
            schema_editor.execute(statement, params=None)


def thaw(apps, schema_editor):
    on_table = schema_editor.connection.vendor == "postgresql"
    for table in FROZEN:
        for event in ("update", "delete"):
            schema_editor.execute(f"DROP TRIGGER {table}_no_{event}" + (f" ON {table}" if on_table else ""))


class Migration(migrations.Migration):
    dependencies = [("quotes", "0001_initial")]
    operations = [migrations.RunPython(freeze, thaw)]
