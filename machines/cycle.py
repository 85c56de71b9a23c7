"""How fast a machine turns: time at each station, the index, and the station that sets it.

A rotary works at all its stations at once, so the slowest one sets the index; a shuttle works one after
another, so the times add up. Twin-sheet on a rotary takes two frames and two turns for one part.
"""

from dataclasses import dataclass
from typing import NamedTuple

from machines.machine import HEATING_WORK, HEATS, Machine, Station

WELD_TIME = 20.0  # s, platens closed and locked until the two skins have fused: common practice, no source


@dataclass(frozen=True)
class Dwell:
    """One station and how long its work takes [s]."""

    name: str
    time: float


@dataclass(frozen=True)
class Turn:
    """Times of one machine on one job. ``index`` is the time between two blanks leaving it [s]."""

    stations: tuple[Dwell, ...]
    index: float
    governing_station: str


class Job(NamedTuple):
    """What the machine must do to one blank. Times [s]."""

    heating_time: float  # in all stations that heat together
    cooling_time: float
    process: str  # vacuum, pressure or twin_sheet
    oven_time: float | None = None  # of it in the last one; None: every station has an even share


def heating_stations(machine: Machine) -> int:
    """How many stations share the heating; a machine without one is counted as having one.

    Parameters
    ----------
    machine : Machine
        [-]

    Returns
    -------
    stations : int
        [count], 1 or more.
    """
    return max(1, len(machine.heating_places))


def first_forming_time(machine: Machine) -> float:
    """Dwell that forms the first sheet of a twin-sheet part: close + vacuum + open.

    Parameters
    ----------
    machine : Machine
        [-]

    Returns
    -------
    time : float
        [s]
    """
    return machine.close_time + machine.vacuum_time + machine.open_time


def forming_time(machine: Machine, cooling_time: float, process: str) -> float:
    """Dwell at the form station: close + vacuum + cooling + open, with the air of a pressure box or the weld.

    Parameters
    ----------
    machine : Machine
        [-]
    cooling_time : float
        On the tool until demould [s], 0 or more.
    process : str
        vacuum, pressure or twin_sheet [-].

    Returns
    -------
    time : float
        [s]
    """
    extra = {"pressure": machine.pressure_time, "twin_sheet": WELD_TIME}.get(process, 0.0)
    return machine.close_time + machine.vacuum_time + extra + cooling_time + machine.open_time


def turn(machine: Machine, job: Job) -> Turn:
    """Station times, index and governing station of one job on one machine.

    rotary: ``index = max(station) + index_time``; shuttle: ``index = sum(stations) + 2 * index_time``;
    twin-sheet: half of the two-index time of ``twin_sheet_turn``.

    Parameters
    ----------
    machine : Machine
        [-]
    job : Job
        Heating and cooling time [s] and the process.

    Returns
    -------
    turn : Turn
        [s]
    """
    if job.process == "twin_sheet":
        return twin_sheet_turn(machine, job)
    stations = tuple(Dwell(station.name, station_time(machine, station, job)) for station in machine.stations)
    slowest = max(stations, key=lambda dwell: dwell.time)
    if _is_shuttle(machine):
        return Turn(stations, sum(dwell.time for dwell in stations) + 2 * machine.index_time, slowest.name)
    return Turn(stations, slowest.time + machine.index_time, slowest.name)


def station_time(machine: Machine, station: Station, job: Job) -> float:
    """Sum of the work done at one station; the oven has its time, stations before it share the rest alike.

    Parameters
    ----------
    machine : Machine
        [-]
    station : Station
        One of its stations [-].
    job : Job
        Heating and cooling time [s] and the process.

    Returns
    -------
    time : float
        [s]
    """
    return sum([_time_of(work, machine, station, job) for work in station.distinct_work])


def _time_of(work: str, machine: Machine, station: Station, job: Job) -> float:
    if work == HEATS:
        return _heat_at(machine, station, job)
    if work == "form":
        return forming_time(machine, job.cooling_time, job.process)
    return {"load": machine.load_time, "unload": machine.unload_time}[work]


def twin_sheet_turn(machine: Machine, job: Job) -> Turn:
    """Two consecutive frames make one part; each is heated while the other is formed.

    With two or more heating stations ``T = max(heat, max(load, S) + max(load, W)) + 2 * index_time``,
    with one ``T = max(heat, load, S) + max(heat, load, W) + 2 * index_time``, where ``S`` forms the first
    sheet and ``W`` forms the second, welds and cools. The index is ``T / 2``.

    Parameters
    ----------
    machine : Machine
        [-]
    job : Job
        Heating and cooling time [s].

    Returns
    -------
    turn : Turn
        ``index`` is half the time of one part [s].

    Examples
    --------
    The law alone, heat 228, S 35, W 187, load 35, two indexes of 9 s: ``max(228, 222) + 18 = 246``.
    """
    heat, load = job.heating_time, loading_time(machine)
    first, weld = first_forming_time(machine), forming_time(machine, job.cooling_time, "twin_sheet")
    dwells = max(load, first) + max(load, weld)
    if heating_stations(machine) > 1:
        together = max(heat, dwells)
        heat_governs = heat > dwells
    else:
        together = max(heat, load, first) + max(heat, load, weld)
        heat_governs = heat > max(load, weld)
    stations = _twin_sheet_stations(machine, job, load, first, weld)
    names = {"heat": _name(machine, HEATING_WORK), "load": _name(machine, ("load",)), "weld": stations[-1].name}
    governing = names["heat" if heat_governs else "load" if load > weld else "weld"]
    return Turn(stations, (together + 2 * machine.index_time) / 2, governing)


def loading_time(machine: Machine) -> float:
    """Dwell at the station that loads, with the unloading where it is done there too.

    Parameters
    ----------
    machine : Machine
        [-]

    Returns
    -------
    time : float
        [s]
    """
    idle = Job(0.0, 0.0, "vacuum")
    times = (station_time(machine, station, idle) for station in machine.stations if "form" not in station.work)
    return max(times, default=0.0)


def dwell_available(machine: Machine, cooling_time: float, process: str) -> float:
    """Heating time that costs nothing, because other stations set the index anyway; 0 on a shuttle.

    Rotary: ``heating stations * slowest other station``. Twin-sheet: both dwells of a frame's turn, or the
    shorter one where a single station heats.

    Parameters
    ----------
    machine : Machine
        [-]
    cooling_time : float
        On the tool until demould [s], 0 or more.
    process : str
        vacuum, pressure or twin_sheet [-].

    Returns
    -------
    time : float
        [s], 0 or more.
    """
    if _is_shuttle(machine):
        return 0.0
    load, ovens = loading_time(machine), heating_stations(machine)
    if process == "twin_sheet":
        first = max(load, first_forming_time(machine))
        return first if ovens == 1 else first + max(load, forming_time(machine, cooling_time, process))
    job = Job(0.0, cooling_time, process)
    return ovens * max(station_time(machine, station, job) for station in machine.stations)


def _is_shuttle(machine: Machine) -> bool:
    return machine.kind == "single_station_shuttle"


def _heat_at(machine: Machine, station: Station, job: Job) -> float:
    ovens = machine.heating_places
    if job.oven_time is None or len(ovens) < 2:
        return job.heating_time / max(1, len(ovens))
    return job.oven_time if station == ovens[-1] else (job.heating_time - job.oven_time) / (len(ovens) - 1)


def _name(machine: Machine, work: tuple[str, ...]) -> str:
    return next((station.name for station in machine.stations if set(work) & set(station.work)), work[0])


def _twin_sheet_stations(machine: Machine, job: Job, load: float, first: float, weld: float) -> tuple[Dwell, ...]:
    form = _name(machine, ("form",))
    heating = tuple(Dwell(s.name, _heat_at(machine, s, job)) for s in machine.heating_places)
    return (
        Dwell(_name(machine, ("load",)), load),
        *heating,
        Dwell(f"{form}, first sheet", first),
        Dwell(f"{form}, second sheet", weld),
    )
