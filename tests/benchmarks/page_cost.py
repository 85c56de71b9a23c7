"""Processor time of each page of a large office: the web worker's and the database's apart, and its queries.

Run on the database that `office_load` filled (it fills an empty one):

    DATABASE_URL=postgresql://... DATA_DIR=/tmp/load python -m tests.benchmarks.page_cost --requests 100

The pages and people are those of `office_load`, asked one after another by the WSGI application in this process, so
that neither the server's own reading and writing nor waiting counts. Of the database only the backend of this
connection is read (Linux, database on this machine). Worker times are medians, the database's a mean.
"""

import argparse
import io
import sys
import time
from pathlib import Path
from statistics import mean, median

from tests.benchmarks import office_load  # sets Django up

# isort: split
from django.db import connection

from quoting.wsgi import application


def backend_seconds(pid: int) -> float:
    """Processor time of a process [s], by the scheduler's own count; nan where it cannot be read."""
    try:
        return int(Path(f"/proc/{pid}/schedstat").read_text().split()[0]) / 1e9
    except OSError:
        return float("nan")


def ask(address: str, cookie: str) -> bytes:
    """The body of a page; anything but 200 ends the run."""
    path, _, query = address.partition("?")
    environ = {
        "REQUEST_METHOD": "GET", "PATH_INFO": path, "QUERY_STRING": query, "SERVER_NAME": "127.0.0.1",
        "SERVER_PORT": "80", "SERVER_PROTOCOL": "HTTP/1.1", "REMOTE_ADDR": "127.0.0.1", "HTTP_COOKIE": cookie,
        "wsgi.url_scheme": "http", "wsgi.input": io.BytesIO(), "wsgi.errors": sys.stderr,
    }  # fmt: skip
    told = []
    answer = application(environ, lambda status, headers: told.append(status))
    body = b"".join(answer)
    answer.close()
    if not told[0].startswith("200"):
        sys.exit(f"{address}: {told[0]}")
    return body


class QueryCount:
    def __init__(self) -> None:
        self.count = 0

    def __call__(self, execute: object, *arguments: object) -> object:
        self.count += 1
        return execute(*arguments)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--requests", type=int, default=100, help="of each kind of page, after as many to warm up")
    given = asked.parse_args()
    office_load.fill()
    kinds: dict[str, list[tuple[str, str]]] = {}
    for page, address, cookie in office_load.schedule(7, 16 * given.requests):
        kinds.setdefault(page, []).append((address, cookie))
    pid = connection.connection.info.backend_pid
    print(f"{'page':<22}{'worker ms':>11}{'database ms':>13}{'queries':>9}{'kB':>7}")
    for page, found in sorted(kinds.items()):
        for one in found[: given.requests]:
            ask(*one)
        worker, counted, sizes, before = [], QueryCount(), [], backend_seconds(pid)
        timed = found[given.requests : 2 * given.requests]
        with connection.execute_wrapper(counted):
            for one in timed:
                began = time.process_time()
                sizes.append(len(ask(*one)))
                worker.append(time.process_time() - began)
        database = (backend_seconds(pid) - before) / len(timed)
        print(f"{page:<22}{1000 * median(worker):>11.1f}{1000 * database:>13.2f}{counted.count / len(timed):>9.1f}"
              f"{mean(sizes) / 1000:>7.0f}")  # fmt: skip


if __name__ == "__main__":
    main()
