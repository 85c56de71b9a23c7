"""How a candidate's parts are packed and brought to the customer, or untrimmed to the plant that trims them."""

from dataclasses import dataclass, replace
from decimal import Decimal
from math import ceil

from machines.machine import Plant
from quoting.catalog import PackingRates, Rates
from quoting.costing.freight import (
    CUBIC_FOOT,
    MILE,
    FreightChoice,
    Shipment,
    choose_freight,
    road_distance,
    shipment_of,
)
from quoting.costing.lines import Packing
from quoting.costing.money import to_cent
from quoting.costing.packing import PackedPart, Pattern, loaded_pallets, nesting_pitch, pack
from quoting.costing.sheet import pieces_to_trim
from quoting.intake.part import Destination, Part
from quoting.routing.candidate import Layout, PlannedCandidate


def packed_part(planned: PlannedCandidate, rates: Rates) -> PackedPart:
    """The part as it is packed: nested by its draft, or on tiers where it is hollow or closed.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    rates : Rates
        Least nesting pitch [m].

    Returns
    -------
    part : PackedPart
        [m, kg]
    """
    return packed_as(planned.request.part, *as_packed(planned), rates.packing)


def as_packed(planned: PlannedCandidate) -> tuple[bool, float, float]:
    """What packing asks of a candidate: whether it is hollow or closed, its mean wall [m], its mass [kg]."""
    closed = planned.request.part.enclosed or planned.candidate.process == "twin_sheet"
    return closed, planned.plan.thinning.mean_wall, planned.plan.part_mass


def packed_as(part: Part, closed: bool, wall: float, mass: float, rates: PackingRates) -> PackedPart:
    pitch = None if closed else nesting_pitch(wall, part.draft_angle, part.depth, rates.least_nesting_pitch)
    return PackedPart(part.length, part.width, part.depth, mass, pitch, cosmetic=part.show_side != "none")


def _freight(
    pattern: Pattern, quantity: int, start: Plant, end: tuple[float, float], foam: Decimal, rates: Rates
) -> tuple[Shipment, FreightChoice, float]:
    """The shipment, how it rides, and how far [m]."""
    shipment = shipment_of(loaded_pallets(pattern, quantity, rates.packing))
    freight = rates.freight
    distance = road_distance((start.latitude, start.longitude), end, freight.circuity, freight.least_distance)
    return shipment, choose_freight(shipment, distance, foam, freight), distance


@dataclass(frozen=True)
class Sent:
    """A release on its way to the customer: how it rides, and how much of its mass are parts [kg]."""

    shipment: Shipment
    choice: FreightChoice
    distance: float  # m, road
    parts_mass: float

    @property
    def miles(self) -> float:
        return self.distance / MILE

    @property
    def cubic_feet(self) -> float:
        return self.shipment.volume / CUBIC_FOOT


def sent_release(planned: PlannedCandidate, quantity: int, start: Plant, rates: Rates) -> Sent:
    """The shipment of one release and the choice of its freight.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    quantity : int
        Good parts [count].
    start : Plant
        From which it ships [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    sent : Sent
        [kg, m, $]
    """
    to, foam = planned.request.ship_to, quantity * rates.packing.ltl_foam_cost
    part = packed_part(planned, rates)
    way = _freight(pack(part, rates.packing), quantity, start, (to.latitude, to.longitude), foam, rates)
    return Sent(*way, parts_mass=quantity * part.mass)


def shipped(to: Destination, pattern: Pattern, quantity: int, start: Plant, rates: Rates) -> Packing:
    """Pallets of a release and their way to the customer."""
    foam = quantity * rates.packing.ltl_foam_cost
    shipment, choice, distance = _freight(pattern, quantity, start, (to.latitude, to.longitude), foam, rates)
    fullest = loaded_pallets(pattern, quantity, rates.packing)[0]
    return Packing(
        parts_per_pallet=pattern.capacity,
        pallets=shipment.pallets,
        parts_per_layer=pattern.per_layer,
        pallet_mass=fullest.mass,
        pallet_volume=fullest.volume,
        density_pcf=shipment.density_pcf,
        freight_class=choice.freight_class,
        mode=choice.mode,
        distance=distance,
        why_mode=choice.why,
        freight_total=to_cent(choice.total),
        ltl_total=None if choice.ltl is None else to_cent(choice.ltl),
        truckload_total=to_cent(choice.truckload),
    )


def as_formed(planned: PlannedCandidate) -> tuple[Part, bool, float, Layout, float, Plant]:
    """What the way of untrimmed parts depends on: the part, its blank, the mass of a shot [kg], where it is formed."""
    shot_mass = planned.plan.blank_mass * planned.plan.cycle.blanks_per_part
    closed, wall, _ = as_packed(planned)
    return planned.request.part, closed, wall, planned.candidate.layout, shot_mass, planned.candidate.plant


def transport_cost(
    part: Part,
    closed: bool,
    wall: float,
    layout: Layout,
    shot_mass: float,
    start: Plant,
    quantity: int,
    to: Plant,
    rates: Rates,
) -> Decimal:
    """Untrimmed parts from the forming plant to the plant that trims, packed as the blanks they still are."""
    one = packed_as(part, closed, wall, shot_mass, rates.packing)
    wide = replace(one, length=layout.blank_length, width=layout.blank_width)
    shots = ceil(pieces_to_trim(quantity, rates.trim.scrap) / layout.cavities)
    formed = pack(wide, rates.packing)
    _, choice, _ = _freight(formed, shots, start, (to.latitude, to.longitude), Decimal(0), rates)
    return to_cent(choice.total)
