"""From a planned candidate to what its parts cost on the customer's dock, at every release size asked for."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cached_property

from machines.machine import Plant, Trimmer
from machines.promise import day_of
from machines.trim import TrimPace, TrimWork, trim_time
from materials.sheet import SheetOffer
from quoting.catalog import PARTS_FORMED, Catalog, Rates, TrimRates
from quoting.costing.amortising import amortised_over, with_tooling
from quoting.costing.correcting import Corrected, corrected
from quoting.costing.labour import PressInputs, TrimInputs
from quoting.costing.lead import WEEK, Course, course_of, release_timing
from quoting.costing.lines import LandedCost, Packing, PriceBreak, Risk, ToolingLine, ToolingOption
from quoting.costing.money import CannotPriceError, Sources, sources_of, to_cent
from quoting.costing.packing import PackInputs, pack, parts_to_interleaf
from quoting.costing.price_breaks import Costs, Release, ReleaseInputs, costs_of, price_on_another_blank, priced
from quoting.costing.risk import risks_of
from quoting.costing.secondary import BenchInputs
from quoting.costing.sheet import SheetInputs
from quoting.costing.shipping import as_formed, as_packed, packed_as, shipped, transport_cost
from quoting.costing.surplus import excess_of
from quoting.costing.tool_room import tool_room_of
from quoting.costing.tooling import prototype_option, tooling_lines
from quoting.costing.transfer import repairs_allowance, transfer_lines
from quoting.intake.part import Part, PartRequest
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
    tooling, sources = tooling_of(planned, catalog, recalled), recalled.of(sources_of, rates)
    amortised, room = amortised_over(planned.request, tooling, rates), tool_room_of(planned, rates, recalled)
    sold = tuple(with_tooling(each.release, amortised, sources) for each in offered)
    course = course_of(planned, tooling, room, plant_that_trims(planned, catalog), catalog, on, recalled)
    packings = tuple(each.packing for each in offered)
    excess = tuple(excess_of(each.quantity, each.need, _offer(planned)) for each in sold)
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


@dataclass(frozen=True)
class PricedRelease:
    """One release of a candidate, priced without tooling; how it is packed and shipped; what adds to its margin."""

    release: Release
    packing: Packing
    costs: Costs

    @property
    def inputs(self) -> ReleaseInputs:
        return self.costs.inputs

    @property
    def risks(self) -> tuple[Risk, ...]:
        return self.inputs.risks

    @cached_property
    def freight_per_part(self) -> Decimal:
        return to_cent(self.packing.freight_total / self.release.quantity)

    @property
    def landed_unit_price(self) -> Decimal:
        return self.release.unit_price + self.freight_per_part


def priced_release(planned: PlannedCandidate, quantity: int, catalog: Catalog, recalled: Recalled) -> PricedRelease:
    """The price of one release, without what else is told of it: enough to compare layouts.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    quantity : int
        Good parts [count].
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    priced : PricedRelease
        [$]

    Raises
    ------
    CannotPriceError
        As in ``landed_cost``.
    """
    return recalled.by((planned, quantity, catalog), _priced_release, planned, quantity, catalog, recalled)


def _priced_release(planned: PlannedCandidate, quantity: int, catalog: Catalog, recalled: Recalled) -> PricedRelease:
    inputs, packing = release_inputs(planned, quantity, catalog, recalled)
    costs = costs_of(inputs, catalog.rates, recalled)
    return PricedRelease(priced(costs, catalog.rates, recalled), packing, costs)


def landed_price_beside(
    planned: PlannedCandidate, other: PricedRelease, catalog: Catalog, recalled: Recalled
) -> Decimal:
    """Landed price of a layout beside another one of its group, whose release is priced.

    They share all but sheet and forming.

    Parameters
    ----------
    planned : PlannedCandidate
        Differs from the one that is priced in its layout alone [-].
    other : PricedRelease
        [$]
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    price : Decimal
        As ``priced_release`` has it, to the last digit [$].
    """
    sheet = recalled.of(SheetInputs, *_sheet_inputs(planned, catalog, recalled))
    press = _press_inputs(planned, catalog, recalled)
    return other.freight_per_part + price_on_another_blank(other.costs, sheet, press, catalog.rates, recalled)


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
    sheet, sources = SheetInputs(*_sheet_inputs(planned, catalog, recalled)), recalled.of(sources_of, rates)
    return (*transfer_lines(rates, sheet, _press_inputs(planned, catalog, recalled), sources), *tools)


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


def release_inputs(
    planned: PlannedCandidate, quantity: int, catalog: Catalog, recalled: Recalled | None = None
) -> tuple[ReleaseInputs, Packing]:
    """What the price of one release depends on, taken from the plan; with how it is packed and shipped.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    quantity : int
        Good parts [count].
    catalog : Catalog
        Rates and plants [-].
    recalled : Recalled, optional
        What the answer worked out for other candidates [-].

    Returns
    -------
    inputs : tuple
        ReleaseInputs and Packing [-]
    """
    recalled = recalled or Recalled()
    rates, candidate = catalog.rates, planned.candidate
    shared = recalled.by((planned, catalog), _of_every_release, planned, catalog, recalled)
    trim, pack_inputs, packing = recalled.of(_finished, planned.request, quantity, *shared.packed, rates)
    inputs = ReleaseInputs(
        quantity=quantity,
        process=candidate.process,
        sheet=shared.sheet,
        press=shared.press,
        trim=trim,
        secondary=planned.request.secondary,
        pack=pack_inputs,
        risks=shared.risks,
        transport=recalled.of(transport_cost, *as_formed(planned), quantity, shared.trims, rates)
        if planned.plan.trim.moves
        else Decimal(0),
    )
    return inputs, packing


@dataclass(frozen=True)
class _EveryRelease:
    """What the inputs of all releases of a candidate share."""

    trims: Plant
    packed: tuple  # what trimming, packing and shipping ask for beside the quantity
    sheet: SheetInputs
    press: PressInputs
    risks: tuple[Risk, ...]


def _of_every_release(planned: PlannedCandidate, catalog: Catalog, recalled: Recalled) -> _EveryRelease:
    candidate, plan, rates = planned.candidate, planned.plan, catalog.rates
    through = candidate.gauge * plan.cycle.blanks_per_part
    slower = corrected(planned, "trim_time", catalog, recalled)
    risky = planned.request, candidate.process, candidate.polymer, plan.thinning, rates
    trims = plant_that_trims(planned, catalog)
    return _EveryRelease(
        trims,
        (*as_packed(planned), through, _trimmer(planned), trims, slower),
        recalled.of(SheetInputs, *_sheet_inputs(planned, catalog, recalled)),
        _press_inputs(planned, catalog, recalled),
        recalled.by(risky, risks_of, planned, rates.margin),
    )


def _finished(
    request: PartRequest,
    quantity: int,
    closed: bool,
    wall: float,
    mass: float,
    through: float,
    trimmer: Trimmer,
    plant: Plant,
    slower: Corrected | None,
    rates: Rates,
) -> tuple[TrimInputs, PackInputs, Packing]:
    """Trimming, packing and shipping: they do not depend on where and how many at a time the part is formed, but for
    what recorded runs say of the trim time."""
    pattern = pack(packed_as(request.part, closed, wall, mass, rates.packing), rates.packing)
    packing = shipped(request.ship_to, pattern, quantity, plant, rates)
    bench = BenchInputs(plant.labour_rate, trimmer.efficiency)
    every = parts_to_interleaf(pattern.part, rates.packing)
    pack_inputs = PackInputs(pattern.capacity, pattern.area_factor, bench, packing.mode == "ltl", every)
    return trim_inputs(request.part, through, trimmer, plant, rates, slower), pack_inputs, packing


def plant_that_trims(planned: PlannedCandidate, catalog: Catalog) -> Plant:
    """The plant where the part is trimmed, finished and packed, and from which it ships.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate and plan [-].
    catalog : Catalog
        All plants [-].

    Returns
    -------
    plant : Plant
        [-]

    Raises
    ------
    CannotPriceError
        The plan names a plant that is not in the catalog.
    """
    if not planned.plan.trim.moves:
        return planned.candidate.plant
    for plant in catalog.plants:
        if plant.code == planned.plan.trim.plant:
            return plant
    raise CannotPriceError(f"the part is to be trimmed at {planned.plan.trim.plant}, which is no plant of ours")


def trim_pace(rates: TrimRates) -> TrimPace:
    """The standard times of trimming as plain numbers, for ``machines.trim``.

    Parameters
    ----------
    rates : TrimRates
        [s]

    Returns
    -------
    pace : TrimPace
        [s]
    """
    names = (
        "hole_time",
        "opening_time",
        "tool_changes",
        "tool_change_time",
        "rapid_time",
        "load_time",
        "swap_time",
        "deburr_time_per_metre",
        "heavy_gauge",
        "hand_feed",
        "hand_hole_time",
    )
    return TrimPace(**{name: float(getattr(rates, name)) for name in names})


def _offer(planned: PlannedCandidate) -> SheetOffer:
    offer = planned.candidate.offer
    if offer is None:
        raise CannotPriceError(f"no mill offers sheet of {planned.candidate.polymer.name} for this candidate")
    return offer


def _trimmer(planned: PlannedCandidate) -> Trimmer:
    trimmer = planned.plan.trim.trimmer
    if trimmer is None:
        raise CannotPriceError("no trimmer takes this part")
    return trimmer


def _sheet_inputs(planned: PlannedCandidate, catalog: Catalog, recalled: Recalled) -> tuple:
    """The fields of ``SheetInputs``."""
    plan, layout = planned.plan, planned.candidate.layout
    masses = plan.blank_mass, plan.part_mass
    blank = layout.blank_length, layout.blank_width
    request = planned.request
    more, lost = (corrected(planned, name, catalog, recalled) for name in ("sheet", PARTS_FORMED))
    cut = request.needs, *blank, request.surplus == "shared"
    return _offer(planned), plan.cycle.blanks_per_part, layout.cavities, *masses, *cut, more, lost


def _press_inputs(planned: PlannedCandidate, catalog: Catalog, recalled: Recalled) -> PressInputs:
    machine, cycle = planned.candidate.machine, planned.plan.cycle
    return PressInputs(
        parts_per_hour=cycle.parts_per_hour,
        cavities=planned.candidate.layout.cavities,
        hour_rate=machine.hour_rate,
        crew=machine.crew,
        setup_hours=machine.setup_hours,
        setup_crew=machine.setup_crew,
        labour_rate=planned.candidate.plant.labour_rate,
        run=corrected(planned, "run_hours", catalog, recalled),
        setup=corrected(planned, "setup_hours", catalog, recalled),
    )


def trim_inputs(
    part: Part, through: float, trimmer: Trimmer, plant: Plant, rates: Rates, slower: Corrected | None = None
) -> TrimInputs:
    """A trimmer at work on a part. The cutter goes through all sheets of the part at once: two gauges in twin-sheet.

    Parameters
    ----------
    part : Part
        [-]
    through : float
        What is cut through [m], above 0.
    trimmer : Trimmer
        [-]
    plant : Plant
        Where the trimmer stands [-].
    rates : Rates
        Rates in force [-].
    slower : Corrected, optional
        What recorded runs say of the trim time [-].

    Returns
    -------
    inputs : TrimInputs
        [s, $/h]
    """
    work = TrimWork(part.trim_length, part.openings, part.holes, through)
    time = trim_time(work, trim_pace(rates.trim), trimmer)
    setup, efficiency = trimmer.setup_hours, trimmer.efficiency
    return TrimInputs(time, trimmer.hour_rate, trimmer.crew, setup, efficiency, plant.labour_rate, slower)


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
