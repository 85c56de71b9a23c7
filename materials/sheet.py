"""Extruded sheet as a mill offers it, and the mass of a blank cut from it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from materials.ranges import Number, positive

COLOURS = ("natural", "stock", "custom")

INCH = 0.0254  # m, exact: international inch

# Gauges that mills keep as standard steps, common practice, no source.
STOCKED_GAUGES = tuple(
    round(inches * INCH, 7)
    for inches in (
        0.060, 0.080, 0.093, 0.118, 0.125, 0.150, 0.156, 0.187, 0.200, 0.220, 0.236, 0.250, 0.312, 0.375, 0.500,
    )
)  # fmt: skip


@dataclass(frozen=True)
class PriceTier:
    """Price per pound from a given order mass upward."""

    from_mass: float  # kg
    price_per_pound: Decimal


@dataclass(frozen=True)
class SheetOffer:
    """What one mill sells of one polymer in one kind of colour, between two dates (both inclusive)."""

    name: str
    polymer: str
    colour: str
    thinnest_gauge: float  # m
    thickest_gauge: float  # m
    widest: float  # m
    longest: float  # m
    tiers: tuple[PriceTier, ...]  # ascending by from_mass, the first from 0
    minimum_order: float  # kg
    colour_charge: Decimal  # once per order
    regrind_value_per_pound: Decimal  # what a clean selvedge is worth; 0 where it cannot be reused
    gauge_tolerance: float  # -, share by which a sheet may run thin
    lead_time_weeks: float
    valid_from: date
    valid_to: date | None
    source: str = ""


def blank_mass(length: Number, width: Number, gauge: Number, density: Number) -> Number:
    """Mass of a blank [kg].

    Parameters
    ----------
    length, width, gauge : float or array
        Size of the blank [m], above 0.
    density : float or array
        Density of the polymer [kg/m3], above 0.

    Returns
    -------
    mass : float or array
        [kg]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Examples
    --------
    >>> round(blank_mass(1.143, 0.8382, 0.0047498, 1050.0), 3)
    4.778
    """
    positive(length=length, width=width, gauge=gauge, density=density)
    return length * width * gauge * density
