"""Every table of the database, row by row in values that do not depend on its kind, and a checksum of each."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from typing import Any

from django.apps import apps
from django.db import models
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder

from quoting.quotes.plain_rows import row_text

PORTION = 200  # rows in memory; one may hold a document of some MB
Row = tuple[Any, ...]


class Checksum:
    """Number of rows and a digest of all of them, whatever their order: the sum of the digests of their texts.

    Text keys are ordered otherwise by each database, so that no order is the same in both.
    """

    def __init__(self) -> None:
        self.rows, self._sum = 0, 0

    def add(self, text: bytes) -> None:
        self.rows += 1
        self._sum = (self._sum + int.from_bytes(sha256(text).digest())) % 2**256

    @property
    def digest(self) -> str:
        return f"{self._sum:064x}"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Checksum) and (self.rows, self._sum) == (other.rows, other._sum)

    __hash__ = None


@dataclass(frozen=True)
class Table:
    """One table as its model knows it."""

    model: type[models.Model]

    @property
    def name(self) -> str:
        return self.model._meta.db_table

    @cached_property
    def fields(self) -> tuple[models.Field, ...]:
        return tuple(self.model._meta.local_concrete_fields)

    @property
    def columns(self) -> tuple[str, ...]:
        return tuple(field.column for field in self.fields)

    def rows(self, connection: BaseDatabaseWrapper) -> Iterator[Row]:
        """All rows by key; JSON stays the text that it is, and so does what a field of ours unpacks."""
        converters = [_converters(field, connection) for field in self.fields]
        key = self.model._meta.pk.column
        place = self.columns.index(key)
        columns, name = ", ".join(f'"{one}"' for one in self.columns), f'"{self.name}"'
        first = f'SELECT {columns} FROM {name} ORDER BY "{key}" LIMIT {PORTION}'  # noqa: S608 - names of our own tables
        later = first.replace(" ORDER BY", f' WHERE "{key}" > %s ORDER BY')
        with connection.cursor() as cursor:
            cursor.execute(first)
            while portion := cursor.fetchall():
                for row in portion:
                    yield tuple(_converted(value, ways) for value, ways in zip(row, converters, strict=True))
                cursor.execute(later, [portion[-1][place]])

    def text(self, row: Row) -> bytes:
        """Its canonical text."""
        return row_text(
            json.loads(value) if value is not None and isinstance(field, models.JSONField) else value
            for field, value in zip(self.fields, row, strict=True)
        )

    def checksum(self, connection: BaseDatabaseWrapper) -> Checksum:
        found = Checksum()
        for row in self.rows(connection):
            found.add(self.text(row))
        return found


def _converters(field: models.Field, connection: BaseDatabaseWrapper) -> list[Any]:
    """What makes Python values of those of this database; not what a field makes of its stored text."""
    column = field.get_col(field.model._meta.db_table)
    ways = connection.ops.get_db_converters(column)
    if not hasattr(field, "from_db_value"):
        ways = ways + field.get_db_converters(connection)
    return [(way, column, connection) for way in ways]


def _converted(value: Any, ways: list[Any]) -> Any:
    for way, column, connection in ways:
        value = way(value, column, connection)
    return value


def tables() -> tuple[Table, ...]:
    """Those of every app, the tables between two others and that of migrations, by name."""
    found = {one._meta.db_table: one for one in apps.get_models(include_auto_created=True) if one._meta.managed}
    found[MigrationRecorder.Migration._meta.db_table] = MigrationRecorder.Migration
    return tuple(Table(found[name]) for name in sorted(found))
