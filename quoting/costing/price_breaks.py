"""The cost lines of one release, from sheet to margin, and the price they add up to."""

from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal
from functools import cached_property

from quoting.catalog import Rates, Sources
from quoting.costing.correcting import Corrected
from quoting.costing.formulas import handling_cost, overhead_on, price_of
from quoting.costing.labour import (
    PressInputs,
    SetupInputs,
    TrimInputs,
    forming_cost,
    forming_line,
    press_hours,
    setup_line,
    trim_hours,
    trim_line,
)
from quoting.costing.lines import CostLine, Risk, line, total_of
from quoting.costing.money import LINE_STEP, Input, given, to_cent, up_to_cent
from quoting.costing.packing import PackInputs, material_of_packing, packing_line
from quoting.costing.regrind import regrind_line
from quoting.costing.risk import margin_share
from quoting.costing.secondary import Worked, secondary_line, worked
from quoting.costing.sheet import Need, SheetInputs, colour_line, need_of, sheet_line
from quoting.costing.surplus import surplus_line
from quoting.intake.part import Secondary
from quoting.routing.recalled import Recalled

AMORTISED = "tooling, amortised"
ROUNDING = "rounding to the cent"
NOT_MANUFACTURING = ("overhead", "margin", "minimum release", ROUNDING, AMORTISED)


@dataclass(frozen=True)
class ReleaseInputs:
    """All that the price of one release depends on beside the rates. ``transport`` [$] is between own plants."""

    quantity: int
    process: str
    sheet: SheetInputs
    press: PressInputs
    trim: TrimInputs
    secondary: tuple[Secondary, ...]
    pack: PackInputs
    transport: Decimal = Decimal(0)
    risks: tuple[Risk, ...] = ()


@dataclass(frozen=True)
class Release:
    """A priced release. The ``per_part`` of its lines add up to ``unit_price`` exactly.

    Most layouts of an answer are only compared by price, so the lines are written when they are asked for.
    """

    quantity: int
    need: Need
    unit_price: Decimal
    setup_per_part: Decimal
    press_hours: Decimal
    trim_hours: Decimal
    written: Callable[[], tuple[CostLine, ...]] = field(repr=False)

    @cached_property
    def lines(self) -> tuple[CostLine, ...]:
        return self.written()

    def named(self, name: str) -> CostLine:
        """The line of that name; StopIteration where there is none."""
        return next(each for each in self.lines if each.name == name)

    @property
    def exact_price(self) -> Decimal:
        """Price of one part before it is rounded to the cent, without tooling that is paid in it [$]."""
        return total_of(each for each in self.lines if each.name not in (ROUNDING, AMORTISED)) / self.quantity

    @property
    def manufacturing_cost(self) -> Decimal:
        return total_of(each for each in self.lines if each.name not in NOT_MANUFACTURING)


def price_release(inputs: ReleaseInputs, rates: Rates, recalled: Recalled | None = None) -> Release:
    """Price one release: its lines, the unit price they add up to, and the hours it takes.

    ``price = manufacturing x (1 + overhead) / (1 - margin)``, at least the minimum release price;
    the margin is the base and an adder for each risk.

    Parameters
    ----------
    inputs : ReleaseInputs
        Quantity, sheet, press, trim, operations, packing [-].
    rates : Rates
        Rates in force [-].
    recalled : Recalled, optional
        What the answer worked out already; inputs that are the same objects have their lines in common [-].

    Returns
    -------
    release : Release
        [$, h]
    """
    recalled = recalled or Recalled()
    return priced(costs_of(inputs, rates, recalled), rates, recalled)


def costs_of(inputs: ReleaseInputs, rates: Rates, recalled: Recalled) -> "Costs":
    """Manufacturing cost of one release.

    Parameters
    ----------
    inputs : ReleaseInputs
        Quantity, sheet, press, trim, operations, packing [-].
    rates : Rates
        Rates in force [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    costs : Costs
        [$]
    """
    quantity, press, sources = inputs.quantity, inputs.press, rates.told
    at_press = press.setup_hours, press.hour_rate, press.setup_crew, press.labour_rate, press.setup
    bought = _bought_for(inputs, inputs.sheet, rates, recalled)
    finished = recalled.of(
        _finished, quantity, bought.need.pieces, inputs.trim, inputs.secondary, inputs.pack, rates, sources
    )
    setup = recalled.of(_setup, quantity, *at_press, inputs.trim, rates, sources)
    return Costs(inputs, bought, setup, finished)


def priced(costs: "Costs", rates: Rates, recalled: Recalled) -> Release:
    """A release by its manufacturing cost.

    Parameters
    ----------
    costs : Costs
        [$]
    rates : Rates
        Rates in force [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    release : Release
        [$, h]
    """
    sources, bought = rates.told, costs.bought
    return Release(
        costs.inputs.quantity,
        bought.need,
        _unit_price(costs.inputs.quantity, _price(costs.total, costs.inputs.risks, rates), rates),
        costs.setup.per_part,
        press_hours(bought.need.shots, costs.inputs.press),
        costs.finished.trim_hours,
        lambda: _lines(costs, rates, sources),
    )


def price_on_another_blank(
    costs: "Costs", sheet: SheetInputs, press: PressInputs, rates: Rates, recalled: Recalled
) -> Decimal:
    """The unit price of the same parts from another blank, on which nothing depends but sheet and forming.

    Parameters
    ----------
    costs : Costs
        Of the same release of the same part, formed on the same machine [$].
    sheet : SheetInputs
        What one shot of this blank takes [-].
    press : PressInputs
        The machine at its pace with this blank [-].
    rates : Rates
        Rates in force [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    price : Decimal
        As ``price_release`` has it, to the last digit [$].
    """
    inputs = costs.inputs
    bought = _bought_for(inputs, sheet, rates, recalled)
    total = costs.summed(bought, forming_cost(bought.need.shots, press))
    return _unit_price(inputs.quantity, _price(total, inputs.risks, rates), rates)


def _bought_for(inputs: ReleaseInputs, sheet: SheetInputs, rates: Rates, recalled: Recalled) -> "Bought":
    handled = inputs.secondary, inputs.pack, rates, rates.told
    return recalled.by(
        (inputs.quantity, inputs.process, sheet, *handled),
        _bought, inputs.quantity, inputs.process, sheet, *handled, recalled,
    )  # fmt: skip


@dataclass(frozen=True)
class Bought:
    """Sheet of a release, the same on whatever machine it is formed."""

    need: Need
    lines: tuple[CostLine, ...]
    total: Decimal


@dataclass(frozen=True)
class Finished:
    """Trimming to packing of a release, the same of whatever blank the part was formed."""

    lines: tuple[CostLine, ...]
    packed: CostLine
    trim_hours: Decimal


def _bought(
    quantity: int,
    process: str,
    sheet: SheetInputs,
    secondary: tuple[Secondary, ...],
    pack: PackInputs,
    rates: Rates,
    sources: Sources,
    recalled: Recalled,
) -> Bought:
    need = need_of(quantity, process, sheet, rates)
    bought = sheet_line(quantity, process, sheet, need, rates, sources)
    colour = (colour_line(quantity, sheet.offer),) if sheet.offer.colour_charge else ()
    credit = regrind_line(quantity, sheet, need, rates, sources)
    operations = recalled.of(worked, quantity, need.pieces, secondary, rates)
    handled = _handling_line(quantity, operations, pack, bought, rates, sources)
    surplus = surplus_line(quantity, sheet, need)
    lines = (bought, *((surplus,) if surplus else ()), *colour, credit, handled)
    return Bought(need, lines, total_of(lines))


def _finished(
    quantity: int,
    pieces: int,
    trim: TrimInputs,
    secondary: tuple[Secondary, ...],
    pack: PackInputs,
    rates: Rates,
    sources: Sources,
) -> Finished:
    after = (secondary_line(quantity, pieces, secondary, pack.bench, rates, sources),) if secondary else ()
    return Finished(
        (trim_line(quantity, pieces, trim, rates, sources), *after),
        packing_line(quantity, pack, rates, sources),
        trim_hours(pieces, trim),
    )


@dataclass(frozen=True)
class Costs:
    """Manufacturing cost of a release: lines that it shares with others, and what forming it takes beside them."""

    inputs: ReleaseInputs
    bought: Bought
    setup: CostLine
    finished: Finished

    @property
    def total(self) -> Decimal:
        """The sum of ``lines``, in their order, without writing them [$]."""
        return self.summed(self.bought, forming_cost(self.bought.need.shots, self.inputs.press))

    def summed(self, bought: Bought, formed: Decimal) -> Decimal:
        """The same of parts from such sheet, formed for so much [$]."""
        before = bought.total + self.setup.total + formed
        return total_of(self.finished.lines, before) + self.inputs.transport + self.finished.packed.total

    @property
    def lines(self) -> tuple[CostLine, ...]:
        """Sheet to packing, in the order in which the part comes into being."""
        quantity, transport, moved = self.inputs.quantity, self.inputs.transport, ()
        formed = forming_line(quantity, self.bought.need.shots, self.inputs.press)
        if transport:
            basis = "the cheaper of LTL and truckload from the forming plant to the plant that trims, an estimate"
            moved = (line(quantity, "transport between plants", transport, basis),)
        return (*self.bought.lines, self.setup, formed, *self.finished.lines, *moved, self.finished.packed)


def _added(cost: Decimal, risks: tuple[Risk, ...], rates: Rates) -> tuple[Decimal, Decimal]:
    """Overhead as a share of manufacturing cost, margin as a share of the price [$]."""
    overhead = overhead_on(cost, rates.price.overhead)
    full = cost + overhead
    return overhead, price_of(full, margin_share(risks, rates.price, rates.margin)) - full


def _price(cost: Decimal, risks: tuple[Risk, ...], rates: Rates) -> Decimal:
    """What a release is sold at by its cost [$]."""
    overhead, margin = _added(cost, risks, rates)
    return cost + overhead + margin


def _unit_price(quantity: int, price: Decimal, rates: Rates) -> Decimal:
    """The exact price of a release over its quantity, rounded once; at least the least that a release must bring."""
    by_cost, floor = to_cent(price / quantity), rates.price.minimum_release_price
    return by_cost if quantity * by_cost >= floor else up_to_cent(floor / quantity)


def _lines(costs: Costs, rates: Rates, sources: Sources) -> tuple[CostLine, ...]:
    """Every line of one release, closed so that they add up to a price in whole cents."""
    quantity, risks, made = costs.inputs.quantity, costs.inputs.risks, costs.lines
    sold = made + _price_lines(quantity, total_of(made), risks, rates, sources)
    return _closed(quantity, sold, rates, sources)


def _setup(
    quantity: int,
    hours: float,
    hour_rate: Decimal,
    crew: float,
    labour_rate: Decimal,
    corrected: Corrected | None,
    trim: TrimInputs,
    rates: Rates,
    sources: Sources,
) -> CostLine:
    return setup_line(quantity, SetupInputs(hours, hour_rate, crew, labour_rate, corrected), trim, rates, sources)


def _handling_line(
    quantity: int,
    work: tuple[Worked, ...],
    pack: PackInputs,
    bought: CostLine,
    rates: Rates,
    sources: Sources,
) -> CostLine:
    """A share of bought material: sheet, the material of operations, packing material."""
    share = rates.sheet.material_handling
    operations = sum([one.material for one in work], Decimal(0))
    packing = quantity * material_of_packing(pack, rates.packing)

    def inputs() -> tuple[Input, ...]:
        return (
            given("sheet", bought.total, "$"),
            given("material of operations", operations, "$"),
            given("packing material", packing, "$"),
            given("material handling", share, "-", sources.of("sheet.material_handling")),
        )

    basis = "(sheet + material of operations + packing material) x handling share"
    return line(quantity, "material handling", handling_cost(share, bought.total, operations, packing), basis, inputs)


def _price_lines(
    quantity: int, cost: Decimal, risks: tuple[Risk, ...], rates: Rates, sources: Sources
) -> tuple[CostLine, ...]:
    overhead, margin = _added(cost, risks, rates)

    def on_cost() -> tuple[Input, ...]:
        return (
            given("manufacturing cost", cost, "$"),
            given("overhead", rates.price.overhead, "-", sources.of("price.overhead")),
        )

    def on_price() -> tuple[Input, ...]:
        most = given("most that base and risks come to", rates.margin.most, "-", sources.of("margin.most"))
        return (
            given("total cost", cost + overhead, "$"),
            given("base margin", rates.price.margin, "-", sources.of("price.margin")),
            *(given(f"added for risk: {each.name}", each.adder, "-", sources.of(each.key)) for each in risks),
            *((most,) if risks else ()),
            given("margin", margin_share(risks, rates.price, rates.margin), "-"),
        )

    return (
        line(quantity, "overhead", overhead, "manufacturing cost x overhead share", on_cost),
        line(quantity, "margin", margin, "total cost / (1 - margin) - total cost", on_price),
    )


def _closed(quantity: int, sold: tuple[CostLine, ...], rates: Rates, sources: Sources) -> tuple[CostLine, ...]:
    """The lines with the minimum release, where it binds, and the rounding to the cent.

    The closing line takes up, per part, what whole cents and the rounding of each line leave over and, in its total,
    what whole cents make of the release.
    """
    total, floor = total_of(sold), rates.price.minimum_release_price
    unit_price = _unit_price(quantity, total, rates)
    if total < floor and quantity * to_cent(total / quantity) < floor:

        def inputs() -> tuple[Input, ...]:
            return (given("minimum release price", floor, "$", sources.of("price.minimum_release_price")),)

        extra = line(quantity, "minimum release", floor - total, "minimum price of a release - price by cost", inputs)
        sold, total = (*sold, extra), total + extra.total
    basis = "what a price in whole cents adds to or takes from the lines above"
    left = (unit_price - sum([each.per_part for each in sold], Decimal(0))).quantize(LINE_STEP, ROUND_HALF_UP)
    return (*sold, CostLine(quantity, ROUNDING, quantity * unit_price - total, left, basis))
