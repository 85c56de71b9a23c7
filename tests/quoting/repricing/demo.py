"""The demo house and its inquiries, with rates, prices, bookings and dates that a test changes."""

import json
from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from functools import cache
from pathlib import Path

from machines.board import resource_code
from machines.machine import Booking
from machines.runs import Factor
from quoting.answering import judged_groups
from quoting.catalog import CORRECTED, Catalog, Corrections, MeasureCorrection
from quoting.intake.catalog_file import read_materials, read_plants, read_rates
from quoting.intake.json_text import parse_json
from quoting.intake.part import PartRequest
from quoting.intake.reading import read_inquiry

ON = date(2026, 11, 25)
FIXTURES = Path(__file__).resolve().parents[3] / "fixtures"


def parsed(path: str) -> dict:
    return parse_json((FIXTURES / path).read_text(encoding="utf-8-sig"))


@cache
def house() -> Catalog:
    plants, machines = read_plants(parsed("demo/plants.json"))
    polymers, offers = read_materials(parsed("demo/materials.json"))
    return Catalog(plants, machines, polymers, offers, read_rates(parsed("reference/rates.json"), ON))


def with_rates(catalog: Catalog, **values: str) -> Catalog:
    """The catalog under a rate table in which some rows have other values; ``price__margin`` is price.margin."""
    table = json.loads((FIXTURES / "reference/rates.json").read_text(encoding="utf-8"))
    changed = {name.replace("__", "."): value for name, value in values.items()}
    assert changed.keys() <= {row["key"] for row in table["rates"]}
    for row in table["rates"]:
        row["value"] = changed.get(row["key"], row["value"])
    return replace(catalog, rates=read_rates(table, ON))


def with_resin(catalog: Catalog, factor: str, only: str = "") -> Catalog:
    """Every tier of every offer dearer by a factor; of one polymer alone where it is named."""
    by = Decimal(factor)

    def dearer(offer):
        if only and offer.polymer != only:
            return offer
        return replace(
            offer, tiers=tuple(replace(tier, price_per_pound=tier.price_per_pound * by) for tier in offer.tiers)
        )

    return replace(catalog, offers=tuple(dearer(offer) for offer in catalog.offers))


def with_hour_rates(catalog: Catalog, factors: tuple[str, ...]) -> Catalog:
    """Machine hours dearer by factors that take turns, so that the order of the machines changes."""
    machines = tuple(
        replace(machine, hour_rate=machine.hour_rate * Decimal(factors[number % len(factors)]))
        for number, machine in enumerate(catalog.machines)
    )
    return replace(catalog, machines=machines)


def with_bookings(catalog: Catalog, hours: float, every: int) -> Catalog:
    """Every so-manyth machine booked firmly for thirty weeks."""
    monday = ON - timedelta(days=ON.weekday())
    booked = tuple(
        Booking(machine.code, monday + timedelta(weeks=week), hours, firm=True)
        for number, machine in enumerate(catalog.machines)
        if number % every == 0
        for week in range(30)
    )
    return replace(catalog, workload=booked)


def with_hours_beside(catalog: Catalog, hours: float, without: int) -> Catalog:
    """Every trimmer, bench and tool room booked for thirty weeks; every so-manyth machine and trimmer for ever."""
    monday = ON - timedelta(days=ON.weekday())
    routers = [resource_code(plant.code, "router", one.code) for plant in catalog.plants for one in plant.trimmers]
    others = [resource_code(plant.code, kind) for plant in catalog.plants for kind in ("assembly", "tool_room")]
    weeks = [monday + timedelta(weeks=week) for week in range(30)]
    booked = [Booking(name, week, hours, firm=True) for name in (*routers, *others) for week in weeks]
    ever = [Booking(name, monday, 1e7, firm=True) for name in routers[::without]]
    machines = tuple(Booking(one.code, monday, 1e7, firm=True) for one in catalog.machines[::without])
    return replace(catalog, beside=(*booked, *ever), workload=machines)


def with_factors(catalog: Catalog, factors: tuple[float, ...]) -> Catalog:
    """Every measure corrected by factors that take turns over machines, polymers and processes."""
    names = [("machine", one.code) for one in catalog.machines] + [("polymer", one.name) for one in catalog.polymers]
    names += [("process", one) for one in ("vacuum", "pressure", "twin_sheet")]
    measures = tuple(
        MeasureCorrection(
            measure,
            9,
            tuple(
                Factor(effect, name, 3, 1.0, factors[(number + shift) % len(factors)])
                for number, (effect, name) in enumerate(names)
            ),
        )
        for shift, measure in enumerate(CORRECTED)
    )
    return replace(catalog, corrections=Corrections(1, measures))


@cache
def requests() -> dict[str, PartRequest]:
    """Every inquiry of the demo that is complete, by its file."""
    found = {}
    for path in sorted((FIXTURES / "demo/inquiries").glob("*.json")):
        names = tuple(polymer.name for polymer in house().polymers)
        reading = read_inquiry(parsed(f"demo/inquiries/{path.name}"), on=ON, polymer_names=names, base_dir=path.parent)
        if reading.request is not None:
            found[path.stem] = reading.request
    return found


@cache
def groups_of(request: PartRequest):
    """All candidates, planned and judged; prices have no part in it."""
    return judged_groups(request, house(), ON)
