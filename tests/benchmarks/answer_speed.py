"""How long one answer takes on many machines, and in which room the time goes.

Run from the top of the repository: ``python tests/benchmarks/answer_speed.py [machines ...]``. Seconds of processor
time on one core, the least of some runs, since other work on the machine only adds to it. Cold means that no heating
or cooling was solved before, warm that all was; both as the house answers, with the collector of reference cycles at
rest. The split by room is that of the quickest of some cold runs with a watch on them. Told is what comes after it: the
answer put into the words of the command line, with every verdict on every candidate. A table, not a test.
"""

import gc
import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from datetime import date
from math import log
from pathlib import Path
from time import process_time

os.environ.setdefault("OMP_NUM_THREADS", "1")  # before numpy is imported
ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT))

from machines import heater_settings, recipe  # noqa: E402
from machines.machine import HeaterBank, Machine  # noqa: E402
from materials import cooling  # noqa: E402
from quoting import answering, choosing  # noqa: E402
from quoting.catalog import Catalog  # noqa: E402
from quoting.contract import to_contract  # noqa: E402
from quoting.intake.catalog_file import read_materials, read_plants, read_rates  # noqa: E402
from quoting.intake.json_text import parse_json  # noqa: E402
from quoting.intake.reading import read_inquiry  # noqa: E402
from quoting.intake.reading_result import Reading  # noqa: E402
from quoting.quotes.collecting import collector_at_rest  # noqa: E402
from quoting.routing import candidates as proposing  # noqa: E402
from quoting.routing import plan, wall_plan  # noqa: E402

ON = date(2026, 11, 25)
MACHINES = (10, 30, 100, 300)
RUNS = 3
# (module, name as it is looked up there, stage): what is inside a stage is not counted twice.
STAGES = (
    (plan, "heatings", "heating"),
    (plan, "coolings", "cooling"),
    (answering, "proposals", "routing"),
    (answering, "laid_out", "routing"),
    (answering, "planned", "planning"),
    (answering, "judged", "judging"),
    (answering.EarlyRules, "of_proposals", "judging"),
    (answering.EarlyRules, "of_blanks", "judging"),
    (choosing, "landed_cost", "costing"),
    (answering, "forming_study", "study"),
    (answering, "cost_range", "range"),
    (answering, "price_advice", "advice"),
)
COLUMNS = ("heating", "cooling", "routing", "planning", "judging", "costing", "study", "range", "advice", "choice")


def _read(path: str) -> object:
    return parse_json((ROOT / "fixtures" / path).read_text(encoding="utf-8-sig"))


def catalog_of(count: int) -> Catalog:
    """The demo plants with so many machines, each a demo machine altered a little and always in the same way."""
    plants, machines = read_plants(_read("demo/plants.json"))
    polymers, offers = read_materials(_read("demo/materials.json"))
    many = tuple(_altered(machines[number % len(machines)], number) for number in range(count))
    return Catalog(plants, many, polymers, offers, read_rates(json.loads(_text("reference/rates.json")), ON))


def _text(path: str) -> str:
    return (ROOT / "fixtures" / path).read_text(encoding="utf-8")


def _altered(machine: Machine, number: int) -> Machine:
    """Another size, another oven and another code."""
    size, heat = 1 + 0.002 * (number % 37), number % 101
    upper, lower = (_hotter(bank, heat, size) for bank in (machine.oven.upper, machine.oven.lower))
    changed = replace(machine.oven, upper=upper, lower=lower, clearance_below=machine.oven.clearance_below * size)
    return replace(
        machine,
        code=f"{machine.code}-{number:03d}",
        oven=changed,
        largest_opening_length=machine.largest_opening_length * size,
        largest_opening_width=machine.largest_opening_width * size,
        tool_film_coefficient=machine.tool_film_coefficient * (1 + 0.0007 * number),
        index_time=machine.index_time * size,
    )


def _hotter(bank: HeaterBank, kelvin: float, size: float) -> HeaterBank:
    return replace(
        bank,
        highest_temperature=bank.highest_temperature + 0.25 * kelvin,
        heated_length=bank.heated_length * size,
        heated_width=bank.heated_width * size,
    )


def reading_of(catalog: Catalog) -> Reading:
    """The first inquiry of the demo, open to every polymer."""
    raw = _read("demo/inquiries/01-equipment-cover.json")
    raw["material"]["polymers"] = []
    names = tuple(polymer.name for polymer in catalog.polymers)
    return read_inquiry(raw, on=ON, polymer_names=names, base_dir=ROOT)


def forget() -> None:
    """Empty what heating and cooling remember."""
    for module in (heater_settings, recipe, cooling):
        module._known.clear()
    wall_plan._shares.cache_clear()


class Watch:
    """Seconds by stage; a stage within another one stops the outer one."""

    def __init__(self) -> None:
        self.spent = dict.fromkeys(COLUMNS, 0.0)
        self._open: list[list[float]] = []

    def on(self, stage: str, function: Callable) -> Callable:
        def timed(*args: object, **named: object) -> object:
            started, inner = process_time(), [0.0]
            self._open.append(inner)
            try:
                return function(*args, **named)
            finally:
                took = process_time() - started
                self._open.pop()
                self.spent[stage] += took - inner[0]
                if self._open:
                    self._open[-1][0] += took

        return timed


@contextmanager
def watched(watch: Watch) -> Iterator[None]:
    plain = [(module, name, getattr(module, name)) for module, name, _ in STAGES]
    for (module, name, stage), (_, _, function) in zip(STAGES, plain, strict=True):
        setattr(module, name, watch.on(stage, function))
    try:
        yield
    finally:
        for module, name, function in plain:
            setattr(module, name, function)


def measured(count: int) -> dict[str, float]:
    """One row of the table. Seconds."""
    catalog = catalog_of(count)
    reading = reading_of(catalog)
    groups = proposing.candidates(reading.request, catalog, ON)
    cold = min(_cold_seconds(reading, catalog) for _ in range(RUNS))
    warm = min(_seconds(reading, catalog) for _ in range(RUNS))
    told = min(_telling(reading, catalog) for _ in range(RUNS))
    total, spent = min((_watched_seconds(reading, catalog) for _ in range(RUNS)), key=lambda run: run[0])
    stages = spent | {"choice": total - sum(spent.values())}
    counts = {"groups": len(groups), "layouts": sum(map(len, groups))}
    return counts | {"cold": cold, "warm": warm} | stages | {"told": told}


def _telling(reading: Reading, catalog: Catalog) -> float:
    """Seconds from an answer to its words."""
    answer = answering.answered(reading, catalog, ON)
    gc.collect()
    with collector_at_rest():
        started = process_time()
        to_contract(answer)
        return process_time() - started


def _watched_seconds(reading: Reading, catalog: Catalog) -> tuple[float, dict[str, float]]:
    """Seconds of a cold run, and where they went."""
    watch = Watch()
    with watched(watch):
        return _cold_seconds(reading, catalog), watch.spent


def _cold_seconds(reading: Reading, catalog: Catalog) -> float:
    forget()
    return _seconds(reading, catalog)


def _seconds(reading: Reading, catalog: Catalog) -> float:
    gc.collect()  # what earlier runs left is no part of it
    with collector_at_rest():
        started = process_time()
        answering.answered(reading, catalog, ON)
        return process_time() - started


def main(counts: tuple[int, ...]) -> None:
    _seconds(reading_of(first := catalog_of(1)), first)  # imports and first calls are no part of it
    _print("all three processes on every machine in every polymer, as inquiries are answered:")
    _table(counts)
    proposing.PROCESSES = ("vacuum",)
    _print("vacuum forming alone, machines x polymers x cavities:")
    _table(counts)


def _table(counts: tuple[int, ...]) -> None:
    heads = ("machines", "groups", "layouts", "cold", "warm", *COLUMNS, "told")
    _print("".join(f"{head:>12}" for head in heads))
    colds = []
    for count in counts:
        row = measured(count)
        colds.append(row["cold"])
        figures = (f"{row[head]:12d}" if head in ("groups", "layouts") else f"{row[head]:12.3f}" for head in heads[1:])
        _print(f"{count:12d}" + "".join(figures))
    if len(counts) > 1:
        growth = log(colds[-1] / colds[0]) / log(counts[-1] / counts[0])
        _print(f"cold time grows as machines to the power of {growth:.2f}, from {counts[0]} to {counts[-1]}")


def _print(line: str) -> None:
    sys.stdout.write(line + "\n")


if __name__ == "__main__":
    main(tuple(map(int, sys.argv[1:])) or MACHINES)
