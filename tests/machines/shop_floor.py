"""Invented balancing problems of any size, always the same for the same seed."""

from decimal import Decimal

import numpy as np

from machines.movable import Job, Option, Problem, Transport, machine_down

HOURS, OVERTIME, PLANTS = 75.0, 10.0, 4  # h a week; count


def some_problem(
    jobs: int, machines: int, weeks: int, seed: int = 1, fill: float = 0.8, down: int = 3, won: float = 0.05
) -> Problem:
    """A shop whose work was promised in time when it was booked; then machines break down and quotes are won.

    Each job was put on the one of its machines where it was through first, and promised that week or up to two later.
    Then ``down`` machines stand for two weeks each, and a share ``won`` of the jobs has yet to find its place.
    """
    generator = np.random.default_rng(seed)
    names = tuple(f"M{number:02}" for number in range(machines))
    plants = tuple(f"P{number % PLANTS}" for number in range(machines))
    free = np.full((machines, weeks), HOURS)
    mean = fill * free.sum() / jobs
    made, transports = [], []
    for number in range(jobs):
        offered = generator.choice(machines, min(machines, int(generator.integers(3, 8))), replace=False)
        base, release = generator.uniform(0.4, 1.6) * mean, int(weeks * generator.random() ** 1.5 * 0.8)
        hours = {int(row): float(np.round(base * generator.uniform(0.9, 1.2), 1)) for row in offered}
        through = {row: _through(free[row], release, need) for row, need in hours.items()}
        if min(through.values()) >= weeks:
            continue  # the shop was full
        row = min(through, key=lambda each: (through[each], each))
        _take(free[row], release, hours[row])
        due = min(weeks - 1, through[row] + int(generator.integers(0, 3)))
        new, locked = generator.random() < won, generator.random() < 0.1
        made.append(Job(
            f"J{number:03}", _options(hours, None if new else row, names, plants, generator),
            None if new else names[row], release, due, tool=f"T{number}", locked=bool(locked and not new),
        ))  # fmt: skip
        transports += [
            Transport(f"T{number}", plant, Decimal(0 if new or plant == plants[row] else 1200))
            for plant in sorted(set(plants))
        ]
    problem = Problem(names, plants, np.full((machines, weeks), HOURS), np.full((machines, weeks), OVERTIME),
                      tuple(made), tuple(transports))  # fmt: skip
    for machine in generator.choice(machines, min(down, machines - 1), replace=False):
        problem = machine_down(problem, names[machine], int(generator.integers(0, weeks // 3 + 1)), 2)
    return problem


def _options(
    hours: dict[int, float], current: int | None, names: tuple, plants: tuple, generator: np.random.Generator
) -> tuple[Option, ...]:
    found = []
    for row in sorted(hours):
        away = current is not None and row != current
        freight = int(generator.integers(100, 1500)) if away and plants[row] != plants[current] else 0
        found.append(Option(names[row], hours[row], Decimal(300 + freight if away else 0)))
    return tuple(found)


def _through(free: np.ndarray, release: int, hours: float) -> int:
    reached = np.cumsum(free[release:])
    return release + int(np.searchsorted(reached, hours - 1e-9))


def _take(free: np.ndarray, release: int, hours: float) -> None:
    for week in range(release, len(free)):
        taken = min(hours, free[week])
        free[week] -= taken
        hours -= taken
