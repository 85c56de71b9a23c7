"""How long the board's pages take from the database: 60 formers, 52 weeks, 20,000 bookings, with a record of quotes.

python -m tests.benchmarks.board_page_speed

Fills a database of its own, of which nothing stays. 20,000 bookings are those of 5,000 jobs of four weeks; of the jobs
40 % are quoted and sent, and 1,500 more quotes were won or lost in two years. Hours of routers, benches and tool rooms
stand beside those of each job. Prints the processor time of a request with its middleware, its queries and its size:
the first one after a start, the median of seven where nothing was kept, of seven where a booking changed before each,
and of seven where nothing changed. What every first request of a process loads, whatever its page, is told apart.
"""

import os

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[threads] = "1"

from datetime import UTC, datetime, timedelta
from statistics import median
from time import perf_counter, process_time

from tests.benchmarks.throwaway import throwaway_office

MACHINES, WEEKS, JOBS, DECIDED, WEEKS_OF_JOB = 60, 52, 5_000, 1_500, 4
PAGES = (
    "/loading/?weeks=52", "/loading/", "/loading/?weeks=52&open=all", "/loading/?weeks=52&text=part+12",
    "/loading/?weeks=52&over=on", "/loading/chances/", "/loading/plants/", "/loading/meeting/",
    "/loading/board.csv?weeks=52", "/loading/board.xlsx?weeks=52",
)  # fmt: skip
LIMIT = 0.3  # s, of the whole board, as asked for


def fill(world: object) -> None:
    """Machines cloned to sixty, their bookings, the jobs and quotes these come from."""
    import numpy as np

    from machines.models import Booking, Machine
    from quoting.planning.models import QUOTED, WON, BenchHours, Job
    from quoting.quotes import models
    from quoting.quotes.bookings import monday
    from quoting.quotes.records import today

    random, on, person = np.random.default_rng(1), today(), world.people["estimator"]
    stock = list(Machine.objects.select_related("plant"))
    for number in range(MACHINES - len(stock)):
        clone = Machine.objects.get(pk=stock[number % len(stock)].pk)
        clone.pk, clone.code = None, f"{clone.code}-{number}"
        clone.save()
    machines, first = list(Machine.objects.select_related("plant")), monday(on)
    customers = models.Customer.objects.bulk_create(
        models.Customer(company=f"Company {number}", contact="Buyer", email=f"b{number}@c.example")
        for number in range(300)
    )
    total, at = JOBS + DECIDED, datetime.now(UTC)
    is_open = [number < JOBS and number % 5 < 2 for number in range(total)]
    state = [
        models.SENT if is_open[number] else models.LOST if number >= JOBS and number % 3 else models.WON
        for number in range(total)
    ]
    inquiries = models.Inquiry.objects.bulk_create(
        models.Inquiry(
            number=f"B-{number}", customer=customers[number % 300], typed={"part": {"name": f"part {number}"}},
            state=state[number], created_by=person, created_at=at - timedelta(days=30 + number % 600),
        )
        for number in range(total)
    )  # fmt: skip
    quotes = models.Quote.objects.bulk_create(
        models.Quote(
            number=f"BQ-{number}", inquiry=one, kind=models.QUOTE, snapshot={}, digest="0", pdf=b"", pdf_digest="0",
            issued_by=person, issued_at=one.created_at, valid_until=on,
        )
        for number, one in enumerate(inquiries)
    )  # fmt: skip
    models.AuditEntry.objects.bulk_create(
        models.AuditEntry(
            at=one.created_at + timedelta(days=2 + number % 9), by=person, action=action, inquiry=one, quote=quote
        )
        for number, (one, quote) in enumerate(zip(inquiries, quotes, strict=True))
        for action in (
            "quote_send",
            *(() if is_open[number] else ("quote_won",) if state[number] == models.WON else ("quote_lost",)),
        )
    )
    homes = random.integers(0, MACHINES, total)
    jobs = Job.objects.bulk_create(
        Job(
            quote=f"BQ-{number}", part=f"part {number}", customer=f"Company {number % 300}",
            state=QUOTED if is_open[number] else WON if number < JOBS else "gone", machine=machines[homes[number]],
            process="vacuum", polymer="ABS", quantity=100, hours=40, tool=f"T-{number}", since=on, ready=on,
            due=on + timedelta(days=int(random.integers(7, 360))), value=int(random.integers(5_000, 200_000)),
            margin=0.2,
        )
        for number in range(total)
    )  # fmt: skip
    starts, hours = random.integers(0, WEEKS - WEEKS_OF_JOB + 1, JOBS), random.uniform(1, 12, (JOBS, WEEKS_OF_JOB))
    Booking.objects.bulk_create(
        Booking(
            machine=machines[homes[number]], week=first + timedelta(weeks=int(starts[number]) + week),
            hours=hours[number, week], firm=not is_open[number], label=f"BQ-{number} part {number}",
            quote=f"BQ-{number}",
        )
        for number in range(JOBS) for week in range(WEEKS_OF_JOB)
    )  # fmt: skip
    BenchHours.objects.bulk_create(
        BenchHours(
            job=jobs[number], plant=jobs[number].machine.plant, kind=kind, hours=2,
            code=jobs[number].machine.plant.trimmers.first().code if kind == "router" and number < 500 else "",
            week=first + timedelta(weeks=int(starts[number])),
        )
        for number in range(500) for kind in ("router", "assembly", "tool_room")
    )  # fmt: skip


def measured(client: object, address: str) -> tuple[float, float, int, int]:
    """Processor and clock time of one request [s], its queries, its bytes."""
    from django.db import connection
    from django.test.utils import CaptureQueriesContext

    with CaptureQueriesContext(connection) as queries:
        begin, clock = process_time(), perf_counter()
        answer = client.get(address)
        took = process_time() - begin, perf_counter() - clock
    if answer.status_code != 200:
        raise SystemExit(f"{address}: {answer.status_code}")
    return *took, len(queries), len(answer.content)


def nothing_kept() -> None:
    from machines.calendar import _shift_hours
    from quoting.quotes import kept_figures, selectors

    kept_figures.kept.values.clear()
    selectors.counts_kept.values.clear()
    _shift_hours.cache_clear()


def a_booking_changed() -> None:
    from machines.models import Booking

    one = Booking.objects.order_by("?").first()
    Booking.objects.filter(pk=one.pk).update(hours=one.hours + 0.01)


def main() -> None:
    from django.db import connection

    with throwaway_office() as world:
        fill(world)
        if connection.vendor == "postgresql":  # as its own housekeeping does after so many new rows
            connection.cursor().execute("ANALYZE")
        client = world.client("manager")
        began = process_time()
        client.get("/account/")
        print(f"what every first request of a process loads: {1e3 * (process_time() - began):.0f} ms")
        ways = {"nothing kept": nothing_kept, "changed": a_booking_changed, "again": lambda: None}
        print(f"{'page':<36} {'first':>6} {'nothing kept':>13} {'changed':>8} {'again':>6} {'clock':>6} {'queries':>8} "
              f"{'kB':>6}   [ms of processor; clock: the slowest of the three]")  # fmt: skip
        for address in PAGES:
            first = measured(client, address)
            took, slowest = {}, 0.0
            for name, before in ways.items():
                runs = []
                for _ in range(7):
                    before()
                    runs.append(measured(client, address))
                took[name], clock = median(one[0] for one in runs), median(one[1] for one in runs)
                slowest = max(slowest, clock)
            over = f"  above {1e3 * LIMIT:.0f}" if max(first[0], *took.values()) > LIMIT else ""
            print(f"{address:<36} {1e3 * first[0]:>6.0f} {1e3 * took['nothing kept']:>13.0f} "
                  f"{1e3 * took['changed']:>8.0f} {1e3 * took['again']:>6.0f} {1e3 * slowest:>6.0f} {first[2]:>8} "
                  f"{first[3] / 1e3:>6.0f}{over}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
