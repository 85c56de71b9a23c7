"""The tables of the plant, material and rate files: for each dataclass, which key takes which kind of value."""

from dataclasses import dataclass
from types import MappingProxyType

from machines.machine import HeaterBank, Machine, Oven, Plant, Station, Trimmer
from materials.polymer import NeedMet, Polymer
from materials.sheet import PriceTier, SheetOffer


@dataclass(frozen=True)
class Shape:
    """A JSON object that becomes one dataclass. ``kinds``: key -> kind of value, a Shape, or a ListOf a Shape.

    Keys of ``optional`` may be left out; the dataclass then has its default.
    """

    becomes: type
    kinds: MappingProxyType
    optional: frozenset = frozenset()


@dataclass(frozen=True)
class ListOf:
    """A JSON list of such objects; ``least`` is how many it must hold."""

    shape: Shape
    least: int = 0


def _shape(becomes: type, optional: tuple[str, ...] = (), **kinds) -> Shape:
    return Shape(becomes, MappingProxyType(kinds), frozenset(optional))


STATION = _shape(Station, name="text", work="station_work")

HEATER_BANK = _shape(
    HeaterBank,
    lowest_temperature="temperature",
    highest_temperature="temperature",
    heated_length="size",
    heated_width="size",
    emissivity="part_of_one",
    view_factor="part_of_one",
)

OVEN = _shape(
    Oven,
    upper=HEATER_BANK,
    lower=HEATER_BANK,
    air_temperature="temperature",
    air_film_coefficient="film_coefficient",
    clearance_below="size",
)

MACHINE = _shape(
    Machine,
    code="text",
    kind="machine_kind",
    stations=ListOf(STATION, least=1),
    platen_length="size",
    platen_width="size",
    largest_opening_length="size",
    largest_opening_width="size",
    smallest_opening_length="size",
    smallest_opening_width="size",
    tool_height_above="length",
    tool_height_below="length",
    draw_depth_above="length",
    draw_depth_below="length",
    oven=OVEN,
    vacuum_pressure="vacuum",
    pressure_capability="pressure",
    lock_force="force",
    twin_sheet="flag",
    thinnest_gauge="size",
    thickest_gauge="size",
    index_time="time",
    load_time="time",
    unload_time="time",
    close_time="time",
    open_time="time",
    vacuum_time="time",
    pressure_time="time",
    tool_film_coefficient="film_coefficient",
    cooling_air_temperature="temperature",
    cooling_film_coefficient="film_coefficient",
    crew="people",
    hour_rate="money",
    setup_hours="hours",
    setup_crew="people",
    efficiency="part_of_one",
)

TRIMMER = _shape(
    Trimmer,
    code="text",
    kind="trimmer_kind",
    table_length="length",
    table_width="length",
    table_height="length",
    twin_table="flag",
    hour_rate="money",
    feed="feed",
    crew="people",
    setup_hours="hours",
    efficiency="part_of_one",
)

# latitude and longitude follow from the postal code; "machines" stands beside these keys in the file.
PLANT = _shape(
    Plant,
    optional=("assembly_places", "tool_room_places"),
    code="text",
    name="text",
    state="state",
    postal_code="postal_code",
    country="country",
    time_zone="time_zone",
    shop_temperature="temperature",
    labour_rate="money",
    inspector_rate="money",
    shifts_per_day="shifts",
    hours_per_shift="hours",
    days_per_week="weekdays",
    assembly="operations",
    assembly_places="places",
    tool_room_places="places_or_none",
    trimmers=ListOf(TRIMMER),
)

# Field -> kind, for the database models and the admin.
MACHINE_KINDS = MACHINE.kinds

POLYMER_PROPERTIES = MappingProxyType(
    {
        "density": "density",
        "conductivity": "conductivity",
        "specific_heat_solid": "specific_heat",
        "specific_heat_hot": "specific_heat",
        "step_temperature": "temperature",
        "latent_heat": "latent_heat",
        "melting_temperature": "temperature",
        "melting_width": "temperature_difference",
        "emissivity": "part_of_one",
        "expansion": "expansion",
        "flexural_modulus": "modulus",
        "hot_modulus": "modulus",
        "deflection_temperature": "temperature",
        "lower_forming_temperature": "temperature",
        "normal_forming_temperature": "temperature",
        "upper_forming_temperature": "temperature",
        "tool_temperature": "temperature",
        "demould_temperature": "temperature",
        "shrinkage": "share",
        "extinction": "extinction",
    }
)
OPTIONAL_PROPERTIES = frozenset({"extinction"})  # left out for a sheet that lets no heater radiation through

NEED = _shape(NeedMet, need="need", certificate="text_or_null", expires="date_or_null", thinnest_wall="size_or_null")

# "properties" stands beside these keys in the file, each property with its value and its source.
POLYMER = _shape(Polymer, name="text", description="text", semicrystalline="flag", needs=ListOf(NEED))

TIER = _shape(PriceTier, from_mass="mass", price_per_pound="money")

OFFER = _shape(
    SheetOffer,
    name="text",
    polymer="text",
    colour="colour",
    thinnest_gauge="size",
    thickest_gauge="size",
    widest="size",
    longest="size",
    tiers=ListOf(TIER, least=1),
    minimum_order="mass",
    colour_charge="money",
    regrind_value_per_pound="money",
    gauge_tolerance="share",
    lead_time_weeks="weeks",
    valid_from="date",
    valid_to="date_or_null",
    source="text",
)
