"""What goes with the price of the chosen candidate: release size, resin, freight from each plant, pallet, target."""

from dataclasses import dataclass, replace
from decimal import Decimal

from quoting.catalog import Catalog, Rates
from quoting.costing.escalation import Escalation, escalation
from quoting.costing.freight import pallets_per_truck, shipment_of
from quoting.costing.inputs import plant_that_trims, release_inputs
from quoting.costing.lanes import Lanes, lanes
from quoting.costing.lines import Amortised, LandedCost
from quoting.costing.money import to_cent
from quoting.costing.packing import Pattern, loaded_pallets, pack
from quoting.costing.pallet_load import PalletLoad, pallet_load
from quoting.costing.price_breaks import Release, ReleaseInputs, price_release
from quoting.costing.release_size import (
    RELEASES_A_YEAR,
    ReleaseAdvice,
    cheapest,
    least_for_order,
    priced_sizes,
    sizes_worth_pricing,
    square_root_lot,
)
from quoting.costing.sheet import startup_shots
from quoting.costing.shipping import packed_part
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled
from quoting.words import Words


@dataclass(frozen=True)
class LtlPack:
    """A release that rides LTL, and what the pack for it is in the unit price [$]."""

    quantity: int
    in_price: Decimal


@dataclass(frozen=True)
class Lever:
    """One way to a lower price, priced anew. ``said`` may be read by the customer."""

    said: Words
    quantity: int
    landed_unit_price: Decimal
    reaches: bool


@dataclass(frozen=True)
class TargetAdvice:
    """The landed price at the largest release against the target; ``gap`` above 0 is missing [$]."""

    target: Decimal
    landed_unit_price: Decimal
    dock_price: Decimal  # the same release without freight
    met: bool
    gap: Decimal
    levers: tuple[Lever, ...]  # cheapest first
    said: Words  # for the customer


@dataclass(frozen=True)
class PriceAdvice:
    release: ReleaseAdvice
    resin: Escalation
    lanes: Lanes
    pallet: PalletLoad
    ltl_packs: tuple[LtlPack, ...]
    target: TargetAdvice | None = None  # None: no target was given


def price_advice(planned: PlannedCandidate, cost: LandedCost, catalog: Catalog) -> PriceAdvice:
    """Advice on the price of one candidate, all of it from pricing it again; without a word on the target.

    Parameters
    ----------
    planned : PlannedCandidate
        The chosen candidate [-].
    cost : LandedCost
        Its cost at the releases asked for [$].
    catalog : Catalog
        Rates and plants [-].

    Returns
    -------
    advice : PriceAdvice
        [$]
    """
    rates, recalled = catalog.rates, Recalled()
    sources = rates.told
    asked = tuple(one.quantity for one in cost.breaks)
    releases = tuple(release_inputs(planned, quantity, catalog, recalled)[0] for quantity in asked)
    pattern = pack(packed_part(planned, rates), rates.packing)
    home = plant_that_trims(planned, catalog)
    return PriceAdvice(
        release=release_advice(planned, cost, pattern, catalog, recalled),
        resin=escalation(releases, rates, sources),
        lanes=lanes(planned.request.ship_to, pattern, asked[-1], home, catalog.plants, rates, sources),
        pallet=pallet_load(pattern, rates.packing),
        ltl_packs=tuple(_ltl_pack(each, rates, recalled) for each in releases if each.pack.foam),
    )


def landed_price(
    planned: PlannedCandidate, quantity: int, amortised: Amortised | None, catalog: Catalog, recalled: Recalled
) -> Decimal:
    """What one part costs on the customer's dock in a release of one size, as it would be quoted.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]
    quantity : int
        Parts of the release [count].
    amortised : Amortised or None
        Tooling that is paid in the price, as the candidate's cost says [$].
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled
        What was worked out already [-].

    Returns
    -------
    price : Decimal
        [$]
    """
    inputs, packing = release_inputs(planned, quantity, catalog, recalled)
    unit_price = price_release(inputs, catalog.rates, recalled).unit_price
    return unit_price + (amortised.per_part if amortised else 0) + to_cent(packing.freight_total / quantity)


def release_advice(
    planned: PlannedCandidate, cost: LandedCost, pattern: Pattern, catalog: Catalog, recalled: Recalled
) -> ReleaseAdvice:
    """The release size that is cheapest in a year, by the real price of each size worth a look.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]
    cost : LandedCost
        Its cost at the releases asked for [$].
    pattern : Pattern
        How parts stand on a pallet [-].
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled
        What was worked out already [-].

    Returns
    -------
    advice : ReleaseAdvice
        [$]
    """
    rates, annual = catalog.rates, planned.request.annual
    asked = tuple(one.quantity for one in cost.breaks)
    carrying = rates.advice.stock_carrying
    whole, _ = release_inputs(planned, annual, catalog, recalled)
    offer = whole.sheet.offer
    marks = (offer.minimum_order, *(tier.from_mass for tier in offer.tiers))
    steps = tuple(least_for_order(mass, whole.process, whole.sheet, rates) for mass in marks)
    smallest = min(annual, max(-(-annual // RELEASES_A_YEAR[-1]), steps[0]))
    shipment = shipment_of(loaded_pallets(pattern, annual, rates.packing))
    per_truck = pattern.capacity * pallets_per_truck(shipment, rates.freight)
    curve = priced_sizes(
        lambda quantity: landed_price(planned, quantity, cost.amortised, catalog, recalled),
        sizes_worth_pricing(annual, asked, pattern.capacity, per_truck, steps, smallest),
        annual, carrying, smallest,
    )  # fmt: skip
    best = cheapest(one for one in curve if smallest <= one.quantity <= annual)
    named = tuple(one for one in curve if one.quantity in asked)
    return ReleaseAdvice(
        annual=annual,
        carrying=carrying,
        carrying_source=rates.told.of("advice.stock_carrying"),
        best=best,
        asked=named,
        curve=curve,
        saving=max(Decimal(0), cheapest(named).yearly - best.yearly),
        smallest=smallest,
        square_root=_square_root(price_release(whole, rates, recalled), whole, annual, rates),
    )


def _square_root(release: Release, inputs: ReleaseInputs, annual: int, rates: Rates) -> float | None:
    """The classic lot size from what a release costs whatever its size: set-up, colour, start-up shots; no freight."""
    by_shot = sum(release.named(name).total for name in ("sheet", "regrind credit", "forming"))
    once = sum(each.total for each in release.lines if each.name in ("set-up", "colour charge"))
    once += by_shot * startup_shots(inputs.process, rates.forming) / release.need.shots
    price = release.exact_price * release.quantity
    per_release = once * price / release.manufacturing_cost  # with its share of overhead and margin
    unit_cost = (price - per_release) / release.quantity
    carrying = rates.advice.stock_carrying
    return square_root_lot(annual, float(per_release), float(carrying), float(unit_cost)) if carrying else None


def _ltl_pack(inputs: ReleaseInputs, rates: Rates, recalled: Recalled) -> LtlPack:
    """The price with the foam that LTL needs, less the price without."""
    plain = replace(inputs, pack=replace(inputs.pack, foam=False))
    with_foam, without = (price_release(each, rates, recalled).exact_price for each in (inputs, plain))
    return LtlPack(inputs.quantity, to_cent(with_foam - without))
