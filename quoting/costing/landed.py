"""From a planned candidate to what its parts cost on the customer's dock, at every release size asked for."""

from dataclasses import replace
from datetime import date

from machines.promise import day_of
from quoting.catalog import Catalog, Rates, Sources
from quoting.costing.amortising import amortised_over, with_tooling
from quoting.costing.inputs import offer_of, plant_that_trims, press_inputs, sheet_inputs
from quoting.costing.lead import WEEK, Course, course_of, release_timing
from quoting.costing.lines import LandedCost, PriceBreak, ToolingLine, ToolingOption
from quoting.costing.price_breaks import Release
from quoting.costing.priced_release import PricedRelease, priced_release
from quoting.costing.sheet import SheetInputs
from quoting.costing.surplus import excess_of
from quoting.costing.tool_room import tool_room_of
from quoting.costing.tooling import prototype_option, tooling_lines
from quoting.costing.transfer import repairs_allowance, transfer_lines
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled


def landed_cost(
    planned: PlannedCandidate,
    catalog: Catalog,
    on: date,
    releases: tuple[int, ...] = (),
    recalled: Recalled | None = None,
) -> LandedCost:
    """Cost lines, price breaks, tooling, packing and freight of one candidate, for every release size.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    catalog : Catalog
        Rates, plants and work already booked [-].
    on : date
        Day of the answer [-].
    releases : tuple of int
        Good parts of each release, ascending [count]; those of the request where none are named.
    recalled : Recalled, optional
        What the answer worked out for other candidates [-].

    Returns
    -------
    cost : LandedCost
        [$]

    Raises
    ------
    CannotPriceError
        No sheet offer, no trimmer, or a rate that the part needs is missing.
    NoFreeHoursError
        Machine, trimmer, bench or tool room has not the hours of a release within twenty years.
    """
    recalled, rates = recalled or Recalled(), catalog.rates
    sizes = releases or planned.request.releases
    offered = tuple(priced_release(planned, quantity, catalog, recalled) for quantity in sizes)
    tooling, sources = tooling_of(planned, catalog, recalled), rates.told
    amortised, room = amortised_over(planned.request, tooling, rates), tool_room_of(planned, rates, recalled)
    sold = tuple(with_tooling(each.release, amortised, sources) for each in offered)
    course = course_of(planned, tooling, room, plant_that_trims(planned, catalog), catalog, on, recalled)
    packings = tuple(each.packing for each in offered)
    excess = tuple(excess_of(each.quantity, each.need, offer_of(planned)) for each in sold)
    return LandedCost(
        written=lambda: tuple(line for each in sold for line in each.lines),
        breaks=tuple(
            _price_break(each, one, course, rates, on, recalled) for each, one in zip(sold, offered, strict=True)
        ),
        tooling=tooling,
        packing=packings[-1],
        packings=packings,
        excess=tuple(each for each in excess if each is not None),
        amortised=amortised,
        options=_options(planned, rates, sources),
        risks=offered[0].risks,
        tool_room=room,
    )


def tooling_of(planned: PlannedCandidate, catalog: Catalog, recalled: Recalled) -> tuple[ToolingLine, ...]:
    """Tools and fixtures; before those of a transfer its inspection and sampling.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    catalog : Catalog
        Rates and corrections in force [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    lines : tuple of ToolingLine
        [$, weeks]
    """
    rates = catalog.rates
    tools = tooling_lines(planned, rates, recalled)
    if planned.request.tooling != "transfer":
        return tools
    sheet, sources = SheetInputs(*sheet_inputs(planned, catalog, recalled)), rates.told
    return (*transfer_lines(rates, sheet, press_inputs(planned, catalog, recalled), sources), *tools)


def _options(planned: PlannedCandidate, rates: Rates, sources: Sources) -> tuple[ToolingOption, ...]:
    if planned.request.tooling == "transfer":
        return (repairs_allowance(planned, rates, sources),)
    return prototype_option(planned, rates, sources)


def joined(smaller: LandedCost, larger: LandedCost) -> LandedCost:
    """Cost of one candidate at smaller and at larger releases as one.

    Parameters
    ----------
    smaller, larger : LandedCost
        Of the same candidate, at releases that ascend from the one to the other [$].

    Returns
    -------
    cost : LandedCost
        [$]
    """
    return replace(
        larger,
        written=lambda: smaller.lines + larger.lines,
        breaks=smaller.breaks + larger.breaks,
        packings=smaller.packings + larger.packings,
        excess=smaller.excess + larger.excess,
    )


def _price_break(
    priced: Release, offered: PricedRelease, course: Course, rates: Rates, on: date, recalled: Recalled
) -> PriceBreak:
    timing = release_timing(course, priced, offered.inputs, offered.packing, rates, recalled)
    leaves = timing.leaves
    return PriceBreak(
        quantity=priced.quantity,
        unit_price=priced.unit_price,
        freight_per_part=offered.freight_per_part,
        landed_unit_price=priced.unit_price + offered.freight_per_part,
        setup_per_part=priced.setup_per_part,
        lead_time_weeks=leaves / WEEK,
        press_hours=float(priced.press_hours),
        trim_hours=float(priced.trim_hours),
        arrives=day_of(on, leaves + timing.waits.transit),
        timing=timing,
    )
