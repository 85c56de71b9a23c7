"""The plant file and the material file: parsed JSON to the dataclasses of the core, or every error by its field."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

from machines.machine import Machine, Plant
from materials.polymer import Polymer
from materials.sheet import SheetOffer
from quoting.intake.catalog_checks import inconsistencies
from quoting.intake.catalog_fields import (
    MACHINE,
    MACHINE_KINDS,
    OFFER,
    OPTIONAL_PROPERTIES,
    PLANT,
    POLYMER,
    POLYMER_PROPERTIES,
)
from quoting.intake.catalog_objects import (
    complete,
    read_entries,
    read_fields,
    read_list,
    read_object,
    refuse_doubles,
    refuse_unknown,
)
from quoting.intake.catalog_values import ABSENT, Problems, RefusedError, accepted, place, read_value
from quoting.intake.rates_file import read_rates

__all__ = ["MACHINE_KINDS", "POLYMER_PROPERTIES", "read_materials", "read_plants", "read_rates"]


def _plant(raw: Any, path: str, problems: Problems) -> tuple[Plant | None, list[tuple[str, Machine]]]:
    values = read_fields(raw, PLANT, path, problems, beside=("machines",))
    latitude, longitude = place(values.get("postal_code", "")) or (0.0, 0.0)
    plant = complete(PLANT, values, latitude=latitude, longitude=longitude)
    listed = raw.get("machines", []) if isinstance(raw, dict) else []
    code = values.get("code", "")
    items = read_list(listed, f"{path}.machines", problems)
    machines = [(field, read_object(item, MACHINE, field, problems, plant=code)) for field, item in items]
    return plant, [(field, machine) for field, machine in machines if machine]


def read_plants(raw: Any) -> tuple[tuple[Plant, ...], tuple[Machine, ...]]:
    """The plants of a plant file and their machines, ordered by code.

    Parameters
    ----------
    raw : Any
        The parsed JSON: ``{"plants": [...]}``, keys as the fields of the dataclasses, values as text with units [-].

    Returns
    -------
    plants_and_machines : tuple
        All values SI [-].

    Raises
    ------
    InputErrors
        Naming every wrong, missing or unknown key by its dotted field.
    """
    problems = Problems()
    plants: list[tuple[str, Plant]] = []
    machines: list[tuple[str, Machine]] = []
    for path, item in read_entries(raw, ("plants",), problems)["plants"]:
        plant, its_machines = _plant(item, path, problems)
        plants += [(path, plant)] if plant else []
        machines += its_machines
    refuse_doubles(((f"{path}.code", plant.code) for path, plant in plants), problems)
    refuse_doubles(((f"{path}.code", machine.code) for path, machine in machines), problems)
    trimmers = (
        (f"{path}.trimmers[{number}].code", trimmer.code)
        for path, plant in plants
        for number, trimmer in enumerate(plant.trimmers)
    )
    refuse_doubles(trimmers, problems)
    problems.raise_if_any()
    return (
        tuple(sorted((_in_order(plant) for _, plant in plants), key=lambda plant: plant.code)),
        tuple(sorted((machine for _, machine in machines), key=lambda machine: machine.code)),
    )


def _in_order(plant: Plant) -> Plant:
    trimmers = tuple(sorted(plant.trimmers, key=lambda trimmer: trimmer.code))
    return replace(plant, trimmers=trimmers, assembly=tuple(sorted(plant.assembly)))


def _sourced(raw: Any, kind: str, path: str, problems: Problems) -> tuple[Any, str] | None:
    if not isinstance(raw, dict):
        problems.add(path, raw, "an object with value and source")
        return None
    refuse_unknown(raw, ("value", "source"), path, problems)
    read = []
    for key, key_kind in (("value", kind), ("source", "text")):
        try:
            read.append(read_value(raw.get(key), key_kind))
        except RefusedError as refused:
            problems.add(f"{path}.{key}", raw.get(key, ABSENT), refused.accepted)
    return (read[0], read[1]) if len(read) == 2 else None


def _properties(raw: Any, path: str, problems: Problems) -> dict[str, tuple[Any, str]]:
    if not isinstance(raw, dict):
        problems.add(path, raw, "an object with " + ", ".join(POLYMER_PROPERTIES))
        return {}
    refuse_unknown(raw, POLYMER_PROPERTIES, path, problems)
    read = {}
    for name, kind in POLYMER_PROPERTIES.items():
        if name not in raw and name in OPTIONAL_PROPERTIES:
            continue
        if name not in raw:
            problems.add(f"{path}.{name}", ABSENT, f"an object with value ({accepted(kind)}) and source")
            continue
        found = _sourced(raw[name], kind, f"{path}.{name}", problems)
        if found:
            read[name] = found
    return read


def _polymer(raw: Any, path: str, problems: Problems) -> Polymer | None:
    fields = read_fields(raw, POLYMER, path, problems, beside=("properties",))
    given = raw.get("properties", {}) if isinstance(raw, dict) else {}
    if not isinstance(raw, dict) or "properties" not in raw:
        return None
    sourced = _properties(given, f"{path}.properties", problems)
    values = {name: value for name, (value, _) in sourced.items()}
    for name, _, what in inconsistencies(Polymer, fields | values):
        problems.add(f"{path}.properties.{name}.value", given[name].get("value"), what)
    refuse_doubles(
        ((f"{path}.needs[{number}].need", need.need) for number, need in enumerate(fields.get("needs", ()))), problems
    )
    if len(values.keys() - OPTIONAL_PROPERTIES) < len(POLYMER_PROPERTIES) - len(OPTIONAL_PROPERTIES):
        return None
    sources = tuple((name, source) for name, (_, source) in sourced.items())
    fields["needs"] = tuple(sorted(fields.get("needs", ()), key=lambda need: need.need))
    return complete(POLYMER, fields, **values, sources=sources)


def _refuse_unknown_polymers(raw: Mapping, offers: list[tuple[str, SheetOffer]], problems: Problems) -> None:
    """An offer must be for a polymer of the same file; one that is there but wrong in itself is not unknown."""
    listed = raw.get("polymers")
    names = [item.get("name") for item in listed if isinstance(item, dict)] if isinstance(listed, list) else [None]
    if None in names:  # a polymer without a name is an error of its own, and may be the one that is meant
        return
    for path, offer in offers:
        if offer.polymer not in names:
            known = ", ".join(str(name) for name in names)
            problems.add(f"{path}.polymer", offer.polymer, f"a polymer of this file: {known}")


def read_materials(raw: Any) -> tuple[tuple[Polymer, ...], tuple[SheetOffer, ...]]:
    """The polymers and the sheet offers of a material file, ordered by name.

    Parameters
    ----------
    raw : Any
        The parsed JSON: ``{"polymers": [...], "offers": [...]}``; each property has a value and a source [-].

    Returns
    -------
    polymers_and_offers : tuple
        All values SI, money as Decimal [-].

    Raises
    ------
    InputErrors
        Naming every wrong, missing or unknown key by its dotted field.
    """
    problems = Problems()
    entries = read_entries(raw, ("polymers", "offers"), problems)
    polymers = [(path, _polymer(item, path, problems)) for path, item in entries["polymers"]]
    offers = [(path, read_object(item, OFFER, path, problems)) for path, item in entries["offers"]]
    good = [(path, polymer) for path, polymer in polymers if polymer]
    sold = [(path, offer) for path, offer in offers if offer]
    refuse_doubles(((f"{path}.name", polymer.name) for path, polymer in good), problems)
    refuse_doubles(((f"{path}.name", offer.name) for path, offer in sold), problems)
    _refuse_unknown_polymers(raw if isinstance(raw, dict) else {}, sold, problems)
    problems.raise_if_any()
    return (
        tuple(sorted((polymer for _, polymer in good), key=lambda polymer: polymer.name)),
        tuple(sorted((offer for _, offer in sold), key=lambda offer: offer.name)),
    )
