"""What an engineer wants to see behind the chosen route: curves, profiles, walls, and every number opened."""

from dataclasses import dataclass

from quoting.words import Words


@dataclass(frozen=True)
class Given:
    """One input of a number, with where it came from. ``unit`` is SI."""

    name: str
    value: float
    unit: str
    source: str


@dataclass(frozen=True)
class Explained:
    """One number opened: ``formula`` as it is computed, its inputs, and on what it rests."""

    name: str
    value: float
    unit: str
    formula: str
    inputs: tuple[Given, ...]
    source: str


@dataclass(frozen=True)
class Phase:
    """A stretch of the sheet's way through the machine: preheat, index, oven, transfer. Times from loading [s]."""

    name: str
    start: float
    end: float


@dataclass(frozen=True)
class Moment:
    """Temperatures of the sheet at one time [s, K]."""

    time: float
    upper_skin: float
    middle: float
    lower_skin: float
    mean: float
    coldest: float
    hottest: float


@dataclass(frozen=True)
class Depth:
    """Temperature at one depth below the upper face [m, K]."""

    depth: float
    temperature: float


@dataclass(frozen=True)
class HeatingStudy:
    """The chosen recipe from the cold sheet to the touch of the tool."""

    phases: tuple[Phase, ...]
    curve: tuple[Moment, ...]
    exit_profile: tuple[Depth, ...]  # as it leaves the oven
    contact_profile: tuple[Depth, ...]  # as it meets the tool
    lower_forming_temperature: float
    normal_forming_temperature: float
    upper_forming_temperature: float


@dataclass(frozen=True)
class WallPlace:
    """Predicted wall at one place of the part: web, rim, side, base, edge, corner."""

    place: str
    wall: float


@dataclass(frozen=True)
class WallsByMethod:
    """What another way of forming would leave of the same gauge. ``why_not`` is '' for one that could be used here."""

    method: str
    walls: tuple[WallPlace, ...]
    thinnest_wall: float
    used: bool
    why_not: str = ""
    gauge: float | None = None  # stocked, that leaves the wall asked for [m]; None where a gauge is asked for


@dataclass(frozen=True)
class ToolEffect:
    """Cooling on another tool or at another tool temperature. ``time`` None: never cool enough to leave it."""

    tool: str
    tool_temperature: float
    film: float  # W/(m2 K)
    time: float | None
    used: bool


@dataclass(frozen=True)
class SagEffect:
    """How the sheet would hang with other heat. ``what`` names the change; time and heaters as they would be then."""

    what: Words
    sag: float
    heating_time: float
    feasible: bool


@dataclass(frozen=True)
class GaugeEffect:
    """The sheet at one end of its gauge tolerance, or as ordered [SI]. ``feasible``: heated unscorched, and cooled."""

    sheet: str
    gauge: float
    thinnest_wall: float
    blank_mass: float
    heating_time: float
    cooling_time: float
    feasible: bool


@dataclass(frozen=True)
class FormingStudy:
    heating: HeatingStudy
    cooling_curve: tuple[Moment, ...]  # of the wall that governs; upper skin is the free side, lower the tool side
    walls: tuple[WallPlace, ...]
    methods: tuple[WallsByMethod, ...]
    tools: tuple[ToolEffect, ...]
    sags: tuple[SagEffect, ...]
    numbers: tuple[Explained, ...]
    gauges: tuple[GaugeEffect, ...] = ()
