"""Backup, destroy, restore: every issued document is as it was, or the restore says which is not."""

import os
import subprocess
import sys
from pathlib import Path

import pytest
from django.conf import settings

from tests.quoting.operation import first_release

FILL = """
import django; django.setup()
from tests.quoting.operation import first_release
content = first_release.read()
first_release.fill(content, first_release.migrate_to_first_release(content))
first_release.migrate_to_now()
"""


def run(where: dict[str, str], *arguments: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, *arguments], cwd=settings.BASE_DIR, env=os.environ | where, capture_output=True, text=True,
        check=False,
    )  # fmt: skip


def manage(where: dict[str, str], *arguments: object) -> subprocess.CompletedProcess:
    return run(where, "manage.py", *map(str, arguments))


@pytest.fixture(scope="module")
def office(tmp_path_factory, django_db_setup, django_db_blocker):
    """An office of its own, in processes of their own: a data folder, and a database on the engine of this run."""
    folder = tmp_path_factory.mktemp("office")
    where = {"DATA_DIR": str(folder), "DATABASE_URL": "", "DJANGO_SETTINGS_MODULE": "quoting.settings"}
    where |= {"SECRET_KEY": "long enough for a test " * 3, "ALLOWED_HOSTS": "localhost"}
    given = settings.DATABASES["default"]
    if given["ENGINE"].endswith("postgresql"):
        name = f"backup_{os.getpid()}"
        base = f"postgresql://{given['USER']}:{given['PASSWORD']}@{given['HOST']}:{given['PORT']}"
        where["DATABASE_URL"] = f"{base}/{name}"
        outside(base, f'CREATE DATABASE "{name}"')
    made = run(where, "-c", FILL)
    assert made.returncode == 0, made.stderr
    (folder / "media" / "drawings").mkdir(parents=True)
    (folder / "media" / "drawings" / "part.step").write_bytes(b"ISO-10303-21;")
    yield where
    if where["DATABASE_URL"]:
        outside(base, f'DROP DATABASE "{name}" WITH (FORCE)')


def outside(base: str, statement: str) -> None:
    import psycopg

    with psycopg.connect(f"{base}/postgres", autocommit=True) as line:
        line.execute(statement)


@pytest.fixture(scope="module")
def saved(office, tmp_path_factory) -> Path:
    target = tmp_path_factory.mktemp("backups") / "first"
    made = manage(office, "backup", target)
    assert made.returncode == 0, made.stderr
    return target


def destroy(where: dict[str, str]) -> None:
    folder = Path(where["DATA_DIR"])
    for file in [*folder.glob("quoting.sqlite3*"), *folder.glob("media/**/*.step")]:
        file.unlink()
    if where["DATABASE_URL"]:
        base, _, name = where["DATABASE_URL"].rpartition("/")
        outside(base, f'DROP DATABASE "{name}" WITH (FORCE)')
        outside(base, f'CREATE DATABASE "{name}"')
    (folder / "media" / "drawings").rmdir()


def test_after_backup_destroy_restore_every_digest_is_equal(office, saved):
    assert manage(office, "backup", saved, "--verify").returncode == 0
    destroy(office)

    done = manage(office, "restore", saved)

    assert done.returncode == 0, done.stderr
    rows = first_release.read()["tables"]["quotes_quote"]["rows"]
    assert done.stdout.count(" equal\n") == len(rows) == 3
    assert "All 3 issued documents are as they were" in done.stdout
    assert "all are as they were sealed" in done.stdout
    assert (Path(office["DATA_DIR"]) / "media/drawings/part.step").read_bytes() == b"ISO-10303-21;"


def test_a_target_that_is_not_empty_is_refused_unless_told(office, saved, tmp_path):
    refused = manage(office, "restore", saved)
    assert refused.returncode == 1
    assert "--replace" in refused.stderr

    again = tmp_path / "of what was restored"
    assert manage(office, "backup", again).returncode == 0
    replaced = manage(office, "restore", again, "--replace")
    assert replaced.returncode == 0, replaced.stderr


WHILE_ISSUING = """
import sys
from pathlib import Path
import django; django.setup()
from django.contrib.auth import get_user_model
from quoting.operation import backup, database_copy
from quoting.quotes import models, services, stock
from quoting.quotes.reviewing import KEYS
copied = database_copy.dump
def dump(folder):
    stock.ensure_groups()
    by = next(one for one in get_user_model().objects.all() if one.username.endswith("estimator"))
    waiting = models.Inquiry.objects.get(state=models.ANSWERED)
    waiting = services.inquiry_answer(inquiry=waiting, on=services.today(), by=by)
    services.quote_approve(inquiry=waiting, confirmed=KEYS, by=by)
    return copied(folder)
database_copy.dump = dump
backup.backup(Path(sys.argv[1]), print)
"""


def test_a_quote_issued_while_the_backup_is_made_is_no_reason_to_refuse_it(office, saved, tmp_path):
    target = tmp_path / "while issuing"
    made = run(office, "-c", WHILE_ISSUING, str(target))
    assert made.returncode == 0, made.stderr

    done = manage(office, "restore", target, "--replace")

    assert done.returncode == 0, done.stderr
    assert done.stdout.count(" equal\n") == 3
    assert "Q-2026-0003 revision 1" in next(line for line in done.stdout.splitlines() if "issued while" in line)
    assert "All 4 issued documents are as they were" in done.stdout


def test_a_backup_is_not_written_over_another_one(office, saved):
    assert "is not empty" in manage(office, "backup", saved).stderr


ALTER_AS_OWNER = """
import django; django.setup()
from django.db import connection
from quoting.quotes.models import AuditEntry, AuditSeal
there = "" if connection.vendor == "sqlite" else " ON quotes_auditentry"
with connection.cursor() as cursor:
    cursor.execute(f"DROP TRIGGER quotes_auditentry_no_update{there}")
entry = AuditEntry.objects.filter(pk__lte=AuditSeal.objects.latest("number").last).order_by("pk")[2]
AuditEntry.objects.filter(pk=entry.pk).update(action="something_else")
print(entry.pk)
"""


def test_an_entry_altered_by_the_owner_of_the_database_is_named_after_a_restore(office, saved, tmp_path):
    before, target = tmp_path / "before", tmp_path / "altered"
    assert manage(office, "backup", before).returncode == 0
    altered = run(office, "-c", ALTER_AS_OWNER)
    assert altered.returncode == 0, altered.stderr
    assert manage(office, "backup", target).returncode == 0

    done = manage(office, "restore", target, "--replace")

    assert done.returncode == 1
    assert f"entry {altered.stdout.strip()} was altered since seal 1 was made" in done.stdout
    assert "the record of deeds is not what was sealed" in done.stderr
    assert manage(office, "audit", "verify").returncode == 1
    assert manage(office, "restore", before, "--replace").returncode == 0
    assert manage(office, "audit", "verify").returncode == 0


@pytest.mark.parametrize("what", ["damaged", "missing", "is not of this backup", "no readable"])
def test_a_damaged_backup_is_refused_with_words_and_nothing_is_touched(office, saved, tmp_path, what):
    copy = tmp_path / "copy"
    subprocess.run(["cp", "-r", str(saved), str(copy)], check=True)
    file = next(copy.glob("database.*"))
    if what == "damaged":
        content = bytearray(file.read_bytes())
        content[len(content) // 2] ^= 1
        file.write_bytes(content)
    elif what == "missing":
        (copy / "media" / "drawings" / "part.step").unlink()
    elif what == "no readable":
        (copy / "manifest.json").write_text("{")
    else:
        (copy / "media" / "more.txt").write_text("more")

    refused = manage(office, "restore", copy, "--replace")

    assert refused.returncode == 1
    assert what in refused.stderr
    assert manage(office, "backup", tmp_path / "after").returncode == 0  # all issued documents are still intact
