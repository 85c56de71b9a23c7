"""An office moves from SQLite to PostgreSQL by backup and restore, with a row in every table there is."""

import json
import os
import shutil
import sqlite3
from contextlib import closing
from decimal import Decimal
from hashlib import sha256
from pathlib import Path

import psycopg
import pytest
from django.apps import apps
from django.conf import settings
from django.db import models

from quoting.operation.tables import Checksum, tables
from tests.quoting.operation.test_backup import manage, outside, run
from tests.quoting.quotes.test_races import on_postgresql

FILL = """
import django; django.setup()
from django.apps import apps
from django.db import connection
from tests.quoting.operation import filled_tables, first_release
content = first_release.read()
first_release.fill(content, first_release.migrate_to_first_release(content))
filled_tables.migrate_step_by_step()
filled_tables.ours = lambda: {one.label for one in apps.get_app_configs()}
filled_tables.fill_what_is_empty(apps, {})
with connection.cursor() as cursor:  # what the filling put there is no seal upon anything
    cursor.execute("DROP TRIGGER quotes_auditseal_no_delete")
    cursor.execute("DELETE FROM quotes_auditseal")
"""
HARD = """
import django; django.setup()
from datetime import UTC, datetime
from decimal import Decimal
from importlib import import_module
from django.db import connection
from materials.models import PriceTier
from quoting.planning.models import Job
from quoting.quotes.models import AuditEntry, Customer
from quoting.quotes.sealing import seals_make
detail = {"e": [1e22, 1e23, 1.0, -0.0, 5e-324, 1.7976931348623157e308, 0.1, 10**30, 2**53 + 1],
          "u": "Grüße \\u2028 \\ud83d\\ude00 \\\\u00e9", "n": {"z": None, "a": [True, False, {}]}}
for microsecond in (0, 1, 123456, 999999):
    AuditEntry(at=datetime(2026, 3, 29, 0, 59, 59, microsecond, tzinfo=UTC), action="hard", detail=detail).save()
AuditEntry.objects.bulk_create(
    AuditEntry(at=datetime(2026, 3, 29, tzinfo=UTC), action="many", detail={"n": n}) for n in range(450)
)
tier = PriceTier.objects.first()
for field in [one for one in PriceTier._meta.fields if one.get_internal_type() == "DecimalField"]:
    setattr(tier, field.attname, Decimal("12.1234"))
tier.save()
Job.objects.update(value=Decimal("1234567890123.45"))
Customer(company="  O'Brien \\t\\n \\"quoted\\" \\\\N \\\\. ", contact="", email="a@b.example").save()
freeze = import_module("quoting.quotes.migrations.0002_frozen_by_the_database")
with connection.cursor() as cursor:
    cursor.execute(list(freeze._sqlite("quotes_auditseal", ("number",)))[1])
seals_make()
"""
NEXT = """
import django; django.setup()
from django.db import DatabaseError, connection, transaction
from quoting.operation.tables import tables
sequences = free = 0
with connection.cursor() as cursor:
    for table in tables():
        key = table.model._meta.pk.column
        cursor.execute("SELECT pg_get_serial_sequence(%s, %s)", [table.name, key])
        name = cursor.fetchone()[0]
        if name:
            cursor.execute(f'SELECT nextval(%s) > coalesce((SELECT max("{key}") FROM "{table.name}"), 0)', [name])
            sequences, free = sequences + 1, free + cursor.fetchone()[0]
print(sequences, free)
for table in ("quotes_quote", "quotes_auditentry", "quotes_auditseal", "quotes_customerreply", "planning_runrecord"):
    try:
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(f"DELETE FROM {table}")
        print(table, "was emptied")
    except DatabaseError as refused:
        print(table, "frozen" if "frozen" in str(refused) else refused)
from quoting.quotes.models import CountedChange, Customer
from django.db.models import Sum
before = dict(CountedChange.objects.order_by().values_list("kind").annotate(Sum("changes")))
Customer.objects.filter(contact="").update(company="another")
after = dict(CountedChange.objects.order_by().values_list("kind").annotate(Sum("changes")))
print("counted", after["record"] - before["record"])
"""


def test_a_checksum_does_not_depend_on_the_order_of_rows_and_sees_each_change():
    def of(*texts: bytes) -> Checksum:
        found = Checksum()
        for text in texts:
            found.add(text)
        return found

    assert of(b"a", b"b") == of(b"b", b"a") != of(b"a", b"c")
    assert of(b"a") != of(b"a", b"a") != of()
    assert int(of(b"a").digest, 16) == int(sha256(b"a").hexdigest(), 16)


def test_every_table_that_migrations_make_is_carried(db):
    from django.db import connection

    assert {one.name for one in tables()} == set(connection.introspection.table_names())


@pytest.fixture(scope="module")
def before(tmp_path_factory) -> dict[str, str]:
    """A SQLite office with a row in every table and what is hard to carry, and its environment."""
    folder = tmp_path_factory.mktemp("sqlite office")
    where = {"DATA_DIR": str(folder), "DATABASE_URL": "", "DJANGO_SETTINGS_MODULE": "quoting.settings"}
    where |= {"SECRET_KEY": "long enough for a test " * 3, "ALLOWED_HOSTS": "localhost"}
    for script in (FILL, HARD):
        made = run(where, "-c", script)
        assert made.returncode == 0, made.stderr
    (folder / "media" / "drawings").mkdir(parents=True)
    (folder / "media" / "drawings" / "part.step").write_bytes(b"ISO-10303-21;")
    return where


@pytest.fixture(scope="module")
def backup(before, tmp_path_factory) -> Path:
    target = tmp_path_factory.mktemp("backups") / "to move"
    made = manage(before, "backup", target)
    assert made.returncode == 0, made.stderr
    return target


@pytest.fixture(scope="module")
def server(tmp_path_factory, django_db_setup, django_db_blocker):
    """An empty database whose owner is no superuser, as on a server."""
    given = settings.DATABASES["default"]
    base = f"postgresql://{given['USER']}:{given['PASSWORD']}@{given['HOST']}:{given['PORT']}"
    name = f"carried_{os.getpid()}"
    outside(base, f"CREATE ROLE {name} LOGIN")
    outside(base, f'CREATE DATABASE "{name}" OWNER {name}')
    where = {"DATA_DIR": str(tmp_path_factory.mktemp("server")), "DJANGO_SETTINGS_MODULE": "quoting.settings"}
    where |= {"SECRET_KEY": "long enough for a test " * 3, "ALLOWED_HOSTS": "localhost"}
    where["DATABASE_URL"] = f"postgresql://{name}@{given['HOST']}:{given['PORT']}/{name}"
    yield where
    outside(base, f'DROP DATABASE "{name}" WITH (FORCE)')
    outside(base, f"DROP ROLE {name}")


def query(where: dict[str, str], statement: str) -> list[tuple]:
    with psycopg.connect(where["DATABASE_URL"]) as line:
        return line.execute(statement).fetchall()


@on_postgresql
def test_every_table_comes_over_equal_and_goes_on(before, backup, server):
    files = sorted(str(one) for one in backup.rglob("*"))

    done = manage(server, "restore", backup)

    assert done.returncode == 0, done.stderr
    assert sorted(str(one) for one in backup.rglob("*")) == files  # reading leaves nothing beside the backup
    lines = [one for one in done.stdout.splitlines() if one.endswith("equal") and "revision" not in one]
    rows = {one.split()[0]: int(one.split()[1].replace(",", "")) for one in lines}
    assert set(rows) == {one.name for one in tables()}
    assert "DIFFERENT" not in done.stdout
    # no table is carried without a row in it but those whose rows nobody can make up
    assert {name for name, count in rows.items() if count == 0} <= {"quotes_workerbeat"}
    assert "All 3 issued documents are as they were" in done.stdout
    assert "all are as they were sealed" in done.stdout
    assert (Path(server["DATA_DIR"]) / "media/drawings/part.step").read_bytes() == b"ISO-10303-21;"

    # Counts, read by the databases' own clients.
    with sqlite3.connect(Path(before["DATA_DIR"]) / "quoting.sqlite3") as file:
        for name, count in rows.items():
            assert file.execute(f'SELECT count(*) FROM "{name}"').fetchone() == (count,), name  # noqa: S608
            assert query(server, f'SELECT count(*) FROM "{name}"') == [(count,)], name  # noqa: S608
        _decimals_are_equal_to_the_last_place(file, server)
        _json_is_equal(file, server)
    again = run(server, "-c", NEXT)
    assert again.returncode == 0, again.stderr
    sequences, *frozen, counted = again.stdout.splitlines()
    assert len(set(sequences.split())) == 1
    assert int(sequences.split()[0]) > 50
    assert [one.partition(" ")[2] for one in frozen] == ["frozen"] * 5
    assert counted == "counted 1"
    assert manage(server, "audit", "verify").returncode == 0
    assert query(server, "SELECT DISTINCT to_char(at AT TIME ZONE 'UTC', 'HH24:MI:SS.US') FROM quotes_auditentry "
                         "WHERE action = 'hard' ORDER BY 1") == [  # fmt: skip
        ("00:59:59.000000",), ("00:59:59.000001",), ("00:59:59.123456",), ("00:59:59.999999",)
    ]  # fmt: skip


def _decimals_are_equal_to_the_last_place(file: sqlite3.Connection, server: dict[str, str]) -> None:
    compared = 0
    for model in apps.get_models(include_auto_created=True):
        for field in model._meta.local_concrete_fields:
            if isinstance(field, models.DecimalField):
                table, key = model._meta.db_table, model._meta.pk.column
                statement = f'SELECT "{key}", "{field.column}" FROM "{table}" ORDER BY "{key}"'  # noqa: S608
                place = Decimal(1).scaleb(-field.decimal_places)
                there = [
                    (k, None if v is None else Decimal(str(v)).quantize(place)) for k, v in file.execute(statement)
                ]
                here = query(server, statement)
                assert [(k, str(v)) for k, v in here] == [(k, str(v)) for k, v in there], f"{table}.{field.column}"
                compared += len(here)
    assert compared > 20


def _json_is_equal(file: sqlite3.Connection, server: dict[str, str]) -> None:
    (there,) = file.execute("SELECT detail FROM quotes_auditentry WHERE action = 'hard' LIMIT 1").fetchone()
    ((here,), *_) = query(server, "SELECT detail::text FROM quotes_auditentry WHERE action = 'hard'")
    assert json.loads(there, parse_float=Decimal, parse_int=Decimal) == json.loads(
        here, parse_float=Decimal, parse_int=Decimal
    )


@on_postgresql
def test_a_full_database_is_only_replaced_where_told_and_the_way_back_is_refused(before, backup, server, tmp_path):
    refused = manage(server, "restore", backup)
    assert (refused.returncode, "--replace" in refused.stderr) == (1, True)

    back = tmp_path / "of postgresql"
    assert manage(server, "backup", back).returncode == 0
    refused = manage(before | {"DATA_DIR": str(tmp_path / "empty")}, "restore", back)
    assert refused.returncode == 1
    assert "another kind of database than sqlite" in refused.stderr


@on_postgresql
def test_a_backup_of_another_release_is_refused_before_anything_is_touched(backup, server, tmp_path):
    copy = tmp_path / "copy"
    copy.mkdir()
    for one in backup.iterdir():
        (copy / one.name).symlink_to(one)
    told = json.loads((backup / "manifest.json").read_text())
    told["migrations"] = [one for one in told["migrations"] if one != ["quotes", "0021_seals_of_the_record"]]
    (copy / "manifest.json").unlink()
    (copy / "manifest.json").write_text(json.dumps(told))
    (copy / "media").unlink()
    (copy / "media" / "drawings").mkdir(parents=True)
    (copy / "media" / "drawings" / "part.step").write_bytes(b"ISO-10303-21;")

    refused = manage(server, "restore", copy, "--replace")

    assert refused.returncode == 1
    assert "quotes.0021_seals_of_the_record" in refused.stderr
    assert manage(server, "quotes", "verify").returncode == 0


@on_postgresql
def test_what_postgresql_does_not_take_is_named_and_nothing_is_kept(before, backup, server, tmp_path):
    folder = tmp_path / "office"
    folder.mkdir()
    shutil.copy(next(backup.glob("database.*")), folder / "quoting.sqlite3")
    with closing(sqlite3.connect(folder / "quoting.sqlite3")) as file, file:
        file.execute("UPDATE quotes_customer SET contact = ?", ["a\x00b"])
    where, target = before | {"DATA_DIR": str(folder)}, tmp_path / "backup"
    assert manage(where, "backup", target).returncode == 0

    refused = manage(server, "restore", target, "--replace")

    assert refused.returncode == 1
    assert "quotes_customer: PostgreSQL does not take one of its rows" in refused.stderr
    assert query(server, "SELECT count(*) FROM quotes_quote") == [(0,)]
