"""All that the house knows when it answers: plants, machines, polymers, sheet, rates and the work already booked."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

from machines.calendar import WorkCalendar
from machines.machine import Booking, Machine, Plant
from machines.runs import Factor
from materials.polymer import Polymer
from materials.sheet import SheetOffer


@dataclass(frozen=True)
class FormingRates:
    """Scrap and start-up shots by process, and how work is counted. Shares [-], shots [count]."""

    scrap_vacuum: Decimal
    scrap_pressure: Decimal
    scrap_twin_sheet: Decimal
    startup_shots_vacuum: Decimal
    startup_shots_pressure: Decimal
    startup_shots_twin_sheet: Decimal
    setup_inspection: Decimal  # $ per set-up, first-article check


@dataclass(frozen=True)
class SheetRates:
    billed_weight_factor: Decimal  # mill bills by nominal gauge plus this
    regrind_recovery: Decimal  # share of clean selvedge that is recovered
    material_handling: Decimal  # share of bought material
    regrind_share_food_contact: Decimal  # most regrind that may be extruded again into such sheet, share of its mass
    regrind_share_flame_v0: Decimal


@dataclass(frozen=True)
class TrimRates:
    """Times of trimming. Seconds unless named otherwise."""

    scrap: Decimal
    hole_time: Decimal
    opening_time: Decimal  # plunge, rapid and lead-in for each opening beyond its path
    tool_changes: Decimal  # count per part
    tool_change_time: Decimal
    rapid_time: Decimal
    load_time: Decimal
    swap_time: Decimal
    deburr_time_per_metre: Decimal
    heavy_gauge: float  # m, above this two passes
    hand_feed: float  # m/s
    hand_hole_time: Decimal


@dataclass(frozen=True)
class OperationRate:
    """Standard time [s] and bought material [$] of one secondary operation.

    ``learning``: time of a repetition over that of half as many before it [-]; 1 where nothing is learnt.
    ``fixture``: name of the tool in which it is done; 'none' where it needs none.
    """

    operation: str
    seconds: Decimal
    material: Decimal
    learning: Decimal = Decimal(1)
    fixture: str = "none"


@dataclass(frozen=True)
class SecondaryRates:
    standard_at: int  # repetitions in one release after which an operation takes its standard time


@dataclass(frozen=True)
class CoatingRate:
    """What a coat of paint or shielding takes for each area that it covers."""

    operation: str  # paint, emi_coat
    film: float  # m, dry, of one coat
    solids: Decimal  # share of the volume that stays as film
    transfer: Decimal  # share of what is sprayed that lands on the part
    price_per_gallon: Decimal  # $, thinned as it is sprayed
    spray_seconds_per_square_metre: Decimal
    mask_seconds_per_metre: Decimal
    dry_time: Decimal  # s, of each coat
    dry_rate: Decimal  # $/h of the drying room
    dry_floor: float  # m2 of it


@dataclass(frozen=True)
class PackingRates:
    """Packing. Lengths [m], masses [kg], money [$], times [s]."""

    pallet_length: float
    pallet_width: float
    pallet_height: float
    pallet_mass: float
    wrap_mass: float
    interleaf_mass: float
    interleaf_thickness: float
    parts_per_interleaf: int
    highest_load: float
    heaviest_load: float
    least_nesting_pitch: float  # m per part beyond the first
    pallet_cost: Decimal
    wrap_and_label_cost: Decimal
    interleaf_cost: Decimal
    ltl_foam_cost: Decimal  # $ per part when it rides LTL
    pack_time: Decimal


@dataclass(frozen=True)
class FreightRates:
    """Estimate of LTL and truckload; every value is a placeholder until a carrier's rate replaces it."""

    circuity: float
    least_distance: float  # m
    ltl_base: Decimal  # $/cwt
    ltl_per_mile: Decimal  # $/cwt per mile
    ltl_minimum: Decimal
    ltl_fuel_surcharge: Decimal  # share
    ltl_breaks: tuple[tuple[int, Decimal], ...]  # from lb, factor
    ltl_longest: float  # m of trailer floor
    ltl_heaviest: float  # kg
    ltl_most_pallets: int
    cubic_volume: float  # m3 above which ...
    cubic_density_pcf: float  # ... a lighter load than this is re-rated
    linehaul_per_mile: Decimal
    truckload_minimum: Decimal
    diesel_per_gallon: Decimal
    diesel_peg: Decimal
    miles_per_gallon: Decimal
    truck_length: float
    truck_width: float
    truck_height: float
    truck_payload: float  # kg


@dataclass(frozen=True)
class ToolingRate:
    """One kind of tool: price at the reference size, scaled by ((L+H)(W+H))^0.8, and its lead time."""

    name: str  # cast_aluminium, machined_aluminium, pressure_tool, twin_sheet_pair, plug, trim_fixture, ...
    price: Decimal
    reference_area: float  # m2, (L+H)(W+H) of the part for which ``price`` holds
    cavity_share: Decimal  # price share of each further cavity
    lead_time_weeks: float


@dataclass(frozen=True)
class ToolWorkRates:
    """What a tool's shape adds to it, and when a prototype tool is worth showing."""

    texture_per_square_foot: Decimal  # $ of textured tool surface
    texture_least: Decimal  # $ for each cavity
    texture_weeks: float  # after the tool is cut
    slide_price: Decimal  # $ for each moving section
    prototype_shots: int  # life of a prototype tool
    small_programme: int  # parts, up to which a prototype tool is shown unasked


@dataclass(frozen=True)
class ToolRoomRate:
    """Hours of our own tool room in one kind of tool [h]."""

    name: str  # as the ToolingRate, whose reference area and share of a further cavity hold here too
    fitting: float  # at the reference size: finishing, venting, fitting to the base
    try_out: float  # on the former and corrections after it, whatever the size


@dataclass(frozen=True)
class ToolRoomRates:
    """What is done to tools in our own tool room. Hours [h]; their cost is in the price of the tools."""

    tools: tuple[ToolRoomRate, ...]
    texture_per_square_foot: float  # of textured tool surface: masking, blasting, touching up
    moving_section: float  # fitting one
    transferred_tool: float  # inspection and fitting of a customer's tool


@dataclass(frozen=True)
class TransferRates:
    """Taking over a customer's tool beside its inspection."""

    sampling_shots: int
    repairs_low: Decimal  # share of what a new forming tool of this size would cost
    repairs_high: Decimal


@dataclass(frozen=True)
class PriceRates:
    overhead: Decimal  # share of manufacturing cost
    margin: Decimal  # share of price
    programme_years: Decimal
    minimum_release_price: Decimal
    validity_days: int
    trim_and_pack_weeks: float
    first_article_weeks: float
    transfer_inspection: Decimal  # $ for arrival inspection of a transferred tool
    transfer_weeks: float
    tooling_carrying_rate: Decimal  # share a year of tooling money that is outstanding
    margin_floor: Decimal  # share of price below which a manager decides
    manager_limit: Decimal  # landed value of a year's parts above which a manager approves [$]


@dataclass(frozen=True)
class TransitRates:
    """How fast freight goes: metres a day on the road, and weeks that a part load stands in terminals."""

    truckload_per_day: float
    ltl_per_day: float
    ltl_terminal_weeks: float


SPREAD_INPUTS = (
    "cycle", "press_efficiency", "setup_time", "startup_shots", "form_scrap", "trim_scrap", "trim_time",
    "sheet_price", "sheet_mass", "regrind", "operation_time", "operation_material", "pack_time", "pack_material",
    "freight_rate", "diesel",
)  # fmt: skip
PARTS_FORMED = "parts_formed"  # told by recorded runs alone, in the place of scrap in forming and in trimming
DRAWN = (*SPREAD_INPUTS, PARTS_FORMED)


@dataclass(frozen=True)
class Spread:
    """How far an input of the price may lie from what the estimate takes for it: least and most, over likely [-]."""

    name: str  # of DRAWN
    least: float  # above 0, at most 1
    most: float  # at least 1


@dataclass(frozen=True)
class MarginRates:
    """What a risk adds to the margin, as a share of the price [-]; ``near_limit`` is a share of a draw's limit."""

    twin_sheet: Decimal
    tight_tolerance: Decimal
    transferred_tool: Decimal
    deep_draw: Decimal
    custom_colour: Decimal
    agency: Decimal
    near_limit: Decimal
    most: Decimal  # base and adders together


@dataclass(frozen=True)
class AdviceRates:
    """What advice on a price rests on. Shares [-]."""

    stock_carrying: Decimal  # of the value of stock, a year
    resin_share: Decimal  # of the sheet price that follows the resin
    resin_threshold: Decimal  # move of the resin index below which prices stay


@dataclass(frozen=True)
class Sources:
    """Where each rate came from, by its key."""

    known: dict[str, str]

    def of(self, key: str) -> str:
        """The source of a rate with the day from which it holds; 'rate table' where none was recorded."""
        return self.known.get(key) or f"rate table ({key})"


@dataclass(frozen=True)
class Rates:
    """Every rate in force on the day of the answer. ``sources``: (key, source, valid_from) for each.

    ``spreads``: of the inputs that have one, in the order of SPREAD_INPUTS.
    """

    forming: FormingRates
    sheet: SheetRates
    trim: TrimRates
    operations: tuple[OperationRate, ...]
    secondary: SecondaryRates
    packing: PackingRates
    freight: FreightRates
    tooling: tuple[ToolingRate, ...]
    tool_work: ToolWorkRates
    transfer: TransferRates
    price: PriceRates
    margin: MarginRates
    advice: AdviceRates
    sources: tuple[tuple[str, str, date], ...] = ()
    spreads: tuple[Spread, ...] = ()
    coatings: tuple[CoatingRate, ...] = ()
    tool_room: ToolRoomRates | None = None  # None where no rates say how many hours tools take in a tool room
    transit: TransitRates | None = None  # None where no rates say how fast freight goes: then no date counts it

    @cached_property
    def told(self) -> Sources:
        """The sources by key, the first of each."""
        known: dict[str, str] = {}
        for key, source, valid_from in self.sources:
            known.setdefault(key, f"{source} (rate {key}, valid from {valid_from.isoformat()})")
        return Sources(known)


@dataclass(frozen=True)
class PlantCalendar:
    """When one plant works."""

    plant: str  # code
    calendar: WorkCalendar


# Measures of runs that correct estimates. With ``parts_formed`` (for each good one) the factors of run hours and sheet
# are of what they take beyond it; a version from before it was learned holds it within those two.
CORRECTED = ("run_hours", "setup_hours", "trim_time", "sheet", PARTS_FORMED)


@dataclass(frozen=True)
class MeasureCorrection:
    """By what recorded runs multiply one measure, and what is then left of its error: least and most of a triangular
    range, over the corrected estimate [-]; None where runs are too few to say. ``runs`` [count]."""

    measure: str  # of CORRECTED
    runs: int
    factors: tuple[Factor, ...]
    least: float | None = None
    most: float | None = None


@dataclass(frozen=True)
class Corrections:
    """The factors in force, by the number of their version."""

    version: int
    measures: tuple[MeasureCorrection, ...]

    @cached_property
    def by_name(self) -> dict[tuple[str, str, str], Factor]:
        """By measure, effect and name."""
        return {(one.measure, each.effect, each.name): each for one in self.measures for each in one.factors}


@dataclass(frozen=True)
class Catalog:
    """Read once, then passed. Tuples are ordered by code or name so that the order of the data does not matter.

    ``beside``: won hours of trimmers, benches and tool rooms, summed by week, named as ``board.resource_code`` does.
    A plant without a calendar works the hours a week that it names, with no day closed. ``corrections``: None where
    nobody has accepted any; every estimate then stands as it is.
    """

    plants: tuple[Plant, ...]
    machines: tuple[Machine, ...]
    polymers: tuple[Polymer, ...]
    offers: tuple[SheetOffer, ...]
    rates: Rates
    workload: tuple[Booking, ...] = ()
    calendars: tuple[PlantCalendar, ...] = ()
    corrections: Corrections | None = None
    beside: tuple[Booking, ...] = ()

    UNWRITTEN = ("corrections", "beside")  # while empty, so that digests of catalogs without them stay as they were
