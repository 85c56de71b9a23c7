"""Recorded runs, their imports and what versions of factors hold are frozen by the database itself.

A correction is a further row, so every column of a run is frozen. Of a version of factors only the decision is
written, and only the way that ``factor_models`` lets it go. A later migration that alters one of these tables on SQLite
rebuilds it and thereby drops its triggers; it must end with this operation again.
"""

from importlib import import_module

from django.db import migrations

frozen_first = import_module("quoting.quotes.migrations.0002_frozen_by_the_database")

FROZEN = {
    "planning_runimport": ("id", "number", "file_name", "file_digest", "counts", "by_id", "at"),
    "planning_runrecord": (
        "id", "job_id", "machine_id", "started", "ended", "parts_good", "parts_scrapped", "heats", "index_time",
        "setup_hours", "run_hours", "sheet_mass", "blanks", "trim_time", "parts_per_pallet", "delivered", "note",
        "estimated", "replaces_id", "reason", "withdrawn", "source", "record_id", "by_id", "at",
    ),
    "planning_factorversion": ("id", "number", "measures", "digest", "runs", "proposed_at", "proposed_by_id"),
}  # fmt: skip
DECIDED = "planning_factorversion_decided"
# The ways that a decision may go; the day from which an accepted version counts stays when another takes its place.
WAYS = (
    "OLD.state = 'proposed' AND NEW.state IN ('accepted', 'refused', 'replaced') "
    "OR OLD.state = 'accepted' AND NEW.state = 'replaced' AND OLD.valid_from = NEW.valid_from"
)


def freeze(apps, schema_editor):
    vendor = schema_editor.connection.vendor
    statements = {"sqlite": frozen_first._sqlite, "postgresql": frozen_first._postgresql}[vendor]
    for table, columns in FROZEN.items():
        for statement in statements(table, columns):
            schema_editor.execute(statement, params=None)
    refuse = {
        "sqlite": "BEGIN SELECT RAISE(ABORT, 'planning_factorversion is frozen: this decision stands'); END",
        "postgresql": "EXECUTE FUNCTION planning_factorversion_frozen()",
    }[vendor]
    schema_editor.execute(
        f"CREATE TRIGGER {DECIDED} BEFORE UPDATE ON planning_factorversion FOR EACH ROW WHEN (NOT ({WAYS})) {refuse}",
        params=None,
    )


def thaw(apps, schema_editor):
    on_table = schema_editor.connection.vendor == "postgresql"
    named = [(f"{table}_no_{event}", table) for table in FROZEN for event in ("update", "delete")]
    for trigger, table in [*named, (DECIDED, "planning_factorversion")]:
        schema_editor.execute(f"DROP TRIGGER {trigger}" + (f" ON {table}" if on_table else ""))


class Migration(migrations.Migration):
    dependencies = [("planning", "0009_why_runs_are_replaced")]
    operations = [migrations.RunPython(freeze, thaw)]
