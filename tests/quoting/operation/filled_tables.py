"""A row in every table of ours, at any state of the schema, so that no migration runs on empty tables only."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from pathlib import Path

from django.apps import apps as present
from django.apps.registry import Apps
from django.conf import settings
from django.core.management import call_command
from django.db import connection, models
from django.db.migrations.executor import MigrationExecutor

PLAIN = (
    (models.BooleanField, False),
    (models.DateTimeField, datetime(2026, 3, 2, 8, tzinfo=UTC)),
    (models.DateField, date(2026, 3, 2)),
    (models.TimeField, time(6)),
    (models.DurationField, timedelta(hours=1)),
    (models.DecimalField, Decimal(1)),
    (models.FloatField, 1.0),
    (models.IntegerField, 1),
    (models.BinaryField, b"bytes"),
    (models.GenericIPAddressField, "192.0.2.1"),
    (models.UUIDField, "6f1c2a3e-0000-4000-8000-000000000001"),
)
# Where the database itself asks for more than a value of the right kind.
ASKED: dict[str, object] = {
    "machines_timewindow.end": datetime(2026, 3, 2, 16, tzinfo=UTC),
    "machines_timewindow.trimmer_id": None,
    "planning_factorversion.decided_at": None,
}


def ours() -> set[str]:
    """Labels of the apps whose migrations lie in this repository."""
    root = Path(settings.BASE_DIR)
    return {one.label for one in present.get_app_configs() if (Path(one.path) / "migrations").is_dir()
            and Path(one.path).is_relative_to(root) and ".venv" not in Path(one.path).parts}  # fmt: skip


def migrate_step_by_step() -> tuple[list[str], dict[str, object]]:
    """Every migration that is left, one after the other, with a row put into each new table before the next begins.

    Names of the migrations, and the key of the row that was put into each table.
    """
    executor = MigrationExecutor(connection)
    plan = executor.migration_plan(executor.loader.graph.leaf_nodes())
    state = executor.loader.project_state(list(executor.loader.applied_migrations))
    put: dict[str, object] = {}
    fill_what_is_empty(state.apps, put)
    for migration, _ in plan:
        state = executor.apply_migration(state, migration)
        fill_what_is_empty(state.apps, put)
    call_command("migrate", verbosity=0)  # nothing is left but what comes after: rights
    return [f"{migration.app_label}.{migration.name}" for migration, _ in plan], put


def fill_what_is_empty(apps: Apps, put: dict[str, object]) -> None:
    labels = ours()
    for model in in_order([one for one in apps.get_models(include_auto_created=True) if one._meta.app_label in labels]):
        if not model._default_manager.exists():
            put[model._meta.db_table] = model._default_manager.create(**values(model)).pk


def in_order(tables: list[type[models.Model]]) -> list[type[models.Model]]:
    """Tables after those that they refer to."""
    ordered: list[type[models.Model]] = []
    left = list(tables)
    while left:
        free = [one for one in left if not {field.related_model for field in _links(one)} & (set(left) - {one})]
        ordered += free
        left = [one for one in left if one not in free]
        assert free, f"tables that refer to each other: {left}"
    return ordered


def _links(model: type[models.Model]) -> list[models.Field]:
    return [field for field in model._meta.fields if field.is_relation and not field.null]


def values(model: type[models.Model]) -> dict[str, object]:
    fields = [field for field in model._meta.fields if not isinstance(field, models.AutoField)]
    return {field.name: value_of(field) for field in fields}


def value_of(field: models.Field) -> object:
    name = f"{field.model._meta.db_table}.{field.column}"
    if name in ASKED:
        return ASKED[name]
    if field.is_relation:
        return field.related_model._default_manager.order_by("pk").first()
    if field.choices:
        return field.choices[0][0]
    if isinstance(field, models.JSONField):
        return field.get_default() if field.has_default() else {}
    for kind, value in PLAIN:
        if isinstance(field, kind):
            return value
    return "word"[: field.max_length]
