"""The cost of one release for many sets of factors at once: the same formulas as the estimate, on arrays of floats.

Only what rounds up or looks up a tier is written again here, because arrays do it another way; tests hold both ways
together. Amounts are floats: they say how far a price may lie off and never become one.
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from quoting.catalog import FreightRates, Rates
from quoting.costing.correcting import corrected_scrap
from quoting.costing.formulas import (
    bench_work,
    handling_cost,
    order_mass,
    overhead_on,
    per_release,
    price_of,
    regrind_credit,
    setup_cost,
    surplus_cost,
    work_cost,
)
from quoting.costing.freight import DENSITY_CLASSES, HUNDREDWEIGHT
from quoting.costing.labour import SetupInputs
from quoting.costing.money import POUND, SECONDS_PER_HOUR, loose
from quoting.costing.packing import material_of_packing
from quoting.costing.price_breaks import ReleaseInputs
from quoting.costing.regrind import regrind_limit
from quoting.costing.risk import margin_share
from quoting.costing.secondary import worked
from quoting.costing.sheet import form_scrap, pieces_to_trim, startup_shots
from quoting.costing.shipping import Sent
from quoting.costing.surplus import NAME as SURPLUS
from quoting.intake.part import BEFORE_TRIM

Factors = Mapping[str, np.ndarray]
HOUR, LB = loose(SECONDS_PER_HOUR), loose(POUND)
CWT = loose(HUNDREDWEIGHT)
SLACK = 1e-9  # -, so that what comes out whole in fractions is not rounded up for a float's last digit


@dataclass(frozen=True)
class Varied:
    """One release for each set of factors, arrays of one length [$]. ``lines``: manufacturing cost by its line."""

    quantity: int
    lines: dict[str, np.ndarray]
    manufacturing: np.ndarray
    full: np.ndarray  # with overhead
    price: np.ndarray  # ex works, at the margin of the estimate, risks included
    freight: np.ndarray


def varied(inputs: ReleaseInputs, sent: Sent, factors: Factors, rates: Rates) -> Varied:
    """Cost one release for every set of factors.

    Parameters
    ----------
    inputs : ReleaseInputs
        As in the estimate [-].
    sent : Sent
        Its shipment and how the estimate sends it [-].
    factors : mapping
        For each of DRAWN an array over its likely value, all of one length [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    varied : Varied
        [$]
    """
    lines = varied_lines(inputs, factors, rates)
    made = sum(lines.values())
    full = made + overhead_on(made, loose(rates.price.overhead))
    price = price_of(full, loose(margin_share(inputs.risks, rates.price, rates.margin)))
    return Varied(inputs.quantity, lines, made, full, price, varied_freight(sent, factors, rates.freight))


def varied_lines(inputs: ReleaseInputs, factors: Factors, rates: Rates) -> dict[str, np.ndarray]:
    """Manufacturing cost by line, with the names of the estimate's lines [$]."""
    quantity, press, trim, bench = inputs.quantity, inputs.press, inputs.trim, inputs.pack.bench
    pieces, shots = pieces_and_shots(inputs, factors, rates)
    sheet, credit, surplus = _sheet_and_credit(inputs, shots, factors, rates)
    seconds, bought, drying = _operations(inputs, pieces, rates)
    bought = bought * factors["operation_material"]
    boxed = loose(material_of_packing(inputs.pack, rates.packing)) * factors["pack_material"]
    pack_time = loose(rates.packing.pack_time) * factors["pack_time"]
    set_up = SetupInputs(press.setup_hours, press.hour_rate, press.setup_crew, press.labour_rate, press.setup)
    at_bench = bench.efficiency, loose(bench.labour_rate), HOUR
    per_hour = loose(press.shots_per_hour) * factors["press_efficiency"] / factors["cycle"]
    trimmed = loose(trim.pieces_per_hour) / factors["trim_time"]
    longer = factors["setup_time"]
    return {
        "sheet": sheet,
        SURPLUS: surplus,
        "colour charge": _same(inputs.sheet.offer.colour_charge, factors),
        "regrind credit": credit,
        "material handling": handling_cost(loose(rates.sheet.material_handling), sheet, bought, quantity * boxed),
        "set-up": setup_cost(
            loose(set_up.cost) * longer, loose(trim.setup) * longer, loose(rates.forming.setup_inspection)
        ),
        "forming": work_cost(shots, loose(press.hourly), per_hour),
        "trimming": work_cost(pieces, loose(trim.hourly), trimmed),
        "secondary operations": bench_work(seconds * factors["operation_time"], *at_bench) + bought + drying,
        "transport between plants": loose(inputs.transport) * factors["freight_rate"],
        "packing": per_release(quantity, bench_work(pack_time, *at_bench), boxed),
    }


def _operations(inputs: ReleaseInputs, pieces: np.ndarray, rates: Rates) -> tuple[np.ndarray, np.ndarray, float]:
    """Time [s], material [$] and drying [$] of all operations of the release. Work before trim follows the pieces;
    what is learnt stays as in the estimate."""
    likely = pieces_to_trim(inputs.quantity, rates.trim.scrap)
    seconds, material, drying = np.zeros_like(pieces), np.zeros_like(pieces), 0.0
    for one in worked(inputs.quantity, likely, inputs.secondary, rates):
        times = pieces / one.done if one.rate.operation in BEFORE_TRIM else 1.0
        seconds = seconds + loose(one.seconds) * times
        material = material + loose(one.material) * times
        drying += loose(one.drying)
    return seconds, material, drying


def _same(amount: object, factors: Factors) -> np.ndarray:
    return np.full_like(factors["cycle"], loose(amount))


def pieces_and_shots(inputs: ReleaseInputs, factors: Factors, rates: Rates) -> tuple[np.ndarray, np.ndarray]:
    """Pieces to trim and shots to form, rounded up as ``sheet.pieces_to_trim`` and ``sheet.shots_to_form`` do.

    Parameters
    ----------
    inputs, factors, rates
        As in ``varied`` [-].

    Returns
    -------
    pieces, shots : array
        Whole numbers [count].
    """
    kept = 1 - loose(rates.trim.scrap) * factors["trim_scrap"]
    lost = loose(corrected_scrap(form_scrap(inputs.process, rates.forming), inputs.sheet.scrap))
    formed = np.minimum(1, (1 - lost * factors["form_scrap"]) / factors["parts_formed"])  # no shot yields more
    started = loose(startup_shots(inputs.process, rates.forming)) * factors["startup_shots"]
    running = inputs.quantity / kept
    return np.ceil(running - SLACK), np.ceil(running / formed / inputs.sheet.cavities + started - SLACK)


def _sheet_and_credit(
    inputs: ReleaseInputs, shots: np.ndarray, factors: Factors, rates: Rates
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    sheet, heavier = inputs.sheet, factors["sheet_mass"]
    one = sheet.mass_a_blank * heavier
    billed = order_mass(shots * sheet.blanks_per_shot, one, loose(rates.sheet.billed_weight_factor))
    cost = billed / LB * tier_prices(sheet.offer, billed) * factors["sheet_price"]
    left = np.maximum(0.0, (billed - inputs.quantity * sheet.part_mass * heavier) / LB)
    returned = left * loose(rates.sheet.regrind_recovery)
    limit = regrind_limit(sheet.needs, rates)
    if limit is not None:
        returned = np.minimum(returned, loose(limit[0]) * billed / LB)
    value = loose(sheet.offer.regrind_value_per_pound) * factors["regrind"]
    beyond = (sheet.offer.minimum_order - billed) / LB * sheet.shares_minimum
    surplus = surplus_cost(beyond, tier_prices(sheet.offer, billed) * factors["sheet_price"], 0.0)
    return cost, regrind_credit(returned, value), surplus


def tier_prices(offer: object, billed: np.ndarray) -> np.ndarray:
    """Price per pound of the highest tier that each order reaches, as ``sheet.tier_price`` says it of one.

    Parameters
    ----------
    offer : SheetOffer
        Tiers ascending [kg, $/lb].
    billed : array
        Billed mass of the orders [kg].

    Returns
    -------
    prices : array
        [$/lb]
    """
    begins = np.array([tier.from_mass for tier in offer.tiers])
    prices = np.array([loose(tier.price_per_pound) for tier in offer.tiers])
    return prices[np.maximum(0, np.searchsorted(begins, billed, side="right") - 1)]


def varied_freight(sent: Sent, factors: Factors, rates: FreightRates) -> np.ndarray:
    """Freight of the release by the estimate's own mode, pallets and trucks; class and break follow the mass.

    Fuel: the surcharge of a part load and the diesel of a truck both follow the price of diesel.

    Parameters
    ----------
    sent : Sent
        Shipment and mode of the estimate [kg, m3, m].
    factors : mapping
        As in ``varied`` [-].
    rates : FreightRates
        Rates in force [-].

    Returns
    -------
    freight : array
        [$]
    """
    dearer, diesel = factors["freight_rate"], factors["diesel"]
    if sent.choice.mode == "truckload":
        haul = max(loose(rates.truckload_minimum), loose(rates.linehaul_per_mile) * sent.miles)
        fuel = np.maximum(0.0, loose(rates.diesel_per_gallon) * diesel - loose(rates.diesel_peg))
        return sent.choice.trucks * (haul * dearer + sent.miles * fuel / loose(rates.miles_per_gallon))
    other = sent.shipment.mass - sent.parts_mass
    mass = (other + sent.parts_mass * factors["sheet_mass"]) / LB
    charge = ltl_charges(mass, class_of(mass / sent.cubic_feet), sent.miles, rates)
    return charge * dearer * (1 + loose(rates.ltl_fuel_surcharge) * diesel)


def class_of(density_pcf: np.ndarray) -> np.ndarray:
    """Class by density as a number, as ``freight.freight_class`` names it [-]; density in lb/ft3."""
    begins = np.array([least for least, _ in DENSITY_CLASSES])
    classes = np.array([float(name) for _, name in DENSITY_CLASSES])
    return classes[np.searchsorted(begins, density_pcf, side="right") - 1]


def ltl_charges(mass: np.ndarray, classes: np.ndarray, miles: float, rates: FreightRates) -> np.ndarray:
    """Part loads before fuel, as ``freight.ltl_price`` has it of one.

    Parameters
    ----------
    mass : array
        Gross weight [lb].
    classes : array
        Freight class [-].
    miles : float
        Road miles [mi].
    rates : FreightRates
        Rates in force [-].

    Returns
    -------
    charges : array
        [$]
    """
    full_rate = (loose(rates.ltl_base) + loose(rates.ltl_per_mile) * miles) * classes / 100
    begins = np.array([float(least) for least, _ in rates.ltl_breaks])
    shares = np.array([loose(share) for _, share in rates.ltl_breaks])
    own = mass * shares[np.searchsorted(begins, mass, side="right") - 1]
    for least, share in zip(begins, shares, strict=True):
        own = np.where(least > mass, np.minimum(own, least * share), own)
    return np.maximum(loose(rates.ltl_minimum), own / CWT * full_rate)
