"""The cost lines of one release, from sheet to margin, and the price they add up to."""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from quoting.catalog import Rates
from quoting.costing.formulas import handling_cost, overhead_on, price_of
from quoting.costing.labour import (
    PressInputs,
    SetupInputs,
    TrimInputs,
    forming_line,
    press_hours,
    setup_line,
    trim_hours,
    trim_line,
)
from quoting.costing.lines import CostLine, Risk, line
from quoting.costing.money import LINE_STEP, Sources, given, sources_of, to_cent, up_to_cent
from quoting.costing.packing import PackInputs, material_of_packing, packing_line
from quoting.costing.regrind import regrind_line
from quoting.costing.risk import margin_share
from quoting.costing.secondary import secondary_line, worked
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
    """A priced release. The ``per_part`` of its lines add up to ``unit_price`` exactly."""

    quantity: int
    need: Need
    lines: tuple[CostLine, ...]
    unit_price: Decimal
    press_hours: Decimal
    trim_hours: Decimal

    def named(self, name: str) -> CostLine:
        """The line of that name; StopIteration where there is none."""
        return next(each for each in self.lines if each.name == name)

    @property
    def exact_price(self) -> Decimal:
        """Price of one part before it is rounded to the cent, without tooling that is paid in it [$]."""
        sold = (each.total for each in self.lines if each.name not in (ROUNDING, AMORTISED))
        return sum(sold, Decimal(0)) / self.quantity

    @property
    def manufacturing_cost(self) -> Decimal:
        return sum((each.total for each in self.lines if each.name not in NOT_MANUFACTURING), Decimal(0))


def price_release(inputs: ReleaseInputs, rates: Rates, recalled: Recalled | None = None) -> Release:
    """Price one release: its lines, the unit price they add up to, and the hours it takes.

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
    quantity, sources = inputs.quantity, recalled.of(sources_of, rates)
    handled = inputs.secondary, inputs.pack, rates, sources
    bought = recalled.of(_bought, quantity, inputs.process, inputs.sheet, *handled)
    finished = recalled.of(_finished, quantity, bought.need.pieces, inputs.trim, *handled)
    lines = release_lines(inputs, bought, finished, rates, sources, recalled)
    unit_price = sum((each.per_part for each in lines), Decimal(0)).quantize(Decimal("0.01"))
    hours = press_hours(bought.need.shots, inputs.press)
    return Release(quantity, bought.need, lines, unit_price, hours, finished.trim_hours)


@dataclass(frozen=True)
class Bought:
    """Sheet of a release, the same on whatever machine it is formed."""

    need: Need
    lines: tuple[CostLine, ...]


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
) -> Bought:
    need = need_of(quantity, process, sheet, rates)
    bought = sheet_line(quantity, process, sheet, need, rates, sources)
    colour = (colour_line(quantity, sheet.offer),) if sheet.offer.colour_charge else ()
    credit = regrind_line(quantity, sheet, need, rates, sources)
    handled = _handling_line(quantity, need.pieces, secondary, pack, bought, rates, sources)
    surplus = surplus_line(quantity, sheet, need)
    return Bought(need, (bought, *((surplus,) if surplus else ()), *colour, credit, handled))


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


def release_lines(
    inputs: ReleaseInputs, bought: Bought, finished: Finished, rates: Rates, sources: Sources, recalled: Recalled
) -> tuple[CostLine, ...]:
    """Every line of one release, closed so that they add up to a price in whole cents.

    ``price = manufacturing x (1 + overhead) / (1 - margin)``, at least the minimum release price;
    the margin is the base and an adder for each risk.

    Parameters
    ----------
    inputs : ReleaseInputs
        As in ``price_release`` [-].
    bought : Bought
        Its sheet [$].
    finished : Finished
        Its trimming to packing [$].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    lines : tuple of CostLine
        [$]
    """
    made = _manufacturing_lines(inputs, bought, finished, rates, sources, recalled)
    sold = made + _price_lines(inputs.quantity, made, inputs.risks, rates, sources)
    return _closed(inputs.quantity, sold, rates, sources)


def _manufacturing_lines(
    inputs: ReleaseInputs, bought: Bought, finished: Finished, rates: Rates, sources: Sources, recalled: Recalled
) -> tuple[CostLine, ...]:
    """Sheet to packing, in the order in which the part comes into being."""
    quantity, press = inputs.quantity, inputs.press
    at_press = press.setup_hours, press.hour_rate, press.setup_crew, press.labour_rate
    setup = recalled.of(_setup, quantity, *at_press, inputs.trim, rates, sources)
    formed = forming_line(quantity, bought.need.shots, press)
    moved = ()
    if inputs.transport:
        basis = "the cheaper of LTL and truckload from the forming plant to the plant that trims, an estimate"
        moved = (line(quantity, "transport between plants", inputs.transport, basis),)
    return (*bought.lines, setup, formed, *finished.lines, *moved, finished.packed)


def _setup(
    quantity: int,
    hours: float,
    hour_rate: Decimal,
    crew: float,
    labour_rate: Decimal,
    trim: TrimInputs,
    rates: Rates,
    sources: Sources,
) -> CostLine:
    return setup_line(quantity, SetupInputs(hours, hour_rate, crew, labour_rate), trim, rates, sources)


def _handling_line(
    quantity: int,
    pieces: int,
    secondary: tuple[Secondary, ...],
    pack: PackInputs,
    bought: CostLine,
    rates: Rates,
    sources: Sources,
) -> CostLine:
    """A share of bought material: sheet, the material of operations, packing material."""
    share = rates.sheet.material_handling
    operations = sum((one.material for one in worked(quantity, pieces, secondary, rates)), Decimal(0))
    packing = quantity * material_of_packing(pack, rates.packing)
    records = (
        given("sheet", bought.total, "$"),
        given("material of operations", operations, "$"),
        given("packing material", packing, "$"),
        given("material handling", share, "-", sources.of("sheet.material_handling")),
    )
    basis = "(sheet + material of operations + packing material) x handling share"
    return line(quantity, "material handling", handling_cost(share, bought.total, operations, packing), basis, records)


def _price_lines(
    quantity: int, made: tuple[CostLine, ...], risks: tuple[Risk, ...], rates: Rates, sources: Sources
) -> tuple[CostLine, ...]:
    """Overhead as a share of manufacturing cost, margin as a share of the price."""
    cost = sum((each.total for each in made), Decimal(0))
    overhead = overhead_on(cost, rates.price.overhead)
    margin = margin_share(risks, rates.price, rates.margin)
    full = cost + overhead
    on_cost = (
        given("manufacturing cost", cost, "$"),
        given("overhead", rates.price.overhead, "-", sources.of("price.overhead")),
    )
    on_price = (
        given("total cost", full, "$"),
        given("base margin", rates.price.margin, "-", sources.of("price.margin")),
        *(given(f"added for risk: {each.name}", each.adder, "-", sources.of(each.key)) for each in risks),
        *(
            (given("most that base and risks come to", rates.margin.most, "-", sources.of("margin.most")),)
            * bool(risks)
        ),
        given("margin", margin, "-"),
    )
    return (
        line(quantity, "overhead", overhead, "manufacturing cost x overhead share", on_cost),
        line(quantity, "margin", price_of(full, margin) - full, "total cost / (1 - margin) - total cost", on_price),
    )


def _closed(quantity: int, sold: tuple[CostLine, ...], rates: Rates, sources: Sources) -> tuple[CostLine, ...]:
    """The lines with the minimum release, where it binds, and the rounding to the cent.

    The price is the exact total over the quantity, rounded once. The closing line takes up, per part, what whole
    cents and the rounding of each line leave over and, in its total, what whole cents make of the release.
    """
    floor = rates.price.minimum_release_price
    total = sum((each.total for each in sold), Decimal(0))
    unit_price = to_cent(total / quantity)
    if quantity * unit_price < floor:
        unit_price = up_to_cent(floor / quantity)
        record = given("minimum release price", floor, "$", sources.of("price.minimum_release_price"))
        extra = line(
            quantity, "minimum release", floor - total, "minimum price of a release - price by cost", (record,)
        )
        sold += (extra,) if extra.total > 0 else ()
    total = sum((each.total for each in sold), Decimal(0))
    per_part = sum((each.per_part for each in sold), Decimal(0))
    basis = "what a price in whole cents adds to or takes from the lines above"
    left = (unit_price - per_part).quantize(LINE_STEP, ROUND_HALF_UP)
    return (*sold, CostLine(quantity, ROUNDING, quantity * unit_price - total, left, basis))
