"""How long a large file of runs takes: looked through and imported, 17 of its rows wrong.

``python -m tests.benchmarks.runs_speed [ROWS]`` in a filled demo; nothing of it stays.
"""

import csv
import io
import os
import sys
from datetime import date, timedelta
from time import perf_counter, process_time

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "quoting.settings")

import django

django.setup()

from django.db import transaction

from machines.models import Machine
from quoting.planning.models import Job
from quoting.quotes.runs import imports, recording
from quoting.quotes.runs.reading import HEADINGS

WRONG = 17


def table(rows: int) -> bytes:
    jobs = list(Job.objects.filter(state__in=recording.ORDERED).values_list("quote", flat=True))
    machines = list(Machine.objects.values_list("code", flat=True))
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow(HEADINGS)
    wrong = {(number + 1) * rows // (WRONG + 1) for number in range(WRONG)}
    for number in range(rows):
        day, place = divmod(number, len(jobs) * len(machines))
        started = date(2001, 1, 1) + timedelta(days=day)
        heats = "many" if number in wrong else 160 + number % 17
        writer.writerow(
            (jobs[place % len(jobs)], machines[place // len(jobs)], started, started, 300, number % 20, heats,
             f"{100 + number % 251 / 10} s", f"{3 + number % 7 / 4} h", f"{5 + number % 97 / 30:.2f} h",
             f"{3200 + number % 503} lb", f"{140 + number % 211 / 10} s", 57, "", "")
        )  # fmt: skip
    return out.getvalue().encode()


def timed(words: str, work: object) -> object:
    began, worked = perf_counter(), process_time()
    done = work()
    print(f"{words:<16} {perf_counter() - began:7.1f} s   {process_time() - worked:7.1f} s of this processor")
    return done


def main(rows: int) -> None:
    content = table(rows)
    print(f"{rows:,} rows, {len(content) / 1e6:.1f} MB")
    found = timed("looked through", lambda: imports.looked_through(content))
    print(found.counts)
    with transaction.atomic():
        given = {"file_name": "runs.csv", "content": content, "good_only": True, "by": None}
        timed("imported", lambda: imports.runs_import(**given))
        transaction.set_rollback(True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 50_000)
