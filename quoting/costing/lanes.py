"""The same load from each plant to the customer: road, LTL against truckload, and the rates with their day."""

from dataclasses import dataclass
from decimal import Decimal

from machines.machine import Plant
from quoting.catalog import Rates, Sources
from quoting.costing.freight import MILE
from quoting.costing.lines import Packing
from quoting.costing.money import Input, exact, given, pounds
from quoting.costing.packing import Pattern
from quoting.costing.shipping import shipped
from quoting.intake.part import Destination

FUEL = (
    ("ltl_fuel_surcharge", "fuel surcharge on LTL", "-"),
    ("diesel_per_gallon", "diesel", "$/gal"),
    ("diesel_peg", "diesel that the line haul includes", "$/gal"),
    ("miles_per_gallon", "miles for a gallon", "-"),
)
LINE_HAUL = (
    ("ltl_base", "LTL base at class 100", "$/cwt"),
    ("ltl_per_mile", "LTL for each mile at class 100", "$/cwt"),
    ("ltl_minimum", "LTL minimum", "$"),
    ("linehaul_per_mile", "truckload for each mile", "$"),
    ("truckload_minimum", "truckload minimum", "$"),
)
BASIS = (
    "LTL: hundredweights x (base + per mile x miles) x class / 100 x weight break, at least the minimum, x (1 + fuel "
    "surcharge). Truckload: trucks x (the larger of minimum and per mile x miles, and miles x (diesel - included) / "
    "miles for a gallon). The cheaper goes, foam for LTL counted."
)


@dataclass(frozen=True)
class Lane:
    """One plant's way to the customer, for the largest release. ``ltl`` None: not allowed, ``why`` says for what."""

    plant: str
    name: str
    ships: bool  # the chosen route ships from here
    distance: float  # m, road
    ltl: Decimal | None
    truckload: Decimal
    mode: str
    why: str


@dataclass(frozen=True)
class Lanes:
    quantity: int
    lanes: tuple[Lane, ...]  # nearest first
    basis: str
    inputs: tuple[Input, ...]


def lanes(
    to: Destination, pattern: Pattern, quantity: int, home: Plant, plants: tuple[Plant, ...], rates: Rates,
    sources: Sources,
) -> Lanes:  # fmt: skip
    """What it would cost to bring one and the same release from each plant.

    Parameters
    ----------
    to : Destination
        [degrees]
    pattern : Pattern
        How the parts stand on a pallet [-].
    quantity : int
        Parts of the release [count].
    home : Plant
        From which the chosen route ships [-].
    plants : tuple of Plant
        All of them [-].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    lanes : Lanes
        [$, m]
    """
    ways = {plant.code: shipped(to, pattern, quantity, plant, rates) for plant in plants}
    found = [_lane(plant, ways[plant.code], plant.code == home.code) for plant in plants]
    ordered = tuple(sorted(found, key=lambda lane: (lane.distance, lane.plant)))
    return Lanes(quantity, ordered, BASIS, _inputs(ways[home.code], quantity, rates, sources))


def _lane(plant: Plant, way: Packing, ships: bool) -> Lane:
    return Lane(plant.code, plant.name, ships, way.distance, way.ltl_total, way.truckload_total, way.mode, way.why_mode)


def _inputs(way: Packing, quantity: int, rates: Rates, sources: Sources) -> tuple[Input, ...]:
    """Load of the release, and each rate with its source and the day from which it holds."""
    freight = rates.freight
    return (
        given("pallets", way.pallets, "-"),
        given("gross weight of a full pallet", pounds(way.pallet_mass), "lb"),
        given("density", way.density_pcf, "pcf"),
        given("miles from the plant that ships", exact(way.distance) / exact(MILE), "mi"),
        given("road over straight line", freight.circuity, "-", sources.of("freight.circuity")),
        given("foam that LTL needs", quantity * rates.packing.ltl_foam_cost, "$", sources.of("packing.ltl_foam_cost")),
        *(
            given(name, getattr(freight, key), unit, sources.of(f"freight.{key}"))
            for key, name, unit in LINE_HAUL + FUEL
        ),
    )
