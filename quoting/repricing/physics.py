"""What of a catalog decides how a part can be made, without what only says what it costs."""

from dataclasses import asdict
from datetime import date
from typing import Any

from machines.machine import Plant
from materials.polymer import Polymer
from quoting.catalog import Catalog

# Money, weeks and how many work at once: ``routing`` asks for none of them. Of a trimmer's hour rate it asks for the
# order alone.
PRICES_OF_PLANT = ("labour_rate", "inspector_rate", "trimmers", "assembly_places", "tool_room_places")
PRICES_OF_MACHINE = ("hour_rate",)
PRICES_OF_OFFER = (
    "tiers", "minimum_order", "colour_charge", "regrind_value_per_pound", "lead_time_weeks", "source", "valid_from",
    "valid_to",
)  # fmt: skip


def physical_part(catalog: Catalog, on: date) -> dict[str, Any]:
    """All that decides which candidates fit and how they are formed on one day.

    Two catalogs that have it in common differ at most in rates, bookings, prices of sheet and hour rates; so the
    candidates that fit, their layouts and their forming plans are the same under both.

    Parameters
    ----------
    catalog : Catalog
        [-]
    on : date
        Day on which certificates and offers must be valid [-].

    Returns
    -------
    part : dict
        Mappings and lists of values [SI].
    """
    valid = (one for one in catalog.offers if one.valid_from <= on and (one.valid_to is None or on <= one.valid_to))
    return {
        "plants": [_without(one, PRICES_OF_PLANT) for one in catalog.plants],
        "trimmers": _trimmers(catalog.plants),
        "machines": [_without(one, PRICES_OF_MACHINE) for one in catalog.machines],
        "polymers": [_polymer(one, on) for one in catalog.polymers],
        "offers": [_without(one, PRICES_OF_OFFER) for one in valid],
    }


def _without(one: Any, names: tuple[str, ...]) -> dict[str, Any]:
    return {name: value for name, value in asdict(one).items() if name not in names}


def _trimmers(plants: tuple[Plant, ...]) -> list[dict[str, Any]]:
    """Every trimmer without its hour rate, in the order in which a part is offered to them."""
    ranked = sorted(
        ((each.hour_rate, plant.code, each.code, each) for plant in plants for each in plant.trimmers),
        key=lambda one: one[:3],
    )
    return [{"plant": plant} | _without(each, ("hour_rate",)) for _, plant, _, each in ranked]


def _polymer(polymer: Polymer, on: date) -> dict[str, Any]:
    """A certificate counts as valid or not; until when is for another day."""
    plain = _without(polymer, ("sources",))
    plain["needs"] = [
        _without(one, ("expires",)) | {"valid": one.expires is None or on <= one.expires} for one in polymer.needs
    ]
    return plain
