"""When a release of a candidate is packed on our dock and at the customer's: what waits, what works where."""

from dataclasses import dataclass
from datetime import date

from machines.board import resource_code
from machines.calendar import WorkCalendar, default_calendar
from machines.free_time import FreeTime
from machines.machine import Booking, Plant
from machines.promise import Placed, Timing, Waits, Work, in_tool_room, placed
from quoting.catalog import Catalog, PlantCalendar, Rates
from quoting.costing.freight import road_distance
from quoting.costing.lines import Packing, ToolingLine, ToolRoom
from quoting.costing.money import SECONDS_PER_HOUR, loose
from quoting.costing.price_breaks import Release, ReleaseInputs
from quoting.costing.secondary import worked
from quoting.costing.tooling import tool_weeks
from quoting.intake.part import Secondary
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled

WEEK = 7.0  # days
BENCH = "bench"  # one of the people at the bench of the plant that trims
TOOL_ROOM = "tool room"  # one of the people or benches in that of the plant that forms


@dataclass(frozen=True)
class Course:
    """What the lead times of all releases of one candidate share: its waits before the road, and who works when."""

    ready: tuple[float, float, float]  # days of tool until our tool room takes it, first article and sheet
    fitted: Placed | None  # what is done to the tool in our tool room
    machine: str
    trimmer: str
    forms: Plant
    finishes: Plant  # where it is trimmed and packed
    press: FreeTime
    router: FreeTime
    bench: FreeTime


def course_of(
    planned: PlannedCandidate,
    tooling: tuple[ToolingLine, ...],
    room: ToolRoom,
    finishes: Plant,
    catalog: Catalog,
    on: date,
    recalled: Recalled,
) -> Course:
    """What the lead times of all releases of a candidate share.

    The tool is finished in the tool room of its plant, where that has one.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    tooling : tuple of ToolingLine
        Its tools [weeks].
    room : ToolRoom
        What they take in the tool room [h].
    finishes : Plant
        Where it is trimmed and packed [-].
    catalog : Catalog
        Rates, calendars and booked work [-].
    on : date
        Day of the answer, taken for that of the order [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    course : Course
        [days]

    Raises
    ------
    NoFreeHoursError
        The tool room has not the hours within twenty years.
    """
    forms, machine, trimmer = planned.candidate.plant, planned.candidate.machine.code, planned.plan.trim.trimmer.code
    tool, article, sheet = _ready(planned, tooling, catalog.rates)
    asked = tool, room.hours, forms, catalog, on
    comes, fitted = recalled.by(asked, tool_made, *asked, recalled)
    return Course(
        (comes, article, sheet), fitted, machine, trimmer, forms, finishes,
        free_time(forms, machine, catalog, on, recalled),
        beside_time(finishes, "router", trimmer, catalog, on, recalled),
        beside_time(finishes, "assembly", "", catalog, on, recalled),
    )  # fmt: skip


def release_timing(
    course: Course, release: Release, inputs: ReleaseInputs, packing: Packing, rates: Rates, recalled: Recalled
) -> Timing:
    """Steps of one release from the order on the day of the answer.

    Tool and sheet are there side by side; forming, trimming, assembly and packing then take the first free hours of
    machine, trimmer and bench. From the last part formed to the dock passes at least the time to trim and pack.

    Parameters
    ----------
    course : Course
        Of its candidate [days].
    release : Release
        Its hours at press and trimmer [h].
    inputs : ReleaseInputs
        What its price rests on [-].
    packing : Packing
        How it travels [m].
    rates : Rates
        In force [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    timing : Timing
        [days]

    Raises
    ------
    NoFreeHoursError
        A place has not the free hours within twenty years.
    """
    waits = recalled.of(_waits, *course.ready, packing.mode, packing.distance, course.forms, course.finishes, rates)
    at_bench = release.quantity, release.need.pieces, inputs.secondary, inputs.pack.bench.efficiency, rates
    assembly, boxed = recalled.by(at_bench, _bench_hours, *at_bench, recalled)
    works = (
        Work("forming", course.machine, float(release.press_hours), course.press),
        Work("trim", course.trimmer, float(release.trim_hours), course.router),
        Work("assembly", BENCH, assembly, course.bench),
        Work("packing", BENCH, boxed, course.bench),
    )
    return placed(waits, works, course.fitted)


def tool_made(
    usual: float, hours: float, plant: Plant, catalog: Catalog, on: date, recalled: Recalled
) -> tuple[float, Placed | None]:
    """When a tool comes to our tool room, and what is done there: never sooner than such tools usually take.

    The hours in the tool room are the last of the usual time. The tool comes there as late as an idle tool room would
    still be done in time; what is booked there then puts it off. One person works on a programme.

    Parameters
    ----------
    usual : float
        Days that such tools usually take, all in all [days], 0 or above.
    hours : float
        Of them in the tool room [h]; 0 where the tool comes finished.
    plant : Plant
        Whose tool room it is [-].
    catalog : Catalog
        Calendars and booked work [-].
    on : date
        Day of the order [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    comes, fitted : tuple
        Days from the order, and the work in its place; None where the tool comes finished [days].

    Raises
    ------
    NoFreeHoursError
        The tool room has not the hours within twenty years.
    """
    if not hours:
        return usual, None
    comes = recalled.by((plant, catalog.calendars, on), _idle_tool_room, plant, catalog, on, recalled).latest_start(
        usual, hours
    )
    free = beside_time(plant, "tool_room", "", catalog, on, recalled)
    where = resource_code(plant.code, "tool_room")
    return comes, in_tool_room(Work(TOOL_ROOM, where, hours, free), comes, usual)


def _idle_tool_room(plant: Plant, catalog: Catalog, on: date, recalled: Recalled) -> FreeTime:
    return FreeTime(_calendar(plant, catalog, recalled), TOOL_ROOM, (), on)


def earliest_dock(
    planned: PlannedCandidate,
    hours: float,
    catalog: Catalog,
    on: date,
    recalled: Recalled,
    tooling: tuple[ToolingLine, ...],
) -> float:
    """Days from the order before which no release that takes so many press hours leaves our dock.

    Parameters
    ----------
    planned : PlannedCandidate
        [-]
    hours : float
        At the press, at the least [h], above 0.
    catalog, on, recalled, tooling
        As in ``release_timing`` [-].

    Returns
    -------
    days : float
        The tool room, trimmer and bench may put it off further [days].

    Raises
    ------
    NoFreeHoursError
        The machine has not the hours within twenty years.
    """
    tool, article, sheet = _ready(planned, tooling, catalog.rates)
    free = free_time(planned.candidate.plant, planned.candidate.machine.code, catalog, on, recalled)
    return free.fit(max(tool + article, sheet), hours)[1] + WEEK * catalog.rates.price.trim_and_pack_weeks


def free_time(plant: Plant, place: str, catalog: Catalog, on: date, recalled: Recalled) -> FreeTime:
    """Free hours of a forming machine of a plant, looked up once in an answer.

    Parameters
    ----------
    plant : Plant
        [-]
    place : str
        Code of the machine [-].
    catalog : Catalog
        Calendars and booked work [-].
    on : date
        First day [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    free : FreeTime
        [h]
    """
    return recalled.by((plant.code, place, catalog.calendars, catalog.workload, on), _free_time, plant, place, catalog,
                       on, recalled)  # fmt: skip


def _free_time(plant: Plant, place: str, catalog: Catalog, on: date, recalled: Recalled) -> FreeTime:
    booked = recalled.of(bookings_by_machine, catalog.workload).get(place, ())
    return FreeTime(_calendar(plant, catalog, recalled), place, booked, on)


def beside_time(plant: Plant, kind: str, code: str, catalog: Catalog, on: date, recalled: Recalled) -> FreeTime:
    """Free hours of a trimmer, of one at the bench or of one in the tool room of a plant, looked up once in an answer.

    Parameters
    ----------
    plant : Plant
        [-]
    kind : str
        router, assembly or tool_room [-].
    code : str
        Of the trimmer; '' otherwise [-].
    catalog : Catalog
        Calendars and booked work [-].
    on : date
        First day [-].
    recalled : Recalled
        What the answer worked out already [-].

    Returns
    -------
    free : FreeTime
        [h]
    """
    parts = plant, kind, code, catalog.calendars, catalog.beside, on
    return recalled.by(parts, _beside_time, plant, kind, code, catalog, on, recalled)


def _beside_time(plant: Plant, kind: str, code: str, catalog: Catalog, on: date, recalled: Recalled) -> FreeTime:
    name = resource_code(plant.code, kind, code)
    booked = recalled.of(bookings_by_machine, catalog.beside).get(name, ())
    places = {"assembly": plant.assembly_places, "tool_room": plant.tool_room_places}.get(kind, 1)
    return FreeTime(_calendar(plant, catalog, recalled), code or kind, booked, on, max(1, places), name)


def _calendar(plant: Plant, catalog: Catalog, recalled: Recalled) -> WorkCalendar:
    return recalled.of(_by_plant, catalog.calendars).get(plant.code) or default_calendar(plant)


def _by_plant(calendars: tuple[PlantCalendar, ...]) -> dict[str, WorkCalendar]:
    return {one.plant: one.calendar for one in calendars}


def bookings_by_machine(workload: tuple[Booking, ...]) -> dict[str, tuple[Booking, ...]]:
    """The work booked on each machine, by its code.

    Parameters
    ----------
    workload : tuple of Booking
        [h]

    Returns
    -------
    bookings : dict
        [h]
    """
    by_machine: dict[str, list[Booking]] = {}
    for booking in workload:
        by_machine.setdefault(booking.machine, []).append(booking)
    return {code: tuple(bookings) for code, bookings in by_machine.items()}


def _ready(planned: PlannedCandidate, tooling: tuple[ToolingLine, ...], rates: Rates) -> tuple[float, float, float]:
    """Days of tool, first article and sheet; a transferred tool's inspection and sampling are in its own time."""
    article = 0.0 if planned.request.tooling == "transfer" else WEEK * rates.price.first_article_weeks
    tool = WEEK * tool_weeks(planned, tooling, rates) - article
    return tool, article, WEEK * planned.candidate.offer.lead_time_weeks


def _waits(
    tool: float, article: float, sheet: float, mode: str, distance: float, forms: Plant, finishes: Plant, rates: Rates
) -> Waits:
    move = 0.0
    if forms.code != finishes.code:
        ends = (forms.latitude, forms.longitude), (finishes.latitude, finishes.longitude)
        move = road_days("ltl", road_distance(*ends, rates.freight.circuity, rates.freight.least_distance), rates)
    least = WEEK * rates.price.trim_and_pack_weeks
    return Waits(tool, article, sheet, 0.0, road_days(mode, distance, rates), move, least)


def road_days(mode: str, distance: float, rates: Rates) -> float:
    """Days on the road: ``distance / distance a day``, for a part load with its time in terminals.

    Parameters
    ----------
    mode : str
        ltl or truckload [-].
    distance : float
        [m], 0 or above.
    rates : Rates
        [-]

    Returns
    -------
    days : float
        0 where no rates say how fast freight goes [days].
    """
    pace = rates.transit
    if pace is None:
        return 0.0
    if mode == "ltl":
        return distance / pace.ltl_per_day + WEEK * pace.ltl_terminal_weeks
    return distance / pace.truckload_per_day


def _bench_hours(
    quantity: int, pieces: int, secondary: tuple[Secondary, ...], efficiency: float, rates: Rates, recalled: Recalled
) -> tuple[float, float]:
    """Clock hours of one person for the operations, and for packing: standard time over efficiency."""
    work = recalled.of(worked, quantity, pieces, secondary, rates)
    seconds = sum(loose(one.seconds) for one in work)
    hour = efficiency * loose(SECONDS_PER_HOUR)
    return seconds / hour, quantity * loose(rates.packing.pack_time) / hour
