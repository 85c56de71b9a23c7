"""An office moves from SQLite to PostgreSQL: a backup of the one is put into the other, and every table compared."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from django.contrib.contenttypes.models import ContentType
from django.core.management import call_command
from django.core.management.base import CommandError
from django.core.management.color import no_style
from django.db import DatabaseError, IntegrityError, connection, connections, transaction
from django.db.backends.sqlite3.base import DatabaseWrapper as SQLite
from django.db.migrations.loader import MigrationLoader

from quoting.operation.tables import Checksum, Table, tables

Say = Callable[[str], object]


@dataclass(frozen=True)
class Carried:
    """One table, as it was read from SQLite and as PostgreSQL gives it back."""

    table: str
    there: Checksum
    here: Checksum


def require_same_release(told: dict) -> None:
    """Both databases must have the same tables: the backup is of this release, whole."""
    applied = {tuple(one) for one in told["migrations"]}
    missing = sorted(f"{app}.{name}" for app, name in set(MigrationLoader(None).disk_migrations) - applied)
    if missing:
        raise CommandError(
            f"this backup is of another release; it lacks {', '.join(missing[:5])}{' and more' * (len(missing) > 5)}. "
            "Migrate the SQLite office with this release and back it up again; nothing was changed"
        )


def carry(file: Path, say: Say) -> None:
    """Fill the empty PostgreSQL database with all that the SQLite file holds; all of it or nothing."""
    call_command("migrate", verbosity=0)
    source = opened(file)
    try:
        left_behind(source, say)
        with transaction.atomic():
            tell(_copied(source), say)
    except IntegrityError as refused:
        raise CommandError(f"rows do not belong together, nothing was kept: {refused}".strip()) from refused
    finally:
        source.close()
        ContentType.objects.clear_cache()
        connections.close_all()


def opened(file: Path) -> SQLite:
    """The file of a backup, for reading alone: nothing is written beside it."""
    given = connections["default"].settings_dict | {
        "ENGINE": "django.db.backends.sqlite3", "NAME": f"{file.resolve().as_uri()}?immutable=1", "OPTIONS": {},
    }  # fmt: skip
    return SQLite(given, alias="carried")


def left_behind(source: SQLite, say: Say) -> None:
    """Tables that this release does not know are told; rows in them are not carried."""
    known = {one.name for one in tables()}
    for name in source.introspection.table_names():
        if name not in known:
            say(f"{name}: left behind, since no part of this release knows it")


def _copied(source: SQLite) -> list[Carried]:
    """Triggers rest meanwhile, as in a restore: copied changes were counted where they were made."""
    every = tables()
    names = ", ".join(f'"{one.name}"' for one in every)
    with connection.cursor() as cursor:
        cursor.execute("SET CONSTRAINTS ALL DEFERRED")
        for one in every:
            cursor.execute(f'ALTER TABLE "{one.name}" DISABLE TRIGGER USER')
        cursor.execute(f"TRUNCATE {names}")
        there = {one.name: _copy(one, source, cursor) for one in every}
        cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
        for one in every:
            cursor.execute(f'ALTER TABLE "{one.name}" ENABLE TRIGGER USER')
        for statement in connection.ops.sequence_reset_sql(no_style(), [one.model for one in every]):
            cursor.execute(statement)
    _require_triggers()
    return [Carried(one.name, there[one.name], one.checksum(connection)) for one in every]


def _copy(table: Table, source: SQLite, cursor: Any) -> Checksum:
    found = Checksum()
    columns = ", ".join(f'"{one}"' for one in table.columns)
    try:
        with connection.wrap_database_errors, cursor.copy(f'COPY "{table.name}" ({columns}) FROM STDIN') as lines:
            for row in table.rows(source):
                found.add(table.text(row))
                lines.write_row(row)
    except DatabaseError as refused:
        raise CommandError(
            f"{table.name}: PostgreSQL does not take one of its rows, nothing was kept: {refused}".strip()
        ) from refused
    return found


def _require_triggers() -> None:
    """What freezes and counts must be at work again."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT count(*) FROM pg_trigger WHERE NOT tgisinternal AND tgenabled <> 'O'")
        if resting := cursor.fetchone()[0]:
            raise CommandError(f"{resting} triggers are not at work; nothing was carried")


def tell(found: list[Carried], say: Say) -> None:
    """Print every table with its checksums; CommandError, which undoes all of it, where two differ."""
    say(f"{'table':<34}{'rows':>9}  {'checksum in SQLite':<20}{'in PostgreSQL':<20}")
    wrong = []
    for one in found:
        is_same = one.there == one.here
        told = f"{one.there.digest[:16]:<20}{one.here.digest[:16]:<20}{'equal' if is_same else 'DIFFERENT'}"
        say(f"{one.table:<34}{one.there.rows:>9}  {told}")
        if not is_same:
            wrong.append(one.table)
    if wrong:
        raise CommandError(f"not the same after carrying, nothing was kept: {', '.join(wrong)}")
    say(f"{len(found)} tables and {sum(one.here.rows for one in found):,} rows are equal in both.")
