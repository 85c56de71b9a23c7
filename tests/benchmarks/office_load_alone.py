"""`office_load` in one go: a PostgreSQL of its own is made, filled, put under load and taken away again.

python -m tests.benchmarks.office_load_alone --minutes 10
"""

import os
import shutil
import subprocess
import sys
import tempfile

from tests.benchmarks.issuing import ROOT, Cluster

PORT = 54393


def main() -> None:
    cluster, files = Cluster(PORT), tempfile.mkdtemp()
    cluster.start()
    try:
        environment = os.environ | {"DATABASE_URL": cluster.url, "DATA_DIR": files}
        command = [sys.executable, "-m", "tests.benchmarks.office_load", *sys.argv[1:]]
        sys.exit(subprocess.run(command, env=environment, cwd=ROOT).returncode)
    finally:
        cluster.stop()
        shutil.rmtree(cluster.folder)
        shutil.rmtree(files)


if __name__ == "__main__":
    main()
