"""Sealing and verifying a long record of deeds: seconds of processor and by the clock, memory, and what writers notice.

    python -m tests.benchmarks.seals_speed sqlite --entries 400000
    python -m tests.benchmarks.seals_speed postgresql --entries 400000

With PostgreSQL 50 writers then write entries, each in a transaction of its own, once alone and once while three
processes' worth of sealing goes on without a pause.
"""

import resource
import sys
import tempfile
import time
from argparse import ArgumentParser
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from threading import Event, Thread

from tests.benchmarks.issuing import Cluster, django_on

WRITERS, EACH = 50, 40


def main() -> None:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("engine", choices=["postgresql", "sqlite"])
    parser.add_argument("--entries", type=int, default=400_000)
    parser.add_argument("--port", type=int, default=54395)
    asked = parser.parse_args()
    server = Cluster(asked.port) if asked.engine == "postgresql" else None
    if server:
        server.start()
    try:
        django_on(server.url if server else "", Path(tempfile.mkdtemp()))
        measured(asked.entries)
        if server:
            beside_writers()
    finally:
        if server:
            server.stop()


def measured(entries: int) -> None:
    from django.core.management import call_command

    from quoting.quotes.sealing import seals_make
    from quoting.quotes.seals_verifying import seals_checked

    call_command("migrate", verbosity=0)
    fill(entries)
    print(f"{'':<22}{'clock':>8}{'processor':>11}{'memory':>10}")
    timed("sealing all", seals_make)
    found = timed("verifying all", seals_checked)
    print(f"{found.rows} entries under {found.seals} seals, breaks: {found.faults or 'none'}")
    fill(1)
    timed("sealing one more", seals_make)


def fill(entries: int) -> None:
    from quoting.quotes.models import AuditEntry

    typed = {"part": {"name": "Cover", "length": "40 in", "width": "30 in", "wall": 0.125}, "annual": 1000}
    began = datetime(2026, 1, 1, tzinfo=UTC)
    for start in range(0, entries, 5000):
        AuditEntry.objects.bulk_create(
            AuditEntry(at=began + timedelta(seconds=place), action="inquiry_log", detail={"typed": typed, "n": place})
            for place in range(start, min(start + 5000, entries))
        )


def timed(what: str, deed: Callable[[], object]) -> object:
    before, clock, used = peak(), time.perf_counter(), time.process_time()
    found = deed()
    clock, used = time.perf_counter() - clock, time.process_time() - used
    print(f"{what:<22}{clock:>6.1f} s{used:>9.1f} s{f'+{peak() - before:.0f} MB':>10}")
    return found


def peak() -> float:
    """Of this process so far [MB]."""
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / (1024 if sys.platform == "linux" else 2**20)


def beside_writers() -> None:
    from quoting.quotes.sealing import seals_make
    from quoting.quotes.seals_verifying import seals_checked

    print(f"{WRITERS} writers, {EACH} entries each: longest and median wait for one")
    for sealers in (0, 3, 0, 3):
        over, waits = Event(), []
        sealing = [Thread(target=until, args=(over, seals_make)) for _ in range(sealers)]
        writing = [Thread(target=write, args=(waits,)) for _ in range(WRITERS)]
        for one in (*sealing, *writing):
            one.start()
        for one in writing:
            one.join()
        over.set()
        for one in sealing:
            one.join()
        waits.sort()
        print(f"  {sealers} sealing: {1000 * waits[-1]:.0f} ms, {1000 * waits[len(waits) // 2]:.1f} ms")
    seals_make()
    found = seals_checked()
    print(f"  {found.rows} entries, {found.state.unsealed} not sealed, breaks: {found.faults or 'none'}")


def until(over: Event, deed: Callable[[], object]) -> None:
    from django.db import connection

    while not over.wait(0.01):
        deed()
    connection.close()


def write(waits: list[float]) -> None:
    from django.db import connection, transaction

    from quoting.quotes.records import audit

    for place in range(EACH):
        began = time.perf_counter()
        with transaction.atomic():
            audit("one", by=None, place=place)
        waits.append(time.perf_counter() - began)
    connection.close()


if __name__ == "__main__":
    main()
