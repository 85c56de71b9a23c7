"""What the benchmarks of issuing share: a throw-away PostgreSQL, a small office full of answered inquiries, the count.

Answering and reading the catalog are replaced by stored values, since numbers, locks and commits are what is measured.
The document is a small real PDF, or the given bytes with its number in them.
"""

import os
import signal
import subprocess
import tempfile
import time
from hashlib import sha256
from pathlib import Path
from types import SimpleNamespace

ROOT = Path(__file__).resolve().parent.parent.parent


class Cluster:
    """A PostgreSQL of its own with fsync and synchronous commit on, which may be killed and started again."""

    def __init__(self, port: int):
        self.folder, self.port = Path(tempfile.mkdtemp()), port
        self.bin = sorted(Path("/usr/lib/postgresql").glob("*/bin"))[-1]
        self.folder.chmod(0o755)
        if os.getuid() == 0:
            subprocess.run(["chown", "postgres", self.folder], check=True)
        self._run(self.bin / "initdb", "-D", self.folder / "data", "-A", "trust", "-U", "tester", "-E", "UTF8")
        self.url = f"postgresql://tester@127.0.0.1:{port}/postgres"

    def _run(self, *command: object) -> None:
        owner = ["runuser", "-u", "postgres", "--"] if os.getuid() == 0 else []
        subprocess.run([*owner, *map(str, command)], check=True, stdout=subprocess.DEVNULL)

    def start(self) -> None:
        options = f"-p {self.port} -c listen_addresses=127.0.0.1 -c unix_socket_directories={self.folder} "
        options += "-c max_connections=80"
        data, log = self.folder / "data", self.folder / "log"
        for _ in range(30):
            try:
                self._run(self.bin / "pg_ctl", "-D", data, "-w", "-t", "120", "-l", log, "-o", options, "start")
            except subprocess.CalledProcessError:
                time.sleep(1)  # children of the killed server still hold its shared memory
            else:
                return
        raise RuntimeError(f"the server does not start; see {log}")

    def kill(self) -> None:
        """SIGKILL to the server itself; its children notice and end."""
        os.kill(int((self.folder / "data" / "postmaster.pid").read_text().split()[0]), signal.SIGKILL)
        time.sleep(1)

    def stop(self) -> None:
        self._run(self.bin / "pg_ctl", "-D", self.folder / "data", "-m", "immediate", "stop")


def django_on(database: str, folder: Path) -> None:
    """Set Django up on that database; before anything of ours is imported."""
    os.environ["DATA_DIR"] = str(folder)
    if database:  # then the settings want what a server has
        os.environ["DATABASE_URL"] = database
        os.environ.setdefault("SECRET_KEY", "of a throw-away database, for nobody" * 2)
        os.environ.setdefault("ALLOWED_HOSTS", "testserver,127.0.0.1")
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "quoting.settings")
    import django

    django.setup()


def stand_in(pdf: str) -> None:
    """Replace answering and the catalog by stored values, and the document by a smaller one."""
    from quoting.documents.pdf import render_pdf
    from quoting.quotes import selectors, steps
    from tests.quoting.quotes.conftest import PRICE

    def small(snapshot: dict, *, number: str, **told: object) -> bytes:
        return render_pdf(
            f'<html lang="en"><title>{number}</title><body><p>{number} {told["digest"]}</p></body></html>'
        )

    def stub(snapshot: dict, *, number: str, **told: object) -> bytes:
        return f"%PDF {number} {told['digest']}".encode()

    steps.render_quote = {"small": small, "stub": stub}[pdf]
    steps.catalog_digest = lambda catalog: "catalog"
    steps.master_data.keep = lambda digest, catalog: None
    selectors.catalog = lambda on: "catalog"
    selectors.rates = lambda on: SimpleNamespace(price=PRICE)


def fill(count: int) -> list[int]:
    """People, a machine, and so many answered inquiries; their keys."""
    from django.contrib.auth import get_user_model
    from django.core.management import call_command

    from quoting.contract import digest
    from quoting.quotes.models import ANSWERED, Inquiry
    from quoting.quotes.policies import ESTIMATOR, REP
    from quoting.quotes.records import now, today
    from quoting.quotes.stock import ensure_groups
    from tests.quoting.quotes.conftest import TYPED, make_machine, stored_answer

    call_command("migrate", verbosity=0)
    groups = ensure_groups()
    users = get_user_model().objects
    for name, group in (("rep", REP), ("estimator", ESTIMATOR)):
        users.create(username=name).groups.add(groups[group])
    make_machine()
    snapshot = stored_answer()
    rows = [
        Inquiry(
            number=f"I-{place:06d}", typed=TYPED, state=ANSWERED, created_by=users.get(username="rep"),
            created_at=now(), snapshot=snapshot, decision="quote", data_digest=digest(snapshot),
            catalog_digest="catalog", answered_on=today(), answered_at=now(),
        )
        for place in range(count)
    ]  # fmt: skip
    Inquiry.objects.bulk_create(rows)
    return list(Inquiry.objects.order_by("pk").values_list("pk", flat=True))


def counted(confirmed: set[str]) -> dict[str, int]:
    """Gaps, doubles, lost and half ones among the issued quotes; ``confirmed`` were reported as issued."""
    from quoting.quotes.models import APPROVED, Inquiry, Quote

    numbers = list(Quote.objects.values_list("number", flat=True))
    last = max((int(number.rpartition("-")[2]) for number in numbers), default=0)
    half = 0
    for quote in Quote.objects.select_related("inquiry").iterator(chunk_size=100):
        whole = quote.inquiry.state == APPROVED and quote.is_intact() and quote.number.encode() in _text(quote)
        half += not (whole and quote.audit.count() == 1 and quote.inquiry.reviews.count() == 1)
    return {
        "issued": len(numbers),
        "gaps": last - len(set(numbers)),
        "doubles": len(numbers) - len(set(numbers)),
        "lost": len(confirmed - set(numbers)),
        "half": half + Inquiry.objects.filter(state=APPROVED, quotes=None).count(),
    }


def _text(quote: object) -> bytes:
    """The bytes that must name the number; of a real PDF its title."""
    pdf = bytes(quote.pdf)
    if sha256(pdf).hexdigest() != quote.pdf_digest:
        return b""
    if not pdf.startswith(b"%PDF-"):
        return pdf
    import io

    from pypdf import PdfReader

    return str(PdfReader(io.BytesIO(pdf)).metadata.title).encode()
