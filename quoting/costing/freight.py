"""What it costs to bring a release to the customer's dock: density class, LTL, truckload, the cheaper of the two.

An estimate from placeholder rates until a carrier's own rate replaces them.
"""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from math import ceil, floor

from geographiclib.geodesic import Geodesic

from quoting.catalog import FreightRates
from quoting.costing.money import exact, pounds
from quoting.costing.packing import LoadedPallet

MILE = 1609.344  # m, exact: international mile
CUBIC_FOOT = 0.028316846592  # m3, exact: (12 x 0.0254 m)^3
HUNDREDWEIGHT = Decimal(100)  # lb
SLACK = 1e-9  # -, float rounding only

# Thirteen-step density scale: from so many pounds per cubic foot (bound included), the class.
# Steps of 30 and above: National Motor Freight Traffic Association, "NMFC Classification FAQs" (help.nmfta.org).
# Steps below 8: vmeasure.ai, page on the 2025 scale. Steps 8 to 30: taken over unchanged from the older scale, since
# the FAQ names only the last three as amended. Density is not rounded before the look-up.
DENSITY_CLASSES_FROM = date(2025, 7, 19)
DENSITY_CLASSES = (
    (0.0, "400"),
    (1.0, "300"),
    (2.0, "250"),
    (4.0, "175"),
    (6.0, "125"),
    (8.0, "100"),
    (10.0, "92.5"),
    (12.0, "85"),
    (15.0, "70"),
    (22.5, "65"),
    (30.0, "60"),
    (35.0, "55"),
    (50.0, "50"),
)


@dataclass(frozen=True)
class Shipment:
    """All pallets of one release as the carrier sees them. Lengths [m], mass [kg], volume [m3]."""

    pallets: int
    length: float  # of one pallet
    width: float
    height: float  # of the tallest
    heaviest_pallet: float
    mass: float
    volume: float

    @property
    def density_pcf(self) -> float:
        """Gross pounds per cubic foot of the handling units, outermost points, pallet included."""
        return float(pounds(self.mass)) / (self.volume / CUBIC_FOOT)


@dataclass(frozen=True)
class FreightChoice:
    """``ltl`` is None where LTL is not allowed; ``why`` says what decided."""

    mode: str
    total: Decimal
    ltl: Decimal | None
    truckload: Decimal
    trucks: int
    freight_class: str
    why: str


def freight_class(density_pcf: float) -> str:
    """Class by density, thirteen steps; each lower bound belongs to its step.

    Handling, stowability or liability can set another class for an item.

    Parameters
    ----------
    density_pcf : float
        Gross density [lb/ft3], above 0.

    Returns
    -------
    name : str
        [-]

    Raises
    ------
    ValueError
        Density not above 0.

    Examples
    --------
    >>> freight_class(5.734), freight_class(6.0)
    ('175', '125')
    """
    if not density_pcf > 0:
        raise ValueError(f"density must be above 0; got {density_pcf}")
    return [name for least, name in DENSITY_CLASSES if least <= density_pcf][-1]


def road_distance(start: tuple[float, float], end: tuple[float, float], circuity: float, least: float) -> float:
    """Road distance [m] estimated from the geodesic on the WGS84 ellipsoid: ``max(least, geodesic * circuity)``.

    Parameters
    ----------
    start, end : tuple
        Latitude and longitude [degrees].
    circuity : float
        Road over straight line [-], 1 or above.
    least : float
        Least distance [m], for two places of one postal code.

    Returns
    -------
    distance : float
        [m]

    References
    ----------
    C. F. F. Karney's geodesic algorithm, as in the geographiclib package.

    Examples
    --------
    >>> round(road_distance((40.7128, -74.0060), (41.8781, -87.6298), 1.0, 0.0) / 1609.344, 0)
    713.0
    """
    return max(least, _geodesic(*start, *end) * circuity)


@lru_cache(maxsize=4096)  # plants by customers; new rates move neither
def _geodesic(*places: float) -> float:
    return Geodesic.WGS84.Inverse(*places, Geodesic.DISTANCE)["s12"]


def shipment_of(pallets: tuple[LoadedPallet, ...]) -> Shipment:
    """The shipment that a release's pallets make up.

    Parameters
    ----------
    pallets : tuple of LoadedPallet
        All of one footprint, the fullest first [m, kg].

    Returns
    -------
    shipment : Shipment
        [m, kg, m3]
    """
    first = pallets[0]
    mass, volume = sum(each.mass for each in pallets), sum(each.volume for each in pallets)
    return Shipment(len(pallets), first.length, first.width, first.height, first.mass, mass, volume)


def ltl_price(mass: Decimal, name: str, miles: Decimal, rates: FreightRates) -> Decimal:
    """LTL estimate [$], fuel included, no accessorials.

    ``rate = (a + b miles) * class/100 * f(weight)`` per hundredweight; base is the cheapest of the actual weight at
    its break and any higher break's least weight at that break, at least the minimum; times ``1 + fuel surcharge``.

    Parameters
    ----------
    mass : Decimal
        Gross weight [lb], above 0.
    name : str
        Freight class [-].
    miles : Decimal
        Road miles [mi].
    rates : FreightRates
        Rates in force [-].

    Returns
    -------
    price : Decimal
        [$]
    """
    full_rate = (rates.ltl_base + rates.ltl_per_mile * miles) * Decimal(name) / 100
    own_factor = [factor for least, factor in rates.ltl_breaks if least <= mass][-1]
    charges = [mass / HUNDREDWEIGHT * full_rate * own_factor]
    charges += [least / HUNDREDWEIGHT * full_rate * factor for least, factor in rates.ltl_breaks if least > mass]
    return max(rates.ltl_minimum, min(charges)) * (1 + rates.ltl_fuel_surcharge)


def truckload_price(trucks: int, miles: Decimal, rates: FreightRates) -> Decimal:
    """Truckload estimate: ``trucks * (max(minimum, linehaul * miles) + miles * max(0, diesel - peg) / mpg)``.

    Parameters
    ----------
    trucks : int
        Trucks [count].
    miles : Decimal
        Road miles [mi].
    rates : FreightRates
        Rates in force [-].

    Returns
    -------
    price : Decimal
        [$]
    """
    fuel = max(Decimal(0), rates.diesel_per_gallon - rates.diesel_peg) / rates.miles_per_gallon
    return trucks * (max(rates.truckload_minimum, rates.linehaul_per_mile * miles) + miles * fuel)


def across(shipment: Shipment, rates: FreightRates) -> tuple[tuple[int, float], ...]:
    """Both ways to turn the pallets: how many stand side by side, and how long a row is [m].

    A pallet wider than the trailer counts as one across; whether it can ride at all is said in ``why``.

    Parameters
    ----------
    shipment : Shipment
        Pallets [m].
    rates : FreightRates
        Trailer inside [m].

    Returns
    -------
    ways : tuple
        (count, row length) for each way that goes into the trailer [-, m]
    """
    turns = ((shipment.width, shipment.length), (shipment.length, shipment.width))
    ways = [(floor(rates.truck_width / side + SLACK), row) for side, row in turns]
    return tuple(way for way in ways if way[0] > 0) or ((1, shipment.length),)


def floor_length(shipment: Shipment, rates: FreightRates) -> float:
    """Trailer floor that the pallets take, not stacked: ``ceil(pallets / across) * row``, the shorter way [m].

    Parameters
    ----------
    shipment : Shipment
        Pallets [m].
    rates : FreightRates
        Trailer inside [m].

    Returns
    -------
    length : float
        [m]
    """
    return min(ceil(shipment.pallets / side_by_side) * row for side_by_side, row in across(shipment, rates))


def trucks_needed(shipment: Shipment, rates: FreightRates) -> int:
    """Trucks for all pallets, by floor positions and by payload; pallets are not stacked.

    Parameters
    ----------
    shipment : Shipment
        Pallets [m, kg].
    rates : FreightRates
        Trailer inside [m] and payload [kg].

    Returns
    -------
    trucks : int
        [count]
    """
    return ceil(shipment.pallets / pallets_per_truck(shipment, rates))


def pallets_per_truck(shipment: Shipment, rates: FreightRates) -> int:
    """Pallets like the fullest one that go on one truck [count], at least 1."""
    positions = max(side * floor(rates.truck_length / row + SLACK) for side, row in across(shipment, rates))
    by_mass = floor(rates.truck_payload / shipment.heaviest_pallet + SLACK)
    return max(1, min(positions, by_mass))


def ltl_refusals(shipment: Shipment, rates: FreightRates) -> tuple[str, ...]:
    """Why LTL may not be used; empty where it may.

    Parameters
    ----------
    shipment : Shipment
        Pallets [m, kg, m3].
    rates : FreightRates
        Caps of floor length, mass, pallets and cube [m, kg, count, m3].

    Returns
    -------
    reasons : tuple of str
        [-]
    """
    cubic = shipment.volume > rates.cubic_volume + SLACK and shipment.density_pcf < rates.cubic_density_pcf
    found = (
        (
            floor_length(shipment, rates) > rates.ltl_longest + SLACK,
            "its pallets take more trailer floor than LTL allows",
        ),
        (shipment.mass > rates.ltl_heaviest + SLACK, "it is heavier than LTL allows"),
        (shipment.pallets > rates.ltl_most_pallets, "it has more pallets than LTL allows"),
        (cubic, "it is so large and light that LTL carriers re-rate it by its cube"),
    )
    return tuple(reason for refused, reason in found if refused)


def choose_freight(shipment: Shipment, distance: float, foam: Decimal, rates: FreightRates) -> FreightChoice:
    """The cheaper of LTL, with the foam that it needs, and truckload; truckload where LTL is not allowed.

    Parameters
    ----------
    shipment : Shipment
        Pallets [m, kg, m3].
    distance : float
        Road distance [m].
    foam : Decimal
        Foam that the release needs only when it rides LTL [$].
    rates : FreightRates
        Rates in force [-].

    Returns
    -------
    choice : FreightChoice
        [$]
    """
    miles = exact(distance) / exact(MILE)
    name = freight_class(shipment.density_pcf)
    trucks = trucks_needed(shipment, rates)
    truckload = truckload_price(trucks, miles, rates)
    refusals = ltl_refusals(shipment, rates)
    beyond = _beyond_trailer(shipment, rates)
    if refusals:
        why = f"truckload, because {' and '.join(refusals)}{beyond}"
        return FreightChoice("truckload", truckload, None, truckload, trucks, name, why)
    ltl = ltl_price(pounds(shipment.mass), name, miles, rates)
    if ltl + foam <= truckload:
        why = f"LTL: {ltl:.2f} $, and {foam:.2f} $ of foam in the packing line, against {truckload:.2f} $ by truckload"
        return FreightChoice("ltl", ltl, ltl, truckload, trucks, name, why + beyond)
    why = f"truckload: {truckload:.2f} $ against {ltl:.2f} $ by LTL and {foam:.2f} $ of foam for it"
    return FreightChoice("truckload", truckload, ltl, truckload, trucks, name, why + beyond)


def _beyond_trailer(shipment: Shipment, rates: FreightRates) -> str:
    """A warning where a pallet does not go into the trailer at all; '' where it does."""
    narrow, wide = sorted((shipment.width, shipment.length))
    fits = (
        narrow <= rates.truck_width + SLACK
        and wide <= rates.truck_length
        and shipment.height <= rates.truck_height + SLACK
    )
    return "" if fits else "; a pallet exceeds the inside of the trailer, so an open deck must be quoted by hand"
