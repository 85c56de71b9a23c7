"""When a release of a candidate is packed on our dock and at the customer's: what waits, what works where."""

from dataclasses import dataclass
from datetime import date

from machines.calendar import WorkCalendar, default_calendar
from machines.free_time import FreeTime
from machines.machine import Booking, Plant
from machines.promise import PromiseError, Timing, Waits, Work, placed
from quoting.catalog import Catalog, PlantCalendar, Rates
from quoting.costing.freight import road_distance
from quoting.costing.lines import Packing, ToolingLine
from quoting.costing.money import SECONDS_PER_HOUR, CannotPriceError, loose
from quoting.costing.price_breaks import Release, ReleaseInputs
from quoting.costing.secondary import Worked, worked
from quoting.costing.tooling import tool_weeks
from quoting.routing.candidate import PlannedCandidate
from quoting.routing.recalled import Recalled

WEEK = 7.0  # days
BENCH = "bench"  # one person at the plant that trims


@dataclass(frozen=True)
class Course:
    """What the lead times of all releases of one candidate share: its waits before the road, and who works when."""

    ready: tuple[float, float, float]  # days of tool, first article and sheet
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
    finishes: Plant,
    catalog: Catalog,
    on: date,
    recalled: Recalled,
) -> Course:
    """What the lead times of all releases of a candidate share.

    Parameters
    ----------
    planned : PlannedCandidate
        Candidate, plan and request [-].
    tooling : tuple of ToolingLine
        Its tools [weeks].
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
    """
    forms, machine, trimmer = planned.candidate.plant, planned.candidate.machine.code, planned.plan.trim.trimmer.code
    free = (
        free_time(plant, place, catalog, on, recalled)
        for plant, place in ((forms, machine), (finishes, trimmer), (finishes, BENCH))
    )
    return Course(_ready(planned, tooling, catalog.rates), machine, trimmer, forms, finishes, *free)


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
    CannotPriceError
        A place has no free hours within twenty years.
    """
    waits = recalled.of(_waits, *course.ready, packing.mode, packing.distance, course.forms, course.finishes, rates)
    work = recalled.of(worked, release.quantity, release.need.pieces, inputs.secondary, rates)
    assembly, boxed = recalled.of(_bench_hours, release.quantity, work, inputs.pack.bench.efficiency, rates)
    works = (
        Work("forming", course.machine, float(release.press_hours), course.press),
        Work("trim", course.trimmer, float(release.trim_hours), course.router),
        Work("assembly", BENCH, assembly, course.bench),
        Work("packing", BENCH, boxed, course.bench),
    )
    try:
        return placed(waits, works)
    except PromiseError as error:
        raise CannotPriceError(f"no date can be given: {error}") from error


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
        [days]
    """
    tool, article, sheet = _ready(planned, tooling, catalog.rates)
    free = free_time(planned.candidate.plant, planned.candidate.machine.code, catalog, on, recalled)
    try:
        return free.fit(max(tool + article, sheet), hours)[1] + WEEK * catalog.rates.price.trim_and_pack_weeks
    except PromiseError as error:
        raise CannotPriceError(f"no date can be given: {error}") from error


def free_time(plant: Plant, place: str, catalog: Catalog, on: date, recalled: Recalled) -> FreeTime:
    """Free hours of a machine, a trimmer or the bench of a plant, looked up once in an answer.

    Parameters
    ----------
    plant : Plant
        [-]
    place : str
        Code of machine or trimmer, or BENCH [-].
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
    own = recalled.of(_by_plant, catalog.calendars).get(plant.code) or default_calendar(plant)
    booked = recalled.of(bookings_by_machine, catalog.workload).get(place, ())
    return FreeTime(own, place, booked, on)


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


def _bench_hours(quantity: int, work: tuple[Worked, ...], efficiency: float, rates: Rates) -> tuple[float, float]:
    """Clock hours of one person for the operations, and for packing: standard time over efficiency."""
    seconds = sum(loose(one.seconds) for one in work)
    hour = efficiency * loose(SECONDS_PER_HOUR)
    return seconds / hour, quantity * loose(rates.packing.pack_time) / hour
