"""Many writers issue quotes at once: gaps, doubles, lost ones, errors and time.

python -m tests.benchmarks.parallel_issue postgresql --writers 50 --quotes 2000
python -m tests.benchmarks.parallel_issue sqlite --writers 8 --quotes 400
"""

import multiprocessing
import tempfile
import time
from argparse import ArgumentParser
from pathlib import Path

from tests.benchmarks.issuing import Cluster, counted, django_on, fill, stand_in


def issue_all(keys: list[int], barrier: object, results: object) -> None:
    """One writer: its inquiries one after the other; what was reported as issued, how long each took, what failed."""
    from django.contrib.auth import get_user_model

    from quoting.quotes import services
    from quoting.quotes.models import Inquiry
    from quoting.quotes.reviewing import KEYS

    by = get_user_model().objects.get(username="estimator")
    issued, times, errors = [], [], []
    barrier.wait()
    for key in keys:
        begin = time.perf_counter()
        try:
            quote = services.quote_approve(inquiry=Inquiry.objects.get(pk=key), by=by, confirmed=KEYS)
            issued.append(quote.number)
        except Exception as error:  # noqa: BLE001 - every error is a result here
            errors.append(f"{type(error).__name__}: {error}")
        times.append(time.perf_counter() - begin)
    results.put((issued, times, errors))


def main() -> None:
    parser = ArgumentParser(description=__doc__)
    parser.add_argument("engine", choices=["postgresql", "sqlite"])
    parser.add_argument("--writers", type=int, default=50)
    parser.add_argument("--quotes", type=int, default=2000)
    parser.add_argument("--pdf", choices=["small", "stub"], default="stub")
    parser.add_argument("--port", type=int, default=54391)
    asked = parser.parse_args()
    cluster = Cluster(asked.port) if asked.engine == "postgresql" else None
    if cluster:
        cluster.start()
    try:
        run(asked, cluster.url if cluster else "")
    finally:
        if cluster:
            cluster.stop()


def run(asked: object, database: str) -> None:
    django_on(database, Path(tempfile.mkdtemp()))
    from django.db import connections

    from quoting.quotes.code_version import code_version

    stand_in(asked.pdf)
    keys = fill(asked.quotes)
    code_version()  # read once, as in a running server
    connections.close_all()
    work = multiprocessing.get_context("fork")
    barrier, results = work.Barrier(asked.writers + 1), work.Queue()
    writers = [
        work.Process(target=issue_all, args=(keys[place :: asked.writers], barrier, results))
        for place in range(asked.writers)
    ]
    for writer in writers:
        writer.start()
    barrier.wait()
    begin = time.perf_counter()
    found = [results.get() for _ in writers]
    took = time.perf_counter() - begin
    for writer in writers:
        writer.join()
    issued = {number for one, _, _ in found for number in one}
    times = sorted(one for _, each, _ in found for one in each)
    errors = [one for _, _, each in found for one in each]
    outcome = counted(issued)
    print(f"{asked.engine}, {asked.writers} writers, {asked.quotes} quotes, {asked.pdf} PDF")
    print("  ".join(f"{name} {value}" for name, value in outcome.items()), f" errors {len(errors)}")
    rate, middle = len(times) / took, times[len(times) // 2]
    print(f"{took:.1f} s, {rate:.1f} a second; one takes {middle:.2f} s on the median, {times[-1]:.2f} s at most")
    for one in errors[:5]:
        print("  ", one)


if __name__ == "__main__":
    main()
