"""Which release size is cheapest for the customer in a year: what is paid for the parts, and what their stock costs.

Set-up, colour charge and start-up shots are in the price of each release, so that larger releases have cheaper parts
and more stock. The real price function is asked at sizes where it may bend: full pallets, trucks, mill tiers, whole
numbers of releases a year.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from decimal import Decimal
from math import ceil, sqrt

from quoting.catalog import Rates
from quoting.costing.money import exact
from quoting.costing.sheet import SheetInputs, need_of

RELEASES_A_YEAR = (1, 2, 3, 4, 6, 12, 26, 52)  # whole calls of a year: from once to weekly
PALLETS = (1, 2, 3, 4, 6, 8, 12, 16, 24)  # full pallets worth a price
TRUCKS = (1, 2)
ROUNDS = 2  # times that the sizes halfway to the neighbours of the cheapest are priced too

PriceOf = Callable[[int], Decimal]


@dataclass(frozen=True)
class ReleaseCost:
    """What a year costs in releases of ``quantity``: its parts, landed, and the stock of half a release [$]."""

    quantity: int
    landed_unit_price: Decimal
    parts: Decimal
    stock: Decimal
    yearly: Decimal


@dataclass(frozen=True)
class ReleaseAdvice:
    """``curve`` holds every size that was priced, ascending; ``saving`` is against the cheapest size asked for [$]."""

    annual: int
    carrying: Decimal  # share of the value of stock, a year
    carrying_source: str
    best: ReleaseCost
    asked: tuple[ReleaseCost, ...]
    curve: tuple[ReleaseCost, ...]
    saving: Decimal
    smallest: int  # no smaller release was thought of
    square_root: float | None  # parts, by the formula that knows neither tiers nor freight; None: stock costs nothing


def square_root_lot(annual: float, per_release: float, carrying: float, unit_cost: float) -> float:
    """The classic lot size: ``sqrt(2 D S / (i C))``.

    It holds where a release costs a fixed amount, a part costs the same in every release, and stock runs down evenly.

    Parameters
    ----------
    annual : float
        Parts a year, D [count], above 0.
    per_release : float
        Cost of one release whatever its size, S [$].
    carrying : float
        Cost of stock as a share of its value, a year, i [-], above 0.
    unit_cost : float
        Cost of one part beside S, C [$], above 0.

    Returns
    -------
    quantity : float
        [count]

    Raises
    ------
    ValueError
        Nothing is used, or stock costs nothing.

    Examples
    --------
    >>> square_root_lot(1200, 100, 0.25, 6.0)
    400.0
    """
    if not (annual > 0 and carrying > 0 and unit_cost > 0):
        raise ValueError(f"got {annual} a year, carrying {carrying}, unit cost {unit_cost}; all must be above 0")
    return sqrt(2 * annual * per_release / (carrying * unit_cost))


def yearly_cost(quantity: int, landed: Decimal, annual: int, carrying: Decimal) -> ReleaseCost:
    """A year in releases of one size: ``annual x landed + carrying x landed x quantity / 2``.

    Parameters
    ----------
    quantity : int
        Parts of a release [count], above 0.
    landed : Decimal
        Landed price of one part in such a release [$].
    annual : int
        Parts a year [count].
    carrying : Decimal
        Share of the value of stock, a year [-].

    Returns
    -------
    cost : ReleaseCost
        [$]

    Examples
    --------
    >>> yearly_cost(400, Decimal("6.25"), 1200, Decimal("0.25")).yearly
    Decimal('7812.5000')
    """
    parts, stock = annual * landed, carrying * landed * quantity / 2
    return ReleaseCost(quantity, landed, parts, stock, parts + stock)


def priced_sizes(
    price_of: PriceOf, sizes: Iterable[int], annual: int, carrying: Decimal, smallest: int = 1
) -> tuple[ReleaseCost, ...]:
    """A year's cost at each size, and at sizes halfway to the neighbours of the cheapest, so that a bend is not missed.

    Parameters
    ----------
    price_of : callable
        Landed price of one part [$] by the size of the release [count].
    sizes : iterable of int
        Worth pricing [count].
    annual : int
        Parts a year [count].
    carrying : Decimal
        Share of the value of stock, a year [-].
    smallest : int
        The cheapest is sought from here to ``annual`` [count].

    Returns
    -------
    costs : tuple of ReleaseCost
        Ascending by size [$].
    """
    found = {size: yearly_cost(size, price_of(size), annual, carrying) for size in set(sizes)}
    for _ in range(ROUNDS):
        inside = sorted(size for size in found if smallest <= size <= annual)
        place = inside.index(cheapest(found[size] for size in inside).quantity)
        for one in inside[max(0, place - 1) : place] + inside[place + 1 : place + 2]:
            between = (one + inside[place]) // 2
            if between not in found:
                found[between] = yearly_cost(between, price_of(between), annual, carrying)
    return tuple(found[size] for size in sorted(found))


def cheapest(costs: Iterable[ReleaseCost]) -> ReleaseCost:
    """The least yearly cost; of equals the smaller release [$]."""
    return min(costs, key=lambda one: (one.yearly, one.quantity))


def sizes_worth_pricing(
    annual: int, asked: tuple[int, ...], per_pallet: int, per_truck: int, steps: tuple[int, ...], smallest: int
) -> tuple[int, ...]:
    """Sizes at which the price may bend, and whole numbers of releases a year.

    Parameters
    ----------
    annual : int
        Parts a year [count].
    asked : tuple of int
        Sizes that the customer named [count].
    per_pallet, per_truck : int
        Parts on a full pallet and a full truck [count].
    steps : tuple of int
        Least sizes that reach a tier of the mill [count].
    smallest : int
        Nothing below it but what was asked [count].

    Returns
    -------
    sizes : tuple of int
        Ascending [count].
    """
    found = {ceil(annual / calls) for calls in RELEASES_A_YEAR}
    found |= {per_pallet * number for number in PALLETS} | {per_truck * number for number in TRUCKS}
    found |= {*steps, smallest}
    return tuple(sorted({size for size in found if smallest <= size <= annual} | set(asked)))


def least_for_order(mass: float, process: str, sheet: SheetInputs, rates: Rates) -> int:
    """The smallest release whose order of sheet reaches a mass [count]: where a mill's tier begins.

    Parameters
    ----------
    mass : float
        Billed mass [kg].
    process : str
        vacuum, pressure or twin_sheet [-].
    sheet : SheetInputs
        Blank, part and offer [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    quantity : int
        [count], at least 1
    """
    wanted = exact(mass)
    low, high = 0, 1
    while need_of(high, process, sheet, rates).order_mass < wanted:
        low, high = high, 2 * high
    while high - low > 1:  # the order never shrinks with the release
        middle = (low + high) // 2
        enough = need_of(middle, process, sheet, rates).order_mass >= wanted
        low, high = (low, middle) if enough else (middle, high)
    return high
