"""The forming plan of every candidate: heat, stretch, cool, press, turn, trim.

What the layout does not change is computed once for a group; heating and cooling of all groups are marched together.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Protocol

from machines.cycle import Job, Turn, turn
from machines.envelope import room_on_table, routers
from machines.machine import Plant
from materials.sheet import blank_mass
from materials.thinning import mean_wall
from quoting.catalog import Catalog
from quoting.intake.part import Part, PartRequest
from quoting.routing.blank_plan import hanging, press_of
from quoting.routing.candidate import (
    Candidate,
    CandidateGroup,
    Cooling,
    Cycle,
    FormingPlan,
    Heating,
    PlannedCandidate,
    Thinning,
    Trim,
)
from quoting.routing.heat_plan import coolings, heatings
from quoting.routing.recalled import Recalled
from quoting.routing.wall_plan import METHOD, Walls, areal_draw_of, tool_side_of, walls_of

FUZZ = 1e-9  # m


class WallFigures(Protocol):
    """What the mass of a part depends on of its walls."""

    areal_draw_ratio: float
    mean_wall: float


@dataclass(frozen=True)
class GroupPlan:
    """What all layouts of a group share."""

    thinning: Thinning
    heating: Heating
    cooling: Cooling
    turn: Turn
    trim: Trim
    part_mass: float  # kg


class PlannedGroup(Sequence[PlannedCandidate]):
    """Planned candidates that differ only in their layout, each planned when it is asked for, and once."""

    def __init__(
        self, request: PartRequest, candidates: CandidateGroup, plan: GroupPlan, on: date, recalled: Recalled
    ) -> None:
        self.request, self.candidates, self.plan, self.on = request, candidates, plan, on
        self._recalled = recalled
        self._known: dict[int, PlannedCandidate] = {}

    def __len__(self) -> int:
        return len(self.candidates)

    def __getitem__(self, place: int) -> PlannedCandidate:
        if place not in self._known:
            one = self.candidates[place]
            plan = _forming_plan(self.request.part, one, self.plan, self._recalled)
            self._known[place] = PlannedCandidate(self.request, one, plan, self.on)
        return self._known[place]


def planned(
    request: PartRequest, groups: tuple[CandidateGroup, ...], catalog: Catalog, on: date
) -> tuple[PlannedGroup, ...]:
    """Forming plans for groups of candidates that differ within a group only in their layout.

    Parameters
    ----------
    request : PartRequest
        [-]
    groups : tuple of CandidateGroup
        As they come from ``candidates`` [-].
    catalog : Catalog
        For the trimmers of sister plants [-].
    on : date
        Day of the answer, on which certificates must be valid [-].

    Returns
    -------
    groups : tuple of PlannedGroup
        In the same order [-].
    """
    plans, recalled = _group_plans(request.part, tuple(group.first for group in groups), catalog.plants), Recalled()
    return tuple(PlannedGroup(request, group, plan, on, recalled) for group, plan in zip(groups, plans, strict=True))


def _group_plans(part: Part, firsts: tuple[Candidate, ...], plants: tuple[Plant, ...]) -> tuple[GroupPlan, ...]:
    thinnings = {key: thinning_of(part, *key) for key in {(one.process, one.gauge) for one in firsts}}
    walls = tuple(thinnings[one.process, one.gauge].thickest_wall for one in firsts)
    recipes = heatings(firsts, walls)
    times = coolings(firsts, walls, tuple(_start_of_cooling(heating) for heating in recipes))
    trims = {plant.code: trim_of(part, plant, plants) for plant in plants}
    return tuple(
        GroupPlan(
            thinnings[one.process, one.gauge],
            heating,
            Cooling(time, one.polymer.demould_temperature, wall),
            turn(one.machine, Job(heating.time, time, one.process, heating.oven_time)),
            trims[one.plant.code],
            formed_mass(part, one, thinnings[one.process, one.gauge]),
        )
        for one, heating, time, wall in zip(firsts, recipes, times, walls, strict=True)
    )


def _start_of_cooling(heating: Heating) -> float:
    return heating.mean_at_exit if heating.mean_at_contact is None else heating.mean_at_contact


def thinning_of(part: Part, process: str, gauge: float) -> Thinning:
    """What forming leaves of the gauge.

    Parameters
    ----------
    part : Part
        [-]
    process : str
        vacuum, pressure or twin_sheet [-].
    gauge : float
        Of one sheet [m], above 0.

    Returns
    -------
    thinning : Thinning
        [-] and [m]
    """
    walls, ratio = walls_of(part, process, gauge), areal_draw_of(part)
    places = {place: gauge * getattr(walls.shares, place) for place in ("rim", "side", "base", "edge", "corner")}
    return Thinning(
        areal_draw_ratio=ratio,
        mean_wall=gauge * walls.shares.mean if walls.is_draped else mean_wall(gauge, ratio),
        thinnest_wall=gauge * walls.shares.thinnest,
        thickest_wall=gauge * walls.shares.thickest,
        method=f"{METHOD}; {_way(walls)}",
        plug=walls.method.plug,
        pre_stretch=walls.method.pre_stretch,
        **places,
    )


def _way(walls: Walls) -> str:
    if not walls.is_draped:
        return f"{'with' if walls.method.plug else 'without'} plug"
    blown = f"blown up to {walls.method.pre_stretch:g} times its area first" if walls.method.pre_stretch > 1 else ""
    return ", ".join(filter(None, ("over a male tool", blown)))


def trim_of(part: Part, home: Plant, plants: tuple[Plant, ...]) -> Trim:
    """Who trims the part: a router at home, else a sister plant's (cheapest first), else a hand bench at home.

    Parameters
    ----------
    part : Part
        [-]
    home : Plant
        Where it is formed [-].
    plants : tuple of Plant
        All of them, in any order [-].

    Returns
    -------
    trim : Trim
        Its ``trimmer`` is None where nobody can [-].
    """
    able = tuple(
        (router.hour_rate, plant.code, router.code, router)
        for plant in plants
        for router in routers(plant.trimmers)
        if room_on_table(part.length, part.width, part.depth, router).spare >= -FUZZ
    )
    own = sorted((one for one in able if one[1] == home.code), key=lambda one: one[:3])
    sister = sorted((one for one in able if one[1] != home.code), key=lambda one: one[:3])
    if own:
        return Trim(own[0][3], home.code, moves=False)
    if sister:
        return Trim(sister[0][3], sister[0][1], moves=True)
    benches = sorted((one for one in home.trimmers if one.kind == "hand"), key=lambda one: (one.hour_rate, one.code))
    return Trim(benches[0] if benches else None, home.code, moves=False)


def _forming_plan(part: Part, candidate: Candidate, plan: GroupPlan, recalled: Recalled) -> FormingPlan:
    layout, polymer, process = candidate.layout, candidate.polymer, candidate.process
    length, width = layout.blank_length, layout.blank_width
    sheets = sheets_of(process)
    blank, net = blank_mass(length, width, candidate.gauge, polymer.density), plan.part_mass
    return FormingPlan(
        thinning=plan.thinning,
        heating=plan.heating,
        sag=hanging(part, candidate),
        cooling=plan.cooling,
        cycle=_cycle(candidate, plan.turn, sheets),
        press=recalled.of(press_of, part, process, candidate.machine, layout, candidate.gauge),
        trim=plan.trim,
        blank_energy=plan.heating.energy_per_area * length * width,
        blank_mass=blank,
        part_mass=net,
        selvedge_fraction=1 - layout.cavities * net / (sheets * blank),
    )


def sheets_of(process: str) -> int:
    """Sheets that make one shot [count]: two in twin-sheet, or one."""
    return 2 if process == "twin_sheet" else 1


def formed_mass(part: Part, candidate: Candidate, walls: WallFigures) -> float:
    """Mass of the trimmed part with all its skins, of whatever layout.

    Parameters
    ----------
    part : Part
        [-]
    candidate : Candidate
        Process, gauge and polymer [-].
    walls : Thinning, or what is kept of it
        Areal draw ratio [-] and mean wall [m].

    Returns
    -------
    mass : float
        [kg]
    """
    gauge = candidate.gauge
    net = sheets_of(candidate.process) * blank_mass(part.length, part.width, gauge, candidate.polymer.density)
    if tool_side_of(part, candidate.process) == "male":  # sheet from beside the part comes to lie on it
        net *= walls.mean_wall / mean_wall(gauge, walls.areal_draw_ratio)
    return net


def _cycle(candidate: Candidate, times: Turn, sheets: int) -> Cycle:
    pace = parts_per_hour(sheets, times.index, candidate.layout.cavities, candidate.machine.efficiency)
    return Cycle(times.stations, times.index, times.governing_station, sheets, pace)


def parts_per_hour(sheets: int, index: float, cavities: int, efficiency: float) -> float:
    """Good parts an hour: ``3600 / (sheets x index time) x cavities x efficiency``.

    Parameters
    ----------
    sheets : int
        Blanks of one shot, 1 or 2 [count].
    index : float
        Time between two blanks leaving the machine [s], above 0.
    cavities : int
        Parts on one blank [count].
    efficiency : float
        Good hours over clock hours [-].

    Returns
    -------
    parts : float
        [1/h]

    Examples
    --------
    >>> parts_per_hour(1, 120.0, 2, 0.8)
    48.0
    """
    return 3600 / (sheets * index) * cavities * efficiency
