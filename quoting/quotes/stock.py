"""Putting plants, machines, polymers, sheet and rates from files into the tables, and the groups with their rights."""

import json
from collections.abc import Iterable
from dataclasses import asdict, fields
from datetime import date
from pathlib import Path
from typing import Any

from django.conf import settings
from django.contrib.auth.models import Group, Permission
from django.db import models, transaction

from machines import machine
from machines import models as machine_tables
from machines.models import OVEN_COLUMNS
from materials import models as material_tables
from materials import polymer, sheet
from materials.models import OPTIONAL_PROPERTIES, PROPERTIES
from quoting.intake.catalog_file import read_materials, read_plants, read_rates
from quoting.quotes import selectors
from quoting.quotes.models import RateRow
from quoting.quotes.policies import ESTIMATOR, GROUPS, MANAGER
from quoting.quotes.records import audit, today

DEMO = Path(settings.BASE_DIR) / "fixtures" / "demo"
REFERENCE = Path(settings.BASE_DIR) / "fixtures" / "reference"

# Which tables of the admin each group may add to, change and delete; it may look at all of them.
EDITS = {
    MANAGER: (
        *("raterow", "plant", "hourrate", "trimmer", "machine", "station", "booking", "sheetoffer", "pricetier"),
        *("shift", "closedday", "timewindow"),
    ),
    ESTIMATOR: ("polymer", "polymerproperty", "polymerneed", "sheetoffer", "pricetier", "machine", "station"),
}
LOOKS = ("auditentry",)


def catalog_load(*, plants: Any, materials: Any, rates: Any, on: date) -> bool:
    """Fill empty tables from parsed files. False, and nothing done, where machines are there already.

    Raises InputErrors naming every wrong field of the files; then nothing is loaded.
    """
    with transaction.atomic():
        if selectors.has_catalog():
            return False
        read_rates(rates, on)  # refuses before anything is written
        its_plants, its_machines = read_plants(plants)
        polymers, offers = read_materials(materials)
        _keep_plants(its_plants, its_machines)
        _keep_materials(polymers, offers)
        for row in rates["rates"]:
            _kept(RateRow(**row | {"valid_from": date.fromisoformat(row["valid_from"])}))
        audit("catalog_load", by=None, plants=len(its_plants), machines=len(its_machines), offers=len(offers))
        return True


def catalog_ensure() -> bool:
    """Load the demo plants, materials and the reference rates where the tables are empty. True when it did."""
    if selectors.has_catalog():
        return False
    return catalog_load(
        plants=_parsed(DEMO / "plants.json"),
        materials=_parsed(DEMO / "materials.json"),
        rates=_parsed(REFERENCE / "rates.json"),
        on=today(),
    )


def _parsed(path: Path) -> Any:
    return json.loads(path.read_text(encoding="utf-8"))


def _kept(row: models.Model) -> models.Model:
    # The reader has judged the values and the tables' own constraints judge them again: asking the database about
    # each constraint of each row beforehand would make the first start wait.
    row.full_clean(validate_unique=False, validate_constraints=False)
    row.save(force_insert=True)
    return row


def _flat(value: Any, *without: str) -> dict[str, Any]:
    return {field.name: getattr(value, field.name) for field in fields(value) if field.name not in without}


def _keep_plants(plants: Iterable[machine.Plant], machines: Iterable[machine.Machine]) -> None:
    rows = {}
    for plant in plants:
        columns = _flat(plant, "trimmers") | {"assembly": list(plant.assembly)}
        rows[plant.code] = _kept(machine_tables.Plant(**columns))
        for trimmer in plant.trimmers:
            _kept(machine_tables.Trimmer(plant=rows[plant.code], **_flat(trimmer)))
    for one in machines:
        _keep_machine(one, rows[one.plant])


def _keep_machine(one: machine.Machine, plant: machine_tables.Plant) -> None:
    columns = _flat(one, "plant", "stations", "oven")
    columns |= {f"oven_{name}": getattr(one.oven, name) for name in OVEN_COLUMNS}
    for bank in ("upper", "lower"):
        columns |= {f"{bank}_{name}": value for name, value in _flat(getattr(one.oven, bank)).items()}
    row = _kept(machine_tables.Machine(plant=plant, **columns))
    for position, station in enumerate(one.stations):
        _kept(machine_tables.Station(machine=row, position=position, name=station.name, work=list(station.work)))


def _keep_materials(polymers: Iterable[polymer.Polymer], offers: Iterable[sheet.SheetOffer]) -> None:
    rows = {}
    for one in polymers:
        row = _kept(material_tables.Polymer(**_flat(one, "needs", "sources", *PROPERTIES, *OPTIONAL_PROPERTIES)))
        rows[one.name] = row
        for name, source in one.sources:
            _kept(material_tables.PolymerProperty(polymer=row, name=name, value=getattr(one, name), source=source))
        for need in one.needs:
            _kept(material_tables.PolymerNeed(polymer=row, **asdict(need)))
    for offer in offers:
        row = _kept(material_tables.SheetOffer(polymer=rows[offer.polymer], **_flat(offer, "polymer", "tiers")))
        for tier in offer.tiers:
            _kept(material_tables.PriceTier(offer=row, **asdict(tier)))


def ensure_groups() -> dict[str, Group]:
    """The groups with exactly the rights of the table; whatever was granted by hand is set back."""
    groups = {}
    everything = {table for tables in EDITS.values() for table in tables} | set(LOOKS)
    for name in GROUPS:
        groups[name], _ = Group.objects.get_or_create(name=name)
        edits = EDITS.get(name, ())
        codes = [f"{verb}_{table}" for table in edits for verb in ("add", "change", "delete")]
        codes += [f"view_{table}" for table in everything] if edits else []
        ours = Permission.objects.filter(content_type__app_label__in=("materials", "machines", "planning", "quotes"))
        groups[name].permissions.set(ours.filter(codename__in=codes))
    return groups
