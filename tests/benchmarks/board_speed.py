"""How long a loading board takes: hours of the calendar, bookings summed, clashes found.

python -m tests.benchmarks.board_speed
"""

import os

for threads in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ[threads] = "1"

from datetime import date, datetime, time, timedelta
from time import perf_counter
from zoneinfo import ZoneInfo

import numpy as np

from machines.board import Resource, board
from machines.calendar import Shift, Window, WorkCalendar, _shift_hours, hours_by_week
from machines.clashes import clashes
from machines.loads import Load, Loads

MONDAY, ZONE = date(2026, 6, 1), ZoneInfo("America/Chicago")
SIZES = ((15, 26, 2_000), (60, 52, 20_000), (60, 104, 80_000), (240, 52, 80_000))


def some_calendar(plant: int, machines: int, weeks: int, generator: np.random.Generator) -> WorkCalendar:
    days = (0, 1, 2, 3, 4)
    shifts = (Shift(days, time(6), 8, 0.5), Shift(days, time(14), 8, 0.5), Shift(days, time(22), 8, 0.5))
    stands = []
    for machine in range(machines):
        for week in generator.choice(weeks, 4, replace=False):
            start = datetime.combine(MONDAY + timedelta(weeks=int(week), days=2), time(6), ZONE)
            stands.append(Window(f"P{plant}-M{machine}", start, start + timedelta(hours=12), "maintenance"))
    closed = tuple(MONDAY + timedelta(days=int(day)) for day in generator.choice(7 * weeks, 10, replace=False))
    return WorkCalendar(ZONE, shifts, closed, tuple(stands))


def measured(machines: int, weeks: int, bookings: int) -> tuple[float, float, float, float]:
    generator = np.random.default_rng(1)
    plants = 4
    each = machines // plants
    calendars = [some_calendar(plant, each, weeks, generator) for plant in range(plants)]
    rows = tuple(Resource(f"P{p}-M{m}", "forming", f"P{p}") for p in range(plants) for m in range(each))
    places, at = generator.integers(0, len(rows), bookings), generator.integers(0, weeks, bookings)
    hours, firm = generator.uniform(1, 12, bookings), generator.random(bookings) < 0.6
    loads = Loads.of(
        Load(rows[p].code, MONDAY + timedelta(weeks=int(w)), float(h), bool(f), f"job {n}", f"T{n % 3000}", f"Q{n}")
        for n, (p, w, h, f) in enumerate(zip(places, at, hours, firm, strict=True))
    )
    chances = {f"Q{n}": 0.3 for n in range(bookings)}
    _shift_hours.cache_clear()  # so that each run walks its calendars anew
    begin = perf_counter()
    available = np.array([hours_by_week(calendars[int(row.plant[1:])], row.code, MONDAY, weeks) for row in rows])
    calendar_done = perf_counter()
    found = board(rows, available, loads, chances, MONDAY)
    board_done = perf_counter()
    clashes(found, loads)
    return calendar_done - begin, board_done - calendar_done, perf_counter() - board_done, found.booked.sum()


if __name__ == "__main__":
    print(f"{'machines':>8} {'weeks':>6} {'bookings':>9} {'calendar':>9} {'board':>7} {'both':>7} {'clashes':>8}  [ms]")
    for size in SIZES:
        calendar, summed, clash, _ = min(measured(*size) for _ in range(3))
        both = calendar + summed
        print(f"{size[0]:>8} {size[1]:>6} {size[2]:>9} {1e3 * calendar:>9.0f} {1e3 * summed:>7.0f} {1e3 * both:>7.0f} "
              f"{1e3 * clash:>8.0f}")  # fmt: skip
