"""kill -9 of web process, worker and PostgreSQL at random while quotes are issued: is each issued wholly or not at all?

    python -m tests.benchmarks.killed_issue --quotes 200 --every 3

The web process is a child that takes the estimator's approval through the whole request handling, by the form of the
review. Whatever is not confirmed is tried again after the restart, as a person would. Seeded; times are the machine's.
"""

import os
import random
import signal
import subprocess
import sys
import tempfile
import time
from argparse import ArgumentParser
from pathlib import Path
from threading import Event, Thread

from tests.benchmarks.issuing import ROOT, Cluster, counted, django_on, fill, stand_in


def serve() -> None:
    """The web process: reads the key of an inquiry, posts its approval, says how it stands now."""
    django_on(os.environ["DATABASE_URL"], Path(os.environ["DATA_DIR"]))
    stand_in("small")
    from django.contrib.auth import get_user_model
    from django.db import connections
    from django.test import Client

    from quoting.quotes.models import Inquiry
    from quoting.quotes.reviewing import KEYS

    client = Client(raise_request_exception=False)
    client.force_login(get_user_model().objects.get(username="estimator"))
    for line in sys.stdin:
        inquiry = Inquiry.objects.defer("snapshot").get(pk=int(line))
        form = dict.fromkeys(KEYS, "on") | {"version": inquiry.version}
        status = client.post(f"/review/{inquiry.number}/approve/", form).status_code
        print(inquiry.pk, status, flush=True)
        connections["default"].close_if_unusable_or_obsolete()


class Process:
    """A child that is started again whenever it is found dead."""

    def __init__(self, *command: str):
        self.command, self.child, self.deaths = command, None, 0

    def alive(self) -> subprocess.Popen:
        if self.child is None or self.child.poll() is not None:
            pipe = subprocess.PIPE
            self.child = subprocess.Popen(
                [sys.executable, *self.command], cwd=ROOT, stdin=pipe, stdout=pipe, stderr=subprocess.DEVNULL, text=True
            )
        return self.child

    def kill(self) -> None:
        if self.child is not None and self.child.poll() is None:
            os.kill(self.child.pid, signal.SIGKILL)
            self.child.wait()
            self.deaths += 1


def killer(
    web: Process, worker: Process, cluster: Cluster, over: Event, dice: random.Random, every: float, deaths: dict
) -> None:
    """Kill one of the three after a random time, again and again, until it is over; count how often each died."""
    while not over.wait(dice.uniform(0.2, 2 * every)):
        victim = dice.choice(("web", "web", "worker", "database"))
        if victim == "database":
            cluster.kill()
            cluster.start()
        else:
            (web if victim == "web" else worker).kill()
            worker.alive()
        deaths[victim] += 1


def issue(web: Process, key: int) -> bool:
    """Whether the web process confirmed the approval; False where it or the database died meanwhile."""
    child, said = web.alive(), ""
    try:
        child.stdin.write(f"{key}\n")
        child.stdin.flush()
        said = child.stdout.readline()
    except (BrokenPipeError, ValueError):
        pass  # it died before it could read; that is what is tried here
    if said.split() == [str(key), "302"]:
        return True
    until = time.monotonic() + 10
    while not said and child.poll() is None and time.monotonic() < until:
        time.sleep(0.05)  # killed, but not gone yet
    return False


def main() -> None:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("--quotes", type=int, default=200)
    parser.add_argument("--every", type=float, default=3.0, help="mean time between kills [s]")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--port", type=int, default=54392)
    asked = parser.parse_args()
    cluster, folder = Cluster(asked.port), Path(tempfile.mkdtemp())
    cluster.start()
    os.environ |= {"DATABASE_URL": cluster.url, "DATA_DIR": str(folder)}
    django_on(cluster.url, folder)
    keys = fill(asked.quotes)
    run(cluster, keys, random.Random(asked.seed), asked.every)  # noqa: S311 - chance, not secrecy
    cluster.stop()


def run(cluster: Cluster, keys: list[int], dice: random.Random, every: float) -> None:
    from django.db import connection

    from quoting.quotes.models import ANSWERED, Inquiry, Quote

    web, worker = Process("-m", "tests.benchmarks.killed_issue", "serve"), Process("manage.py", "work")
    worker.alive()
    over, deaths = Event(), {"web": 0, "worker": 0, "database": 0}
    killing = Thread(target=killer, args=(web, worker, cluster, over, dice, every, deaths))
    killing.start()
    begin, confirmed, unconfirmed = time.perf_counter(), 0, 0
    for key in keys:
        done = issue(web, key)
        confirmed, unconfirmed = confirmed + done, unconfirmed + (not done)
    over.set()
    killing.join()
    connection.close()
    after = counted(set())
    left = list(Inquiry.objects.filter(state=ANSWERED).values_list("pk", flat=True))
    print(f"{len(keys)} approvals under kill -9 of {deaths}, {time.perf_counter() - begin:.0f} s")
    print(f"confirmed {confirmed}, not confirmed {unconfirmed}; whole {after['issued']}, not issued {len(left)}")
    print("  ".join(f"{name} {value}" for name, value in after.items()))
    again = sum(issue(web, key) for key in left)
    print(f"tried again {len(left)}, issued {again};", f"now {Quote.objects.count()} of {len(keys)}:", counted(set()))
    for process in (web, worker):
        process.kill()


if __name__ == "__main__":
    serve() if sys.argv[1:] == ["serve"] else main()
