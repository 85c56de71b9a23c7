"""What new rates make of one open quote: new prices, what is left of the margin, and whether the choice moves."""

from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from quoting.answer import PricedCandidate
from quoting.catalog import Catalog
from quoting.costing.lines import CostLine, LandedCost
from quoting.costing.price_breaks import NOT_MANUFACTURING
from quoting.repricing.basis import Basis, opened
from quoting.repricing.choice import House, choice

# What a price holds beyond its cost: all that the house keeps, or pays for tools with.
BEYOND_COST = frozenset(NOT_MANUFACTURING) - {"overhead"}


@dataclass(frozen=True)
class Route:
    """By what a quote is made."""

    process: str
    plant: str
    machine: str
    polymer: str
    offer: str
    cavities: int


@dataclass(frozen=True)
class ReleasePrice:
    """One release [$]. ``cost`` of one part with overhead; ``tooling`` is what of the unit price pays for tools."""

    quantity: int
    unit: Decimal
    freight: Decimal
    landed: Decimal
    cost: Decimal
    tooling: Decimal

    @property
    def margin(self) -> Decimal:
        """Share of the price, without tooling paid in it, that is kept [-]."""
        return margin_left(self, self)


def margin_left(quoted: ReleasePrice, now: ReleasePrice) -> Decimal:
    """What is kept of a quoted landed price when freight and cost are those of now, as a share of the price.

    ``(landed - tooling - freight now - cost now) / (landed - tooling - freight now)``

    Parameters
    ----------
    quoted : ReleasePrice
        The price that stands, freight and tooling included [$].
    now : ReleasePrice
        Freight and cost of the same release under the rates of now [$].

    Returns
    -------
    margin : Decimal
        [-], below 0 where the price does not pay its cost; -1 where it does not even pay its freight

    Examples
    --------
    >>> one = ReleasePrice(100, Decimal(10), Decimal(2), Decimal(12), Decimal(8), Decimal(0))
    >>> margin_left(one, one)
    Decimal('0.2')
    """
    kept = quoted.landed - quoted.tooling - now.freight
    return (kept - now.cost) / kept if kept > 0 else Decimal(-1)


@dataclass(frozen=True)
class Priced:
    """A route with the prices of its releases, ascending by quantity."""

    route: Route
    releases: tuple[ReleasePrice, ...]


@dataclass(frozen=True)
class Repriced:
    """One open quote under other rates. ``now`` None: it can no longer be priced, ``why`` says for what reason.

    ``moved`` [$] and ``moved_share`` [-] are of the landed price at the largest release; ``margin_before`` and
    ``margin_left`` are the least over the releases.
    """

    quoted: Priced
    now: Priced | None
    why: str
    moved: Decimal | None
    moved_share: Decimal | None
    margin_before: Decimal
    margin_left: Decimal | None
    below_floor: bool
    crosses_floor: bool
    changes_route: bool


def priced_of(chosen: PricedCandidate) -> Priced:
    """Route and prices of a priced candidate.

    Parameters
    ----------
    chosen : PricedCandidate
        Priced at every release [$].

    Returns
    -------
    priced : Priced
        [$]
    """
    candidate, cost = chosen.judged.planned.candidate, chosen.cost
    route = Route(
        candidate.process, candidate.plant.code, candidate.machine.code, candidate.polymer.name, candidate.offer.name,
        candidate.layout.cavities,
    )  # fmt: skip
    return Priced(route, tuple(_release(each, cost) for each in cost.breaks))


def _release(each: Any, cost: LandedCost) -> ReleasePrice:
    lines = tuple(line for line in cost.lines if line.quantity == each.quantity)
    return release_price(
        each.quantity, each.unit_price, each.freight_per_part, each.landed_unit_price, _cost(lines, each.quantity),
        cost.amortised.per_part if cost.amortised else Decimal(0),
    )  # fmt: skip


def release_price(
    quantity: int, unit: Decimal, freight: Decimal, landed: Decimal, total: Decimal, tooling: Decimal
) -> ReleasePrice:
    """One release, its ``total`` cost [$] brought to one part and to the hundredth of a cent."""
    return ReleasePrice(quantity, unit, freight, landed, (total / quantity).quantize(Decimal("0.0001")), tooling)


def _cost(lines: tuple[CostLine, ...], quantity: int) -> Decimal:
    return sum((line.total for line in lines if line.name not in BEYOND_COST), Decimal(0))


def quoted_of(snapshot: dict[str, Any]) -> Priced:
    """Route and prices of a stored quote.

    Parameters
    ----------
    snapshot : dict
        The answer as stored, a quote [$].

    Returns
    -------
    priced : Priced
        [$]
    """
    chosen = snapshot["chosen"]
    candidate, cost = chosen["judged"]["planned"]["candidate"], chosen["cost"]
    route = Route(
        candidate["process"], candidate["plant"]["code"], candidate["machine"]["code"], candidate["polymer"]["name"],
        candidate["offer"]["name"], candidate["layout"]["along"] * candidate["layout"]["across"],
    )  # fmt: skip
    amortised = Decimal(cost["amortised"]["per_part"]) if cost["amortised"] else Decimal(0)
    return Priced(route, tuple(_stored_release(each, cost["lines"], amortised) for each in cost["breaks"]))


def _stored_release(each: dict[str, Any], lines: list[dict[str, Any]], tooling: Decimal) -> ReleasePrice:
    costs = (one for one in lines if one["quantity"] == each["quantity"] and one["name"] not in BEYOND_COST)
    total = sum((Decimal(one["total"]) for one in costs), Decimal(0))
    prices = (Decimal(each[name]) for name in ("unit_price", "freight_per_part", "landed_unit_price"))
    return release_price(each["quantity"], *prices, total, tooling)


def priced_by_basis(basis: Basis, house: House) -> Priced | None:
    """Route and prices that a full answer would give, from what was kept of an earlier one.

    Parameters
    ----------
    basis : Basis
        Of the same inquiry and the same physical catalog [SI].
    house : House
        Rates, bookings and prices of sheet on the day [-].

    Returns
    -------
    priced : Priced or None
        None where no candidate fits or has free hours [$].

    Raises
    ------
    StaleBasisError
        The basis does not belong to this catalog.
    CannotPriceError
        A rate that the part needs is missing.
    """
    groups = opened(basis, house.known)
    chosen = choice(groups, basis.request, house) if groups else None
    return priced_of(chosen) if chosen else None


def compared(quoted: Priced, now: Priced | None, why: str, catalog: Catalog) -> Repriced:
    """How a quote moves from what was quoted to what it would be now.

    Parameters
    ----------
    quoted : Priced
        As quoted [$].
    now : Priced or None
        Under the rates of the day; None where it cannot be priced [$].
    why : str
        Why it cannot be priced; '' where it can [-].
    catalog : Catalog
        For the margin floor [-].

    Returns
    -------
    repriced : Repriced
        [$]
    """
    before = min(one.margin for one in quoted.releases)
    if now is None:
        return Repriced(quoted, None, why, None, None, before, None, False, False, False)
    floor = catalog.rates.price.margin_floor
    pairs = tuple(zip(quoted.releases, now.releases, strict=True))
    kept = [(was.margin, margin_left(was, each)) for was, each in pairs]
    was, each = pairs[-1]
    moved = each.landed - was.landed
    return Repriced(
        quoted, now, "", moved, moved / was.landed, before, min(left for _, left in kept),
        below_floor=any(left < floor for _, left in kept),
        crosses_floor=any(left < floor <= first for first, left in kept),
        changes_route=now.route != quoted.route,
    )  # fmt: skip
