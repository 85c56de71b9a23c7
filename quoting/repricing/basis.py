"""What is kept beside an answer so that new rates need no new physics: the candidates that fit, as far as costs ask.

Everything that the catalog holds is named, not copied: machines, polymers, offers and trimmers by code or name. What
the layout gives by plain arithmetic (masses, parts an hour) is worked out again by the functions of the plan itself.
"""

import json
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from datetime import date
from typing import Any

from materials.sheet import blank_mass
from quoting.catalog import Catalog
from quoting.intake.part import PartRequest
from quoting.repricing.requests import plain_request, request_from
from quoting.routing.candidate import Candidate, JudgedCandidate, Layout, PlannedCandidate, Trim
from quoting.routing.plan import parts_per_hour

FORMAT = 1  # of the text; another one is no basis


class StaleBasisError(ValueError):
    """The basis names something that the catalog no longer holds, or is of another format."""


@dataclass(frozen=True)
class Walls:
    """What costs ask of the walls: ratio [-], mean wall [m], whether a plug helps."""

    areal_draw_ratio: float
    mean_wall: float
    plug: bool


@dataclass(frozen=True)
class Pace:
    blanks_per_part: int
    parts_per_hour: float


@dataclass(frozen=True)
class CostPlan:
    """The part of a ``FormingPlan`` that costs ask for, in its place; whatever else is asked of it is refused."""

    thinning: Walls
    cycle: Pace
    trim: Trim
    blank_mass: float  # kg
    part_mass: float  # kg


@dataclass(frozen=True)
class Fitting:
    """A group of candidates that fit: one process, machine, polymer and sheet. ``layouts`` in their order."""

    process: str
    machine: str
    polymer: str
    offer: str
    gauge: float  # m
    required_gauge: float  # m
    walls: int  # place in ``Basis.walls``
    index: float  # s
    trim_plant: str
    trimmer: str
    moves: bool
    layouts: tuple[int, ...]  # places in ``Basis.layouts``


@dataclass(frozen=True)
class Basis:
    request: PartRequest
    walls: tuple[Walls, ...]
    layouts: tuple[Layout, ...]
    groups: tuple[Fitting, ...]


def basis_of(request: PartRequest, groups: tuple[tuple[JudgedCandidate, ...], ...]) -> Basis:
    """What is kept of the candidates of one answer.

    Parameters
    ----------
    request : PartRequest
        What was asked [SI].
    groups : tuple of tuple of JudgedCandidate
        All of them, as ``answering.judged_groups`` gives them; those that do not fit are left out [-].

    Returns
    -------
    basis : Basis
        [SI]
    """
    walls: dict[Walls, int] = {}
    layouts: dict[Layout, int] = {}
    found = tuple(_fitting(group, walls, layouts) for group in groups if group[0].fits)
    return Basis(request, tuple(walls), tuple(layouts), found)


def _fitting(group: tuple[JudgedCandidate, ...], walls: dict[Walls, int], layouts: dict[Layout, int]) -> Fitting:
    candidate, plan = group[0].planned.candidate, group[0].planned.plan
    shape = Walls(plan.thinning.areal_draw_ratio, plan.thinning.mean_wall, plan.thinning.plug)
    places = tuple(layouts.setdefault(one.planned.candidate.layout, len(layouts)) for one in group)
    return Fitting(
        candidate.process, candidate.machine.code, candidate.polymer.name, candidate.offer.name, candidate.gauge,
        candidate.required_gauge, walls.setdefault(shape, len(walls)), plan.cycle.index, plan.trim.plant,
        plan.trim.trimmer.code, plan.trim.moves, places,
    )  # fmt: skip


def to_text(basis: Basis) -> str:
    """A basis as JSON text.

    Parameters
    ----------
    basis : Basis
        [SI]

    Returns
    -------
    text : str
        Floats to their last digit [-].
    """
    plain = {
        "format": FORMAT,
        "request": plain_request(basis.request),
        "walls": [astuple(one) for one in basis.walls],
        "layouts": [astuple(one) for one in basis.layouts],
        "groups": [astuple(one) for one in basis.groups],
    }
    return json.dumps(plain, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def from_text(text: str) -> Basis:
    """The basis that ``to_text`` wrote.

    Parameters
    ----------
    text : str
        [-]

    Returns
    -------
    basis : Basis
        Equal to the one that was written [SI].

    Raises
    ------
    StaleBasisError
        It is of another format.
    """
    plain: dict[str, Any] = json.loads(text)
    if plain.get("format") != FORMAT:
        raise StaleBasisError(f"the basis is of format {plain.get('format')}; {FORMAT} is read")
    return Basis(
        request_from(plain["request"]),
        tuple(Walls(*one) for one in plain["walls"]),
        tuple(Layout(*one) for one in plain["layouts"]),
        tuple(Fitting(*one[:-1], tuple(one[-1])) for one in plain["groups"]),
    )


@dataclass(frozen=True)
class Known:
    """The objects of one catalog by the names that a basis uses."""

    plants: dict[str, Any]
    machines: dict[str, Any]
    polymers: dict[str, Any]
    offers: dict[tuple[str, str, str], Any]
    trimmers: dict[tuple[str, str], Any]

    @classmethod
    def of(cls, catalog: Catalog) -> "Known":
        return cls(
            {one.code: one for one in catalog.plants},
            {one.code: one for one in catalog.machines},
            {one.name: one for one in catalog.polymers},
            {(one.polymer, one.colour, one.name): one for one in catalog.offers},
            {(plant.code, one.code): one for plant in catalog.plants for one in plant.trimmers},
        )


@dataclass(frozen=True)
class OpenGroup:
    """A group with the objects of a catalog in place of their names."""

    fitting: Fitting
    candidate: Candidate  # with the first layout
    walls: Walls
    trim: Trim
    layouts: tuple[Layout, ...]
    sheets: int  # of one shot
    part_mass: float  # kg

    def mass_of(self, layout: Layout) -> float:
        """Mass of one blank [kg]."""
        density = self.candidate.polymer.density
        return blank_mass(layout.blank_length, layout.blank_width, self.candidate.gauge, density)

    def pace_of(self, layout: Layout) -> float:
        """Good parts an hour [1/h]."""
        return parts_per_hour(self.sheets, self.fitting.index, layout.cavities, self.candidate.machine.efficiency)

    def planned(self, place: int, request: PartRequest, on: date) -> PlannedCandidate:
        """The candidate with one of its layouts, as far as costs ask."""
        layout, first = self.layouts[place], self.candidate
        candidate = Candidate(
            first.process, first.plant, first.machine, first.polymer, first.offer, layout, first.gauge,
            first.required_gauge,
        )  # fmt: skip
        pace = Pace(self.sheets, self.pace_of(layout))
        plan = CostPlan(self.walls, pace, self.trim, self.mass_of(layout), self.part_mass)
        return PlannedCandidate(request, candidate, plan, on)


def opened(basis: Basis, known: Known) -> tuple[OpenGroup, ...]:
    """The groups of a basis over the objects of a catalog.

    Parameters
    ----------
    basis : Basis
        [SI]
    known : Known
        The catalog by name [-].

    Returns
    -------
    groups : tuple of OpenGroup
        In their order [-].

    Raises
    ------
    StaleBasisError
        The catalog no longer holds something that the basis names.
    """
    try:
        return tuple(_opened(basis, known))
    except KeyError as missing:
        raise StaleBasisError(f"the catalog no longer holds {missing}") from missing


def _opened(basis: Basis, known: Known) -> Iterator[OpenGroup]:
    part, colour = basis.request.part, basis.request.colour
    trims: dict[tuple[str, str, bool], Trim] = {}
    for one in basis.groups:
        machine, polymer = known.machines[one.machine], known.polymers[one.polymer]
        offer, sheets = known.offers[one.polymer, colour, one.offer], 2 if one.process == "twin_sheet" else 1
        layouts = tuple(basis.layouts[place] for place in one.layouts)
        trimming = one.trim_plant, one.trimmer, one.moves
        if trimming not in trims:
            trims[trimming] = Trim(known.trimmers[trimming[:2]], one.trim_plant, one.moves)
        yield OpenGroup(
            one,
            Candidate(
                one.process, known.plants[machine.plant], machine, polymer, offer, layouts[0], one.gauge,
                one.required_gauge,
            ),
            basis.walls[one.walls],
            trims[trimming],
            layouts,
            sheets,
            sheets * blank_mass(part.length, part.width, one.gauge, polymer.density),
        )  # fmt: skip
