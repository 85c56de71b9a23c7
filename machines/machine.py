"""What a plant has on its floor. All lengths [m], times [s], temperatures [K], pressures [Pa], forces [N]."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import cached_property

KINDS = ("single_station_shuttle", "three_station_rotary", "four_station_rotary", "twin_sheet_rotary")
STATION_WORK = ("load", "preheat", "oven", "form", "unload")
HEATING_WORK = ("preheat", "oven")
HEATS = "oven"  # either of them
TRIMMER_KINDS = ("five_axis", "hand")


@dataclass(frozen=True)
class Station:
    """A place in the machine and what is done there, in order. A shuttle has its places one after another."""

    name: str
    work: tuple[str, ...]  # of STATION_WORK

    @cached_property
    def distinct_work(self) -> tuple[str, ...]:
        """What is done here, each once: a station that preheats and heats is still one station and holds one share."""
        return tuple(dict.fromkeys(HEATS if item in HEATING_WORK else item for item in self.work))


@dataclass(frozen=True)
class HeaterBank:
    """The upper or lower heaters of an oven."""

    lowest_temperature: float
    highest_temperature: float
    heated_length: float
    heated_width: float
    emissivity: float  # -
    view_factor: float  # -, heater gaps and edge loss; calibrated, not physics


@dataclass(frozen=True)
class Oven:
    """An oven station; a preheat station has the same banks unless the machine has a second oven."""

    upper: HeaterBank
    lower: HeaterBank
    air_temperature: float
    air_film_coefficient: float  # W/(m2 K)
    clearance_below: float  # from the sheet line down to the lower heaters or guard


@dataclass(frozen=True)
class Machine:
    """One forming machine. ``plant`` is the code of its plant."""

    code: str
    plant: str
    kind: str  # of KINDS
    stations: tuple[Station, ...]
    platen_length: float
    platen_width: float
    largest_opening_length: float  # clamp frame opened fully, clear sheet size it grips
    largest_opening_width: float
    smallest_opening_length: float
    smallest_opening_width: float
    tool_height_above: float  # room for tool and base over the sheet line
    tool_height_below: float
    draw_depth_above: float
    draw_depth_below: float
    oven: Oven
    vacuum_pressure: float  # difference across the sheet that vacuum really gives
    pressure_capability: float  # highest gauge pressure of the pressure box; 0 where there is none
    lock_force: float  # what holds the platens shut; 0 where there is no lock
    twin_sheet: bool
    thinnest_gauge: float
    thickest_gauge: float
    index_time: float  # one turn of the rotary, or one travel of the shuttle
    load_time: float
    unload_time: float
    close_time: float
    open_time: float
    vacuum_time: float
    pressure_time: float  # added where pressure is used
    tool_film_coefficient: float  # W/(m2 K), sheet to temperature-controlled aluminium
    cooling_air_temperature: float
    cooling_film_coefficient: float  # W/(m2 K), fans or mist on the free face
    crew: float  # people
    hour_rate: Decimal  # machine and burden, without people
    setup_hours: float
    setup_crew: float
    efficiency: float  # -, good hours over clock hours

    @cached_property
    def heating_places(self) -> tuple[Station, ...]:
        """The stations that heat, in order."""
        return tuple(station for station in self.stations if any(work in HEATING_WORK for work in station.work))


@dataclass(frozen=True)
class Trimmer:
    """A router or a hand trim bench. Envelope is 0 for a bench, which takes any part."""

    code: str
    kind: str  # of TRIMMER_KINDS
    table_length: float
    table_width: float
    table_height: float
    twin_table: bool
    hour_rate: Decimal
    feed: float  # m/s, average including corners
    crew: float
    setup_hours: float
    efficiency: float


@dataclass(frozen=True)
class Plant:
    """One plant: where it is, what people cost, how long it works, what it can do after forming."""

    code: str
    name: str
    state: str
    postal_code: str
    country: str
    latitude: float  # degrees, found from the postal code
    longitude: float  # degrees
    time_zone: str
    shop_temperature: float
    labour_rate: Decimal  # $/h, loaded
    inspector_rate: Decimal  # $/h, loaded
    shifts_per_day: int
    hours_per_shift: float  # h
    days_per_week: int
    assembly: tuple[str, ...]  # secondary operations done here
    trimmers: tuple[Trimmer, ...]
    assembly_places: int = 1  # people who can assemble and pack at the same time
    tool_room_places: int = 0  # people or benches that work at once in its own tool room; 0 where it has none


@dataclass(frozen=True)
class Booking:
    """Hours of one machine, or of what stands beside it, promised in one week."""

    machine: str  # code; of what stands beside it as ``board.resource_code`` names it
    week: date  # its Monday
    hours: float  # h
    firm: bool  # True won work, False quoted work
    label: str = ""
