"""What a price consists of. Money is Decimal; a line keeps its inputs so that it can be opened."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property

from machines.promise import Timing
from quoting.costing.money import LINE_STEP, Input
from quoting.words import Words


def nothing() -> tuple[Input, ...]:
    """The inputs of a line that has none."""
    return ()


@dataclass(frozen=True)
class CostLine:
    """``total`` for the release, exact; ``per_part`` rounded to 0.0001. ``basis`` is the formula in words.

    Most layouts of an answer are only compared by price and their lines never opened, so the inputs are put together
    when they are asked for.
    """

    quantity: int
    name: str
    total: Decimal
    per_part: Decimal
    basis: str
    opened: Callable[[], tuple[Input, ...]] = field(default=nothing, compare=False)

    # What is shown and stored of a line.
    SHOWN = ("quantity", "name", "total", "per_part", "basis", "inputs")

    @cached_property
    def inputs(self) -> tuple[Input, ...]:
        return self.opened()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, CostLine) and all(getattr(self, one) == getattr(other, one) for one in self.SHOWN)


def line(
    quantity: int, name: str, total: Decimal, basis: str, opened: Callable[[], tuple[Input, ...]] = nothing
) -> CostLine:
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
    opened : callable
        Gives what went in, as a tuple of Input [-].

    Returns
    -------
    line : CostLine
        [$]
    """
    return CostLine(quantity, name, total, (total / quantity).quantize(LINE_STEP, ROUND_HALF_UP), basis, opened)


def total_of(lines: Iterable[CostLine], start: Decimal = Decimal(0)) -> Decimal:
    """Sum of the totals of lines, exact to the digits of a Decimal.

    Parameters
    ----------
    lines : iterable of CostLine
        In the order in which they are added [$].
    start : Decimal
        What they are added to [$].

    Returns
    -------
    total : Decimal
        [$]
    """
    return sum([each.total for each in lines], start)


@dataclass(frozen=True)
class PriceBreak:
    """``unit_price`` ex works; landed includes freight to the customer's dock; lead time is to our dock."""

    quantity: int
    unit_price: Decimal
    freight_per_part: Decimal
    landed_unit_price: Decimal
    setup_per_part: Decimal
    lead_time_weeks: float
    press_hours: float
    trim_hours: float
    arrives: date  # at the customer's, when ordered on the day of the answer
    timing: Timing  # ``lead_time_weeks`` and the date come from it


@dataclass(frozen=True)
class ToolingLine:
    name: str
    price: Decimal
    lead_time_weeks: float
    basis: str
    inputs: tuple[Input, ...] = ()


@dataclass(frozen=True)
class ToolRoomLine:
    """Hours of one tool in our own tool room. ``basis`` is the formula in words."""

    name: str
    hours: float
    basis: str
    inputs: tuple[Input, ...] = ()


@dataclass(frozen=True)
class ToolRoom:
    """What the tools take in the tool room of the plant that forms. ``why_none`` says why there is nothing in it."""

    plant: str  # code
    places: int  # people or benches that work at once
    hours: float  # h
    lines: tuple[ToolRoomLine, ...]
    why_none: str = ""


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
    """What a candidate's parts cost at every release; ``written`` gives its lines when they are first asked for."""

    written: Callable[[], tuple[CostLine, ...]] = field(repr=False, compare=False)
    breaks: tuple[PriceBreak, ...]  # ascending by quantity
    tooling: tuple[ToolingLine, ...]
    packing: Packing  # at the ranking release
    packings: tuple[Packing, ...]  # one per release
    excess: tuple[Excess, ...]
    amortised: Amortised | None = None  # None: the tooling is billed by itself
    options: tuple[ToolingOption, ...] = ()
    risks: tuple[Risk, ...] = ()  # what adds to the margin
    tool_room: ToolRoom | None = None  # None in answers from before tool rooms had hours

    # What is shown and stored of it.
    SHOWN = (
        "lines", "breaks", "tooling", "packing", "packings", "excess", "amortised", "options", "risks", "tool_room",
    )  # fmt: skip

    @cached_property
    def lines(self) -> tuple[CostLine, ...]:
        """Of every release, release by release; they add up to its unit price."""
        return self.written()

    def __eq__(self, other: object) -> bool:
        return isinstance(other, LandedCost) and all(getattr(self, one) == getattr(other, one) for one in self.SHOWN)

    @property
    def ranking_price(self) -> Decimal:
        """Landed unit price at the largest release: what candidates are compared by."""
        return self.breaks[-1].landed_unit_price
