"""What a price consists of. Money is Decimal; a line keeps its inputs so that it can be opened."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from quoting.costing.money import LINE_STEP, Input
from quoting.words import Words


@dataclass(frozen=True)
class CostLine:
    """``total`` for the release, exact; ``per_part`` rounded to 0.0001. ``basis`` is the formula in words."""

    quantity: int
    name: str
    total: Decimal
    per_part: Decimal
    basis: str
    inputs: tuple[Input, ...] = ()


def line(quantity: int, name: str, total: Decimal, basis: str, inputs: tuple[Input, ...] = ()) -> CostLine:
    """A cost line of a release: ``total`` exact, per part rounded to 0.0001.

    Parameters
    ----------
    quantity : int
        Size of the release [count], above 0.
    name : str
        Name of the line [-].
    total : Decimal
        For the whole release [$].
    basis : str
        The formula in words [-].
    inputs : tuple of Input
        What went in [-].

    Returns
    -------
    line : CostLine
        [$]
    """
    return CostLine(quantity, name, total, (total / quantity).quantize(LINE_STEP, ROUND_HALF_UP), basis, inputs)


@dataclass(frozen=True)
class PriceBreak:
    """``unit_price`` ex works; landed includes freight to the customer's dock."""

    quantity: int
    unit_price: Decimal
    freight_per_part: Decimal
    landed_unit_price: Decimal
    setup_per_part: Decimal
    lead_time_weeks: float
    press_hours: float
    trim_hours: float


@dataclass(frozen=True)
class ToolingLine:
    name: str
    price: Decimal
    lead_time_weeks: float
    basis: str
    inputs: tuple[Input, ...] = ()


@dataclass(frozen=True)
class ToolingOption:
    """What stands beside the tooling and in no sum: an offer, or an estimate from ``low`` to ``high`` [$]."""

    name: str
    low: Decimal
    high: Decimal
    lead_time_weeks: float
    basis: str
    inputs: tuple[Input, ...] = ()


@dataclass(frozen=True)
class Amortised:
    """Tooling paid in the price of the first ``parts``: ``parts x per_part = tooling + carrying``, to the cent."""

    parts: int
    years: Decimal  # that they take at the yearly quantity
    rate: Decimal  # a year, on what is outstanding
    tooling: Decimal
    carrying: Decimal
    per_part: Decimal


@dataclass(frozen=True)
class Packing:
    parts_per_pallet: int
    pallets: int
    parts_per_layer: int
    pallet_mass: float  # kg gross, one full pallet
    pallet_volume: float  # m3
    density_pcf: float
    freight_class: str
    mode: str  # ltl or truckload
    distance: float  # m, road
    why_mode: str
    freight_total: Decimal
    ltl_total: Decimal | None  # None where LTL is not allowed
    truckload_total: Decimal


@dataclass(frozen=True)
class Excess:
    """Sheet that must be bought beyond the release to meet a mill's minimum order. Its cost is not in the price."""

    quantity: int
    order_mass: float  # kg the release needs
    minimum_order: float  # kg
    cost: Decimal = Decimal(0)  # $ of the surplus at the tier the release itself reaches


@dataclass(frozen=True)
class Risk:
    """One reason for more margin. ``key`` is its rate; ``adder`` a share of the price [-]."""

    key: str
    name: str
    adder: Decimal
    why: Words


@dataclass(frozen=True)
class LandedCost:
    lines: tuple[CostLine, ...]  # of every release, release by release; they add up to its unit price
    breaks: tuple[PriceBreak, ...]  # ascending by quantity
    tooling: tuple[ToolingLine, ...]
    packing: Packing  # at the ranking release
    packings: tuple[Packing, ...]  # one per release
    excess: tuple[Excess, ...]
    amortised: Amortised | None = None  # None: the tooling is billed by itself
    options: tuple[ToolingOption, ...] = ()
    risks: tuple[Risk, ...] = ()  # what adds to the margin

    @property
    def ranking_price(self) -> Decimal:
        """Landed unit price at the largest release: what candidates are compared by."""
        return self.breaks[-1].landed_unit_price
