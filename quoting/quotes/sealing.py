"""Sealing the record of deeds: batches afterwards, so that nobody who writes an entry waits for it.

PostgreSQL gives keys before it commits, so an entry may appear late, with a lower key than those that are there. Only
entries below which nothing can appear any more are sealed: after the newest key was read, every transaction that then
held a lock to write into the table must have ended (it takes that lock before its keys and keeps it to its end).
SQLite has one writer at a time, whose entries appear in the order of their keys.
"""

import logging
import struct
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256

from django.db import DatabaseError, connection, transaction

from quoting.contract import canonical
from quoting.quotes.models import AuditEntry, AuditSeal
from quoting.quotes.plain_rows import plain, row_text
from quoting.quotes.records import now

FORMAT = 1  # of what a digest covers
ROW = ("pk", "at", "by_id", "action", "inquiry_id", "quote_id", "detail")
MARK = struct.Struct(">q8s")  # key and the begin of its digest
MOST_ROWS = 5000  # under one seal
EVERY = 60.0  # s between two sealings of a worker
PATIENCE, LOOK_AGAIN = 10.0, 0.05  # s to wait for transactions that write just now
ALONE = 2  # of advisory locks, those of sealing; `records.LINE` is another
log = logging.getLogger("quoting.seals")
_WRITERS = """
    SELECT virtualtransaction FROM pg_locks
    WHERE locktype = 'relation' AND relation = 'quotes_auditentry'::regclass AND mode = 'RowExclusiveLock' AND granted
    AND database = (SELECT oid FROM pg_database WHERE datname = current_database())
    AND pid IS DISTINCT FROM pg_backend_pid()"""


class Body:
    """The entries under one seal as they come: their digest, their marks, how many, from which key to which."""

    def __init__(self) -> None:
        self._whole, self._marks = sha256(), []
        self.first = self.last = self.count = 0

    def add(self, row: tuple) -> None:
        line = row_text(row)
        self._whole.update(line + b"\n")
        self._marks.append(MARK.pack(row[0], sha256(line).digest()[: MARK.size - 8]))
        self.first, self.last, self.count = self.first if self.count else row[0], row[0], self.count + 1

    @property
    def marks(self) -> bytes:
        return b"".join(self._marks)

    def digest(self, number: int, before: str, at: datetime) -> str:
        """Of the seal of that number, made at that time upon the seal of digest ``before``."""
        told = [FORMAT, number, before, self.first, self.last, self.count, plain(at), self._whole.hexdigest()]
        return sha256(canonical(told).encode()).hexdigest()


@dataclass(frozen=True)
class SealState:
    """What is sealed: the newest seal (without its marks), and what came after it."""

    newest: AuditSeal | None
    unsealed: int
    since: datetime | None  # of the oldest entry that is not sealed

    @property
    def last(self) -> int:
        return self.newest.last if self.newest else 0


def seal_state() -> SealState:
    newest = newest_seal()
    rest = AuditEntry.objects.order_by("pk")
    if newest:
        rest = rest.filter(pk__gt=newest.last)
    return SealState(newest, rest.count(), rest.values_list("at", flat=True).first())


def newest_seal() -> AuditSeal | None:
    return AuditSeal.objects.defer("marks").order_by("-number").first()


def seals_make(*, patience: float = PATIENCE) -> int:
    """Seal all entries that are final by now; how many. Harmless to call at any time and from several processes."""
    count, until = 0, settled(patience)
    while until is not None and (made := _next_seal(until)):
        count += made.count
    return count


def settled(patience: float) -> int | None:
    """The newest key below which no entry can appear any more; None where ``patience`` [s] ends before that is sure."""
    newest = AuditEntry.objects.order_by("-pk").values_list("pk", flat=True).first()
    if newest is None or connection.vendor == "sqlite":
        return newest
    writing, ends = _writers(), time.monotonic() + patience
    while writing:
        if time.monotonic() > ends:
            log.info("nothing sealed: %d transactions that write entries are still open", len(writing))
            return None
        time.sleep(LOOK_AGAIN)
        writing &= _writers()
    return newest


def _writers() -> set[str]:
    with connection.cursor() as cursor:
        cursor.execute(_WRITERS)
        return {name for (name,) in cursor.fetchall()}


@transaction.atomic
def _next_seal(until: int) -> AuditSeal | None:
    """One more seal upon entries up to that key; None where none is left or somebody else is at it."""
    if not _alone():
        return None
    newest, body, at = newest_seal(), Body(), now()
    rows = AuditEntry.objects.filter(pk__lte=until).order_by("pk").values_list(*ROW)
    if newest:
        rows = rows.filter(pk__gt=newest.last)
    for row in rows[:MOST_ROWS].iterator(chunk_size=500):
        body.add(row)
    if not body.count:
        return None
    number, before = (newest.number + 1, newest.digest) if newest else (1, "")
    seal = AuditSeal(
        number=number, first=body.first, last=body.last, count=body.count, marks=body.marks, at=at, before=before,
        digest=body.digest(number, before, at),
    )  # fmt: skip
    seal.full_clean(exclude=["marks"])
    seal.save()
    transaction.on_commit(lambda: _tell(seal), robust=True)
    return seal


def _alone() -> bool:
    """Whether nobody else seals, until the end of the transaction; SQLite lets one process write at a time anyway."""
    if connection.vendor == "sqlite":
        return True
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s, 0)", [ALONE])
        return cursor.fetchone()[0]


def _tell(seal: AuditSeal) -> None:
    """Into the log, which is kept outside the database."""
    told = {"seal": seal.number, "first": seal.first, "last": seal.last, "rows": seal.count, "digest": seal.digest}
    log.info("seal %d: %s", seal.number, seal.digest, extra=told)


@contextmanager
def sealing_meanwhile() -> Iterator[None]:
    """Beside what is done inside, seal at once and then every minute, in a thread with a connection of its own."""
    over = threading.Event()
    thread = threading.Thread(target=_seal_until, args=(over,), daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _seal_until(over: threading.Event) -> None:
    try:
        while True:
            try:
                seals_make()
            except DatabaseError:  # such as a server that restarts: told, and tried again in a minute
                log.exception("the record could not be sealed")
                connection.close()
            if over.wait(EVERY):
                return
    finally:
        connection.close()
