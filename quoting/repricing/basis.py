"""What is kept beside an answer so that new rates need no new physics: the candidates that fit, as far as costs ask.

Everything that the catalog holds is named, not copied: machines, polymers, offers and trimmers by code or name. What
the layout gives by plain arithmetic (masses, parts an hour) is worked out again by the functions of the plan itself.
"""

import json
from collections.abc import Iterator
from dataclasses import astuple, dataclass
from typing import Any

from materials.sheet import blank_mass
from quoting.catalog import Catalog
from quoting.intake.part import PartRequest
from quoting.repricing.requests import plain_request, request_from
from quoting.routing.candidate import Candidate, CandidateGroup, Layout, PlannedCandidate, Trim
from quoting.routing.judging import JudgedGroup
from quoting.routing.plan import formed_mass, parts_per_hour, sheets_of

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


def basis_of(request: PartRequest, groups: tuple[JudgedGroup, ...]) -> Basis:
    """What is kept of the candidates of one answer.

    Parameters
    ----------
    request : PartRequest
        What was asked [SI].
    groups : tuple of JudgedGroup
        All of them, as ``answering.judged_groups`` gives them; those that do not fit are left out [-].

    Returns
    -------
    basis : Basis
        [SI]
    """
    walls: dict[Walls, int] = {}
    layouts: dict[Layout, int] = {}
    found = tuple(_fitting(group, walls, layouts) for group in groups if group.fits)
    return Basis(request, tuple(walls), tuple(layouts), found)


def _fitting(group: JudgedGroup, walls: dict[Walls, int], layouts: dict[Layout, int]) -> Fitting:
    candidate, thinning, trim = group.candidate, group.thinning, group.trim
    shape = Walls(thinning.areal_draw_ratio, thinning.mean_wall, thinning.plug)
    places = tuple(layouts.setdefault(one, len(layouts)) for one in group.layouts)
    return Fitting(
        candidate.process, candidate.machine.code, candidate.polymer.name, candidate.offer.name, candidate.gauge,
        candidate.required_gauge, walls.setdefault(shape, len(walls)), group.index, trim.plant, trim.trimmer.code,
        trim.moves, places,
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

    request: PartRequest
    candidates: CandidateGroup
    thinning: Walls
    trim: Trim
    index: float  # s, between two blanks leaving the machine
    part_mass: float  # kg, all skins

    @property
    def candidate(self) -> Candidate:
        """With the first layout."""
        return self.candidates.first

    @property
    def layouts(self) -> tuple[Layout, ...]:
        return self.candidates.layouts

    def planned(self, place: int) -> PlannedCandidate:
        """The candidate with one of its layouts, as far as costs ask: nothing in them depends on the day it was
        planned for."""
        one = self.candidates[place]
        layout, sheets = one.layout, sheets_of(one.process)
        mass = blank_mass(layout.blank_length, layout.blank_width, one.gauge, one.polymer.density)
        pace = Pace(sheets, parts_per_hour(sheets, self.index, layout.cavities, one.machine.efficiency))
        return PlannedCandidate(self.request, one, CostPlan(self.thinning, pace, self.trim, mass, self.part_mass))


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
        machine, polymer, walls = known.machines[one.machine], known.polymers[one.polymer], basis.walls[one.walls]
        offer, layouts = known.offers[one.polymer, colour, one.offer], tuple(basis.layouts[at] for at in one.layouts)
        trimming = one.trim_plant, one.trimmer, one.moves
        if trimming not in trims:
            trims[trimming] = Trim(known.trimmers[trimming[:2]], one.trim_plant, one.moves)
        first = Candidate(
            one.process, known.plants[machine.plant], machine, polymer, offer, layouts[0], one.gauge, one.required_gauge
        )
        mass = formed_mass(part, first, walls)
        yield OpenGroup(basis.request, CandidateGroup(first, layouts), walls, trims[trimming], one.index, mass)
