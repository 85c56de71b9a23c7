"""Backup, destroy, restore as .deploy/README.md says it, at size: rows and digests of every table before and after.

    python -m tests.benchmarks.restored postgresql --quotes 500
    python -m tests.benchmarks.restored sqlite --quotes 500

On PostgreSQL the owner is no superuser, the server that is restored into is new, and the app's role is tried after
`roles.sql`: it must be able to issue and to change a link, and unable to change what was issued.
"""

import os
import subprocess
import sys
import tempfile
import time
from argparse import ArgumentParser
from hashlib import sha256
from pathlib import Path

from tests.benchmarks.issuing import ROOT, Cluster, counted, django_on, fill, stand_in

SEAL = (
    "INSERT INTO quotes_auditseal (number, first, last, count, marks, at, before, digest) "
    "VALUES (999999, 1, 1, 1, '', now(), '', 'x')"
)
MEDIA = 200  # files, of 100 kB each


def main() -> None:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("engine", choices=["postgresql", "sqlite"])
    parser.add_argument("--quotes", type=int, default=500)
    parser.add_argument("--port", type=int, default=54394)
    asked = parser.parse_args()
    folder, target = Path(tempfile.mkdtemp()), Path(tempfile.mkdtemp()) / "backup"
    server = new_server(asked.port) if asked.engine == "postgresql" else None
    django_on(owner(server), folder)
    try:
        before = filled(asked.quotes, folder)
        if server:
            psql(server, "-f", str(ROOT / ".deploy" / "roles.sql"))
        timed("backup", "backup", target)
        timed("verify", "backup", target, "--verify")
        server = destroyed(server, folder, asked.port)
        said = timed("restore", "restore", target)
        after = state()
        print(f"{asked.engine}: issued documents told equal {said.count(' equal')} of {asked.quotes}")
        print(f"tables {len(before)}, rows {sum(rows for rows, _ in before.values())}, differing:",
              sorted(name for name in before if before[name] != after.get(name)) or "none")  # fmt: skip
        print("media equal", files(folder) == files(target), len(files(folder)))
        print(counted(set()), "next number", next_number())
        if server:
            psql(server, "-f", str(ROOT / ".deploy" / "roles.sql"))
            try_the_role(server)
    finally:
        if server:
            server.stop()


def new_server(port: int) -> Cluster:
    """Steps 2 of the document: roles, database, extension."""
    server = Cluster(port)
    server.start()
    for statement in (
        "CREATE ROLE quoting LOGIN", "CREATE ROLE quoting_app LOGIN", "CREATE DATABASE quoting OWNER quoting",
    ):  # fmt: skip
        psql(server, "-c", statement, database="postgres")
    psql(server, "-c", "CREATE EXTENSION IF NOT EXISTS pg_trgm")
    return server


def owner(server: Cluster | None) -> str:
    return f"postgresql://quoting@127.0.0.1:{server.port}/quoting" if server else ""


def psql(server: Cluster, *arguments: str, database: str = "quoting", user: str = "tester") -> str:
    line = ["psql", "-qAtX", "-v", "ON_ERROR_STOP=1", "-h", "127.0.0.1", "-p", str(server.port), "-U", user]
    done = subprocess.run([*line, "-d", database, *arguments], capture_output=True, text=True, check=False)
    if done.returncode:
        raise RuntimeError(done.stderr)
    return done.stdout.strip()


def filled(quotes: int, folder: Path) -> dict[str, tuple[int, str]]:
    """So many issued quotes, and files beside them."""
    stand_in("small")
    from django.contrib.auth import get_user_model

    from quoting.quotes import services
    from quoting.quotes.models import Inquiry
    from quoting.quotes.reviewing import KEYS
    from quoting.quotes.sealing import seals_make

    keys, by = fill(quotes), get_user_model().objects.get(username="estimator")
    for key in keys:
        services.quote_approve(inquiry=Inquiry.objects.get(pk=key), by=by, confirmed=KEYS)
    seals_make()  # as the backup does, so that it finds nothing left to seal
    (folder / "media" / "drawings").mkdir(parents=True, exist_ok=True)
    for number in range(MEDIA):
        (folder / "media" / "drawings" / f"{number}.step").write_bytes(sha256(b"%d" % number).digest() * 3200)
    return state()


def state() -> dict[str, tuple[int, str]]:
    """Of every table the number of rows and a digest of all of them, in the order of their text."""
    from django.db import connection

    found = {}
    with connection.cursor() as cursor:
        for table in sorted(connection.introspection.table_names()):
            cursor.execute(f'SELECT * FROM "{table}"')  # noqa: S608 - names of our own tables
            rows = sorted(repr([bytes(one) if isinstance(one, memoryview) else one for one in row]) for row in cursor)
            found[table] = (len(rows), sha256("\n".join(rows).encode()).hexdigest())
    connection.close()
    return found


def timed(what: str, *command: object) -> str:
    began = time.perf_counter()
    done = subprocess.run(
        [sys.executable, "manage.py", *map(str, command)], cwd=ROOT, env=os.environ, capture_output=True, text=True,
        check=False,
    )  # fmt: skip
    print(f"{what}: exit {done.returncode}, {time.perf_counter() - began:.1f} s", done.stderr.strip()[-300:])
    return done.stdout


def destroyed(server: Cluster | None, folder: Path, port: int) -> Cluster | None:
    """Database and data folder are gone; of PostgreSQL the server itself, and another one is set up."""
    from django.db import connections

    connections.close_all()
    for file in [*folder.glob("quoting.sqlite3*"), *folder.rglob("*.step")]:
        file.unlink()
    (folder / "media" / "drawings").rmdir()
    if not server:
        return None
    server.stop()
    subprocess.run(["rm", "-rf", str(server.folder)], check=True)
    return new_server(port)


def files(folder: Path) -> dict[str, str]:
    return {file.name: sha256(file.read_bytes()).hexdigest() for file in folder.rglob("*.step")}


def next_number() -> str:
    from quoting.quotes.records import expected_number, today

    return expected_number("Q", today().year)


def try_the_role(server: Cluster) -> None:
    """What the app's role may and may not, as the restored database has it."""
    tried = {
        "read": ("SELECT count(*) FROM quotes_quote", True),
        "change a link": ("UPDATE quotes_quote SET link_expires = now() WHERE id = 1", True),
        "change an answer": ("UPDATE quotes_quote SET digest = 'x' WHERE id = 1", False),
        "delete a quote": ("DELETE FROM quotes_quote WHERE id = 1", False),
        "change the record": ("UPDATE quotes_auditentry SET action = 'x'", False),
        "change a seal": ("UPDATE quotes_auditseal SET digest = 'x'", False),
        "delete a seal": ("DELETE FROM quotes_auditseal", False),
        "write a seal": (SEAL, True),
        "see who writes": ("SELECT count(*) FROM pg_locks WHERE relation = 'quotes_auditentry'::regclass", True),
        "delete a reply": ("DELETE FROM quotes_customerreply", False),
    }
    for what, (statement, allowed) in tried.items():
        try:
            psql(server, "-c", statement, user="quoting_app")
            could = True
        except RuntimeError as error:
            could, why = False, str(error).splitlines()[0]
        print(f"quoting_app: {what}: {'can' if could else 'refused: ' + why}", "" if could == allowed else "WRONG")


if __name__ == "__main__":
    main()
