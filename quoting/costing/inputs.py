"""What the price of a release depends on, taken from a planned candidate and the catalog."""

from dataclasses import dataclass
from decimal import Decimal

from machines.machine import Plant, Trimmer
from machines.trim import TrimPace, TrimWork, trim_time
from materials.sheet import SheetOffer
from quoting.catalog import PARTS_FORMED, Catalog, PackingRates, Rates, TrimRates
from quoting.costing.correcting import Corrected, corrected
from quoting.costing.labour import PressInputs, TrimInputs
from quoting.costing.lines import Packing, Risk
from quoting.costing.money import CannotPriceError
from quoting.costing.packing import PackInputs, Pattern, pack, parts_to_interleaf
from quoting.costing.price_breaks import ReleaseInputs
from quoting.costing.risk import risks_of
from quoting.costing.secondary import BenchInputs
from quoting.costing.sheet import SheetInputs
from quoting.costing.shipping import as_formed, as_packed, packed_as, shipped, transport_cost
from quoting.intake.part import Part, PartRequest
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled


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
    finished = planned.request, quantity, *shared.packed, rates
    trim, pack_inputs, packing = recalled.by(finished, _finished, *finished, recalled)
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
        recalled.of(SheetInputs, *sheet_inputs(planned, catalog, recalled)),
        press_inputs(planned, catalog, recalled),
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
    recalled: Recalled,
) -> tuple[TrimInputs, PackInputs, Packing]:
    """Trimming, packing and shipping: they do not depend on where and how many at a time the part is formed, but for
    what recorded runs say of the trim time."""
    pattern = recalled.of(_pattern, request.part, closed, wall, mass, rates.packing)
    packing = shipped(request.ship_to, pattern, quantity, plant, rates)
    bench = BenchInputs(plant.labour_rate, trimmer.efficiency)
    every = parts_to_interleaf(pattern.part, rates.packing)
    pack_inputs = PackInputs(pattern.capacity, pattern.area_factor, bench, packing.mode == "ltl", every)
    trim = recalled.of(trim_inputs, request.part, through, trimmer, plant, rates, slower)
    return trim, pack_inputs, packing


def _pattern(part: Part, closed: bool, wall: float, mass: float, rates: PackingRates) -> Pattern:
    return pack(packed_as(part, closed, wall, mass, rates), rates)


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


def offer_of(planned: PlannedCandidate) -> SheetOffer:
    """The mill's offer of a candidate; CannotPriceError where there is none."""
    offer = planned.candidate.offer
    if offer is None:
        raise CannotPriceError(f"no mill offers sheet of {planned.candidate.polymer.name} for this candidate")
    return offer


def _trimmer(planned: PlannedCandidate) -> Trimmer:
    trimmer = planned.plan.trim.trimmer
    if trimmer is None:
        raise CannotPriceError("no trimmer takes this part")
    return trimmer


def sheet_inputs(planned: PlannedCandidate, catalog: Catalog, recalled: Recalled) -> tuple:
    """The fields of ``SheetInputs``, so that candidates of the same ones can share it."""
    plan, layout = planned.plan, planned.candidate.layout
    masses = plan.blank_mass, plan.part_mass
    blank = layout.blank_length, layout.blank_width
    request = planned.request
    more, lost = (corrected(planned, name, catalog, recalled) for name in ("sheet", PARTS_FORMED))
    cut = request.needs, *blank, request.surplus == "shared"
    return offer_of(planned), plan.cycle.blanks_per_part, layout.cavities, *masses, *cut, more, lost


def press_inputs(planned: PlannedCandidate, catalog: Catalog, recalled: Recalled) -> PressInputs:
    """The forming machine at work on a candidate, as recorded runs correct it."""
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
