"""Taking over a customer's tool: inspection on arrival, sample shots, and what repairs are likely to cost."""

from quoting.catalog import Rates, Sources
from quoting.costing.correcting import RUN_CORRECTION, SETUP_CORRECTION, SHEET_CORRECTION, shown
from quoting.costing.labour import PressInputs
from quoting.costing.lines import ToolingLine, ToolingOption
from quoting.costing.money import PLANT_DATA, exact, given, pounds, to_dollar
from quoting.costing.sheet import SheetInputs, source_of, tier_price
from quoting.costing.tooling import forming_tool, tool_price, tooling_rate
from quoting.routing.candidate import PlannedCandidate


def transfer_lines(rates: Rates, sheet: SheetInputs, press: PressInputs, sources: Sources) -> tuple[ToolingLine, ...]:
    """Inspection on arrival and the sampling run.

    ``sampling = (shots x sheet + (set-up + shots / shots per hour) x (press + crew x labour)) x (1 + overhead) /
    (1 - margin)``, whole dollars; sheet at the price of so small an order.

    Parameters
    ----------
    rates : Rates
        Rates in force [-].
    sheet : SheetInputs
        Blank and offer [-].
    press : PressInputs
        The forming machine [$/h, 1/h].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    lines : tuple of ToolingLine
        [$, weeks]
    """
    price, shots = rates.price, rates.transfer.sampling_shots
    arrival = ToolingLine(
        "transfer_inspection",
        price.transfer_inspection,
        price.transfer_weeks,
        "inspection on arrival of the customer's tool; repairs are quoted after it",
        (given("inspection on arrival", price.transfer_inspection, "$", sources.of("price.transfer_inspection")),),
    )
    mass = shots * sheet.blanks_per_shot * exact(sheet.mass_a_blank) * rates.sheet.billed_weight_factor
    per_pound = tier_price(sheet.offer, mass)
    hours = press.hours_of_setup + shots / press.shots_per_hour
    hourly = press.hour_rate + exact(press.setup_crew) * press.labour_rate
    cost = pounds(mass) * per_pound + hours * hourly
    inputs = (
        given("sample shots", shots, "-", sources.of("transfer.sampling_shots")),
        given("sheet for them", mass, "kg"),
        given("price of sheet", per_pound, "$/lb", source_of(sheet.offer)),
        given("press set-up", press.setup_hours, "h", PLANT_DATA),
        *shown(press.setup, SETUP_CORRECTION),
        *shown(press.run, RUN_CORRECTION),
        *shown(sheet.corrected, SHEET_CORRECTION),
        given("hours at the press", hours, "h"),
        given("press rate", press.hour_rate, "$/h", PLANT_DATA),
        given("set-up crew", press.setup_crew, "people", PLANT_DATA),
        given("labour rate", press.labour_rate, "$/h", PLANT_DATA),
        given("overhead", price.overhead, "-", sources.of("price.overhead")),
        given("margin", price.margin, "-", sources.of("price.margin")),
    )
    basis = (
        "(sheet for the sample shots + (set-up + shots / shots per hour) x (press + set-up crew x labour)) x "
        "(1 + overhead) / (1 - margin), rounded to the whole dollar; the set-up of a first release is not spared by it"
    )
    total = to_dollar(cost * (1 + price.overhead) / (1 - price.margin))
    return arrival, ToolingLine("sampling_run", total, price.transfer_weeks, basis, inputs)


def repairs_allowance(planned: PlannedCandidate, rates: Rates, sources: Sources) -> ToolingOption:
    """What repairs of a transferred tool are likely to cost: an estimate from low to high that is in no price.

    ``share x price of a new forming tool of this kind and size with one cavity``

    Parameters
    ----------
    planned : PlannedCandidate
        The candidate with its request [-].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    allowance : ToolingOption
        [$]
    """
    part, transfer, kind = planned.request.part, rates.transfer, forming_tool(planned)
    rate = tooling_rate(kind, rates)
    new = tool_price(rate, part.length, part.width, part.depth, 1)
    inputs = (
        given("such a tool new", new, "$", sources.of(f"tooling.{kind}.price")),
        given("low share", transfer.repairs_low, "-", sources.of("transfer.repairs_low")),
        given("high share", transfer.repairs_high, "-", sources.of("transfer.repairs_high")),
    )
    basis = (
        f"an estimate, in no price: a share of what such a tool ({kind.replace('_', ' ')}, one cavity) would cost new; "
        "the arrival inspection decides, and nothing is repaired unasked"
    )
    low, high = to_dollar(transfer.repairs_low * new), to_dollar(transfer.repairs_high * new)
    return ToolingOption("likely_repairs", low, high, 0.0, basis, inputs)
