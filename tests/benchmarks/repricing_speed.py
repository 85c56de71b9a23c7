"""How fast an open book is re-priced under new rates, against answering it one inquiry at a time.

Run from the top of the repository: ``python tests/benchmarks/repricing_speed.py [quotes ...]`` (100 1000 10000). It
fills an empty database: a new SQLite file in a folder that is thrown away, or the empty one of ``DATABASE_URL``.

The book: the nine demo inquiries that get a quote, in equal numbers. Each is varied 10 times (sides and depth by up to
8 %, the polymers asked for left out for every fourth so that any will do) and answered by the core; variations that are
no quote are dropped. Each of those is then asked for again with other releases (60 to 140 % of its own) until the book
is full: every inquiry differs from every other in size or releases, while physics is solved some ninety times instead
of ten thousand. What such a copy is said to have been quoted at are the prices of its original. Stored answers are not
written, since re-pricing reads the basis beside them.

New rates: sheet 10 % dearer, margin, overhead and part loads dearer. Two processes of the real engine work on the real
database. One at a time: ``answered`` as for the estimator, with all physics remembered, on a sample of the same book
under the same rates; its prices are compared with those of the run, to the cent. A table, not a test.
"""

import os
import subprocess
import sys
import tempfile
import time
from dataclasses import replace
from datetime import date
from decimal import Decimal
from itertools import cycle, islice
from pathlib import Path
from random import Random

os.environ.setdefault("OMP_NUM_THREADS", "1")  # before numpy is imported
ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))
FOLDER = tempfile.TemporaryDirectory()
os.environ["DATA_DIR"] = FOLDER.name
os.environ["BACKGROUND"] = "workers"  # two that were started before, on either database
os.environ["DJANGO_SETTINGS_MODULE"] = "quoting.settings"

import django  # noqa: E402

django.setup()

from django.conf import settings  # noqa: E402
from django.contrib.auth import get_user_model  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.utils import timezone  # noqa: E402

from materials.models import PriceTier  # noqa: E402
from quoting.answering import answered, judged_groups  # noqa: E402
from quoting.intake.json_text import parse_json  # noqa: E402
from quoting.intake.reading import read_inquiry  # noqa: E402
from quoting.quotes import policies, repricing, selectors, services, stock  # noqa: E402
from quoting.quotes.bases import physics_of, plain_priced  # noqa: E402
from quoting.quotes.models import AnswerBasis, Inquiry, RateRow, RepricingResult  # noqa: E402
from quoting.quotes.workers import living  # noqa: E402
from quoting.repricing.basis import Basis, basis_of, to_text  # noqa: E402
from quoting.repricing.choice import House  # noqa: E402
from quoting.repricing.repriced import Priced, priced_by_basis  # noqa: E402

ON, LATER = date(2026, 11, 25), date(2026, 12, 1)
BOOKS = (100, 1_000, 10_000)
VARIED, SAMPLE, WORKERS = 10, 18, 2
MORE_MONEY = {"price.margin": "0.14", "price.overhead": "0.12", "freight.ltl_base": "45"}


def quotable() -> list[dict]:
    folder = ROOT / "fixtures" / "demo" / "inquiries"
    return [parse_json(path.read_text(encoding="utf-8-sig")) for path in sorted(folder.glob("0*.json"))]


def scaled(length: object, share: float) -> str:
    """A typed length such as '4 ft 6 in', by a factor, in millimetres."""
    from quoting import units

    return f"{1000 * share * units.read(length, 'length'):.2f} mm"


def varied(raw: dict, number: int, chance: Random) -> dict:
    part = dict(raw["part"])
    for side in ("length", "width", "depth"):
        part[side] = scaled(part[side], chance.uniform(0.92, 1.08)) if number else part[side]
    part.pop("surface_area", None)
    part.pop("trim_length", None)
    material = dict(raw["material"])
    if number % 4 == 3:
        material["polymers"] = []
    return raw | {"part": part, "material": material}


def other_releases(releases: tuple[int, ...], chance: Random) -> tuple[int, ...]:
    share = chance.uniform(0.6, 1.4)
    return tuple(round(share * one) for one in releases)


def answered_once(house: House) -> list[tuple[dict, Basis, Priced]]:
    """Raw inquiry, basis and price of every variation that gets a quote, the nine taking turns."""
    names, chance, found = tuple(one.name for one in house.catalog.polymers), Random(1), []
    for number in range(VARIED):
        for raw in quotable():
            one = varied(raw, number, chance)
            reading = read_inquiry(one, on=ON, polymer_names=names, base_dir=ROOT)
            basis = basis_of(reading.request, judged_groups(reading.request, house.catalog, ON))
            if basis.groups:
                found.append((one, basis, priced_by_basis(basis, house)))
    return found


def fill(count: int, by: object) -> None:
    house = House.of(selectors.catalog(ON), ON)
    physics, chance, at = physics_of(house.catalog, ON), Random(2), timezone.now()
    known = answered_once(house)
    say(f"{len(known)} inquiries answered; the book of {count:,} is filled from them with other releases")
    inquiries, bases = [], []
    for number, (raw, basis, priced) in enumerate(islice(cycle(known), count), start=1):
        releases = other_releases(basis.request.releases, chance)
        asked = replace(basis, request=replace(basis.request, releases=releases))
        was = (replace(one, quantity=quantity) for one, quantity in zip(priced.releases, releases, strict=True))
        quoted = plain_priced(replace(priced, releases=tuple(was)))
        typed = raw | {"quantities": dict(raw["quantities"]) | {"releases": list(releases)}}
        inquiry = Inquiry(
            number=f"I-2026-{number:05d}", typed=typed, state="answered", decision="quote", created_by=by,
            created_at=at, data_digest=f"{number:064d}", answered_at=at, answered_on=ON,
        )  # fmt: skip
        inquiries.append(inquiry)
        bases.append(
            AnswerBasis(
                inquiry=inquiry, answer=inquiry.data_digest, quoted=quoted, physics=physics, candidates=to_text(asked)
            )
        )
    Inquiry.objects.bulk_create(inquiries, batch_size=500)
    AnswerBasis.objects.bulk_create(bases, batch_size=500)


def raise_rates() -> None:
    for key, value in MORE_MONEY.items():
        RateRow.objects.update_or_create(key=key, valid_from=LATER, defaults={"value": value, "source": "benchmark"})
    for tier in PriceTier.objects.all():
        tier.price_per_pound = (tier.price_per_pound * Decimal("1.1")).quantize(Decimal("0.0001"))
        tier.save()


def repriced(count: int, by: object) -> tuple[object, float]:
    """A run over the first so many inquiries; the run and its seconds, from asking for it until it is done."""
    last = Inquiry.objects.order_by("pk")[count - 1].pk
    Inquiry.objects.filter(pk__lte=last).update(state="answered")
    Inquiry.objects.filter(pk__gt=last).update(state="lost")
    begin = time.perf_counter()
    run = repricing.run_start(on=LATER, by=by)
    while run.going:
        time.sleep(0.1)
        run.refresh_from_db()
    if run.state != "done":
        raise SystemExit(f"the run ended as {run.state}: {run.reason}")
    return run, time.perf_counter() - begin


def one_at_a_time(run: object) -> tuple[float, float, int, int]:
    """Seconds by the clock and of the processor for each full answer of a sample; how many differ, of how many."""
    catalog = selectors.catalog(LATER)
    names = tuple(one.name for one in catalog.polymers)
    rows = list(RepricingResult.objects.filter(run=run).select_related("inquiry").order_by("pk"))
    sample = rows[:: max(1, len(rows) // SAMPLE)][:SAMPLE]
    clock, alone, different = 0.0, 0.0, 0
    for row in sample:
        reading = read_inquiry(row.inquiry.typed, on=LATER, polymer_names=names, base_dir=ROOT)
        answered(reading, catalog, LATER)  # so that its physics is remembered
        begin, began = time.perf_counter(), time.process_time()
        answer = answered(reading, catalog, LATER)
        clock, alone = clock + time.perf_counter() - begin, alone + time.process_time() - began
        breaks = [str(one.landed_unit_price) for one in answer.chosen.cost.breaks]
        different += breaks != [one["landed"] for one in row.now["releases"]]
    return clock / len(sample), alone / len(sample), different, len(sample)


def say(line: str) -> None:
    print(line, flush=True)


def main(books: tuple[int, ...]) -> None:
    call_command("migrate", verbosity=0)
    if Inquiry.objects.exists():
        raise SystemExit("this database holds inquiries; name an empty one in DATABASE_URL")
    services.catalog_ensure()
    manager = get_user_model().objects.create_user("manager")
    manager.groups.add(stock.ensure_groups()[policies.MANAGER])
    engine = settings.DATABASES["default"]["ENGINE"].rpartition(".")[2]
    say(f"{engine}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, {WORKERS} workers")
    fill(max(books), manager)
    raise_rates()
    others = [subprocess.Popen([sys.executable, "manage.py", "work"], cwd=ROOT) for _ in range(WORKERS)]  # noqa: S603
    while living().count() < WORKERS:
        time.sleep(0.1)
    try:
        table(books, manager, [process.pid for process in others])
    finally:
        for process in others:
            process.terminate()
            process.wait()


def processor_seconds(processes: list[int]) -> float:
    """What the workers have taken of the processor so far; other work on the machine does not add to it."""
    ticks = 0
    for process in processes:
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        ticks += int(fields[11]) + int(fields[12])  # proc(5): utime and stime
    return ticks / os.sysconf("SC_CLK_TCK")


def table(books: tuple[int, ...], manager: object, workers: list[int]) -> None:
    """Seconds by the clock and of the processor, on both workers together; one by one in both too."""
    say(
        "  quotes  clock s  quotes/s  one by one/s  times    cpu s  cpu ms each  one by one ms  by basis  differ   load"
    )
    for count in books:
        before = processor_seconds(workers)
        run, whole = repriced(count, manager)
        cpu = processor_seconds(workers) - before
        clock, alone, different, sample = one_at_a_time(run)
        by_basis = run.results.filter(by_basis=True).count()
        pace, load = count / whole, os.getloadavg()[0]
        each = 1000 * cpu / count
        say(
            f"{count:>8,} {whole:>8.1f} {pace:>9.1f} {1 / clock:>13.2f} {pace * clock:>6.0f} {cpu:>8.1f}"
            f" {each:>12.2f} {1000 * alone:>14.1f} {by_basis:>9,} {different:>2} / {sample:<2} {load:>6.1f}"
        )


if __name__ == "__main__":
    main(tuple(int(one) for one in sys.argv[1:]) or BOOKS)
