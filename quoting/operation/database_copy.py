"""The database as one file and back: SQLite by its online backup, PostgreSQL by its own dump tools."""

import os
import shutil
import sqlite3
import subprocess
from contextlib import closing
from pathlib import Path

from django.core.management.base import CommandError
from django.db import connection, connections

FILES = {"sqlite": "database.sqlite3", "postgresql": "database.dump"}


def dump(folder: Path) -> Path:
    """Write the database into the folder while the app goes on working; one moment of it, whole."""
    file = folder / FILES[connection.vendor]
    if connection.vendor == "sqlite":
        connection.ensure_connection()
        with closing(sqlite3.connect(file)) as target:
            connection.connection.backup(target)
    else:
        run_tool("pg_dump", "--format=custom", "--no-owner", "--no-privileges", f"--file={file}", database_name())
    return file


def is_carried(folder: Path) -> bool:
    """Whether this is a backup of SQLite that is to be put into PostgreSQL. CommandError for the way back."""
    if (folder / FILES[connection.vendor]).exists():
        return False
    if connection.vendor == "postgresql" and (folder / FILES["sqlite"]).exists():
        return True
    raise CommandError(f"{folder} holds a backup of another kind of database than {connection.vendor}")


def load(folder: Path) -> None:
    """Put the database of the folder in the place of the present one, which is of the same kind."""
    file = folder / FILES[connection.vendor]
    if connection.vendor == "sqlite":
        with closing(sqlite3.connect(file)) as source:
            connection.ensure_connection()
            source.backup(connection.connection)
    else:
        clear()
        run_tool("pg_restore", "--no-owner", "--no-privileges", "--exit-on-error", "--single-transaction",
                 f"--dbname={database_name()}", str(file))  # fmt: skip
    connections.close_all()


def clear() -> None:
    """Take everything out of the PostgreSQL database."""
    with connection.cursor() as cursor:
        cursor.execute("DROP SCHEMA public CASCADE")
        cursor.execute("CREATE SCHEMA public")
        cursor.execute("GRANT USAGE ON SCHEMA public TO PUBLIC")
        if connection.pg_version >= 150000:  # as a new database has it; else a later dump would make it once more
            cursor.execute("ALTER SCHEMA public OWNER TO pg_database_owner")
    connections.close_all()


def is_empty() -> bool:
    """Whether the database holds no table yet."""
    return not connection.introspection.table_names()


def database_name() -> str:
    return str(connection.settings_dict["NAME"])


def run_tool(name: str, *arguments: str) -> None:
    """Run one of PostgreSQL's tools against our database; the password goes by the environment, never by the line."""
    tool = shutil.which(name) or next(
        iter(sorted(Path("/usr/lib/postgresql").glob(f"*/bin/{name}"), reverse=True)), None
    )
    if tool is None:
        raise CommandError(f"{name} is not here; install PostgreSQL's client tools (Debian: postgresql-client)")
    given = connection.settings_dict
    names = {"PGHOST": "HOST", "PGPORT": "PORT", "PGUSER": "USER", "PGPASSWORD": "PASSWORD"}
    account = {variable: str(given[key]) for variable, key in names.items() if given[key]}
    done = subprocess.run([str(tool), *arguments], env=os.environ | account, capture_output=True, text=True)  # noqa: S603
    if done.returncode:
        raise CommandError(f"{name} failed: {done.stderr.strip()}")
