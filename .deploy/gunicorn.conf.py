"""How the app is served behind the proxy: gunicorn -c .deploy/gunicorn.conf.py quoting.wsgi"""

import os
import shutil
from pathlib import Path

bind = os.environ.get("BIND", "127.0.0.1:8000")
# As measured by `tests/benchmarks/office_load.py`, which uses this file: on two cores, the database on the same two.
workers = int(os.environ.get("WEB_WORKERS", "3"))  # cores + 1
threads = 4  # for each an open connection of the database (CONN_MAX_AGE in the settings)
timeout = 120  # s; an answer over hundreds of candidates takes some seconds on a busy machine
graceful_timeout = 60
keepalive = 30
# A leak in a library never grows old; seldom, since a fresh worker takes seconds to load and writes its pages anew.
max_requests, max_requests_jitter = 50_000, 10_000
control_socket_disable = True
forwarded_allow_ips = "127.0.0.1"  # believe the proxy alone
worker_tmp_dir = "/dev/shm"  # noqa: S108 - in memory: the heartbeat must not wait for a disk
accesslog = None  # the app writes one line a request, without secrets


def on_starting(server):
    """Figures of processes that are gone would be added up with those of the new ones."""
    folder = os.environ.get("PROMETHEUS_MULTIPROC_DIR")
    if folder:
        shutil.rmtree(folder, ignore_errors=True)
        Path(folder).mkdir(parents=True)


def child_exit(server, worker):
    from prometheus_client import multiprocess

    if os.environ.get("PROMETHEUS_MULTIPROC_DIR"):
        multiprocess.mark_process_dead(worker.pid)
