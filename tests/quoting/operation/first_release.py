"""The first released schema with data in it: every row that the first release's own code had written.

``first_release.json.xz`` holds, by table, columns and rows as the database held them (bytes as base64): five inquiries
(won, sent and to be changed, declined with a letter, incomplete, waiting), three issued documents, two overrides, the
audit, rates, one plant. It was filled once by that release's services; no code makes it again.
"""

import base64
import json
import lzma
from pathlib import Path

from django.apps.registry import Apps
from django.contrib.contenttypes.models import ContentType
from django.core.management import call_command
from django.core.management.color import no_style
from django.db import connection, models
from django.db.migrations.executor import MigrationExecutor

FILE = Path(__file__).with_name("first_release.json.xz")


def read() -> dict:
    return json.loads(lzma.decompress(FILE.read_bytes()))


def migrate_to_first_release(content: dict) -> Apps:
    """Bring an empty database to the schema of the first release and give its models."""
    targets = sorted(content["migrations"].items())
    executor = MigrationExecutor(connection)
    executor.migrate(targets)
    return executor.loader.project_state(targets).apps


def migrate_to_now() -> None:
    """As an office does it: by the command, which also sees to rights."""
    ContentType.objects.clear_cache()
    call_command("migrate", verbosity=0)


def fill(content: dict, apps: Apps) -> None:
    """Insert the rows by plain SQL, checks of foreign keys put off to the end, and set the counters of the keys."""
    tables = {model._meta.db_table: model for model in apps.get_models(include_auto_created=True)}
    with connection.constraint_checks_disabled(), connection.cursor() as cursor:
        for name in in_order(content["tables"], tables):
            table = content["tables"][name]
            flags = {field.column for field in tables[name]._meta.fields if isinstance(field, models.BooleanField)}
            columns = ", ".join(f'"{column}"' for column in table["columns"])
            places = ", ".join(["%s"] * len(table["columns"]))
            rows = [[plain(value, column in flags) for column, value in zip(table["columns"], row, strict=True)]
                    for row in table["rows"]]  # fmt: skip
            cursor.executemany(f'INSERT INTO "{name}" ({columns}) VALUES ({places})', rows)  # noqa: S608 - our fixture
        for statement in connection.ops.sequence_reset_sql(no_style(), list(tables.values())):
            cursor.execute(statement)


def in_order(names: dict, tables: dict[str, type[models.Model]]) -> list[str]:
    """Tables after those that they refer to."""
    ordered: list[str] = []

    def put(name: str) -> None:
        if name in ordered or name not in names:
            return
        for field in tables[name]._meta.fields:
            if field.is_relation and field.related_model._meta.db_table != name:
                put(field.related_model._meta.db_table)
        ordered.append(name)

    for name in sorted(names):
        put(name)
    return ordered


def plain(value: object, is_flag: bool) -> object:
    if isinstance(value, dict):
        return base64.b64decode(value["base64"])
    return bool(value) if is_flag and value is not None else value
