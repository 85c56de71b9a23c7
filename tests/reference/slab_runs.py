"""One slab, heated or cooled for a fixed time: all that the checks know of the solver's own interface stands here.

Checks evaluate their reference at ``Run.places``, so that nodes may lie wherever the solver wants them.
"""

from dataclasses import dataclass

import numpy as np

from materials.cooling import CoolingCase, cooled
from materials.heat_content import heat_content_of
from materials.heating import HeatedSheet, heated
from materials.marching import march
from materials.polymer import Polymer
from materials.slab import Faces, Marched, Pace, Slabs, places

CELSIUS = 273.15
STEFAN_BOLTZMANN = 5.670374419e-8  # W/(m2 K4), CODATA 2018
HOLDS_NOTHING_BACK = 1e8  # W/(m2 K), a film that brings the face to the temperature of its surroundings at once


@dataclass(frozen=True)
class Face:
    """Flux into a face, ``q = supply - radiant Ts^4 - film Ts``; W/m2, W/(m2 K4), W/(m2 K)."""

    supply: float
    radiant: float = 0.0
    film: float = 0.0

    def flux(self, surface):
        return self.supply - self.radiant * surface**4 - self.film * surface


INSULATED = Face(0.0)


def film_face(film: float, surroundings: float) -> Face:
    """Convection only: film coefficient [W/(m2 K)] and temperature [K] of what flows past."""
    return Face(film * surroundings, film=film)


def held_face(temperature: float) -> Face:
    """A face brought to a temperature [K] at once."""
    return film_face(HOLDS_NOTHING_BACK, temperature)


def oven_face(heater: float, exchange: float, film: float, air: float) -> Face:
    """Grey radiation with a share of black-body exchange [-] and convection; heater and air [K]."""
    radiant = exchange * STEFAN_BOLTZMANN
    return Face(radiant * heater**4 + film * air, radiant, film)


@dataclass(frozen=True)
class Run:
    """State of the slab at the end."""

    places: np.ndarray  # m from the first face, ascending, faces included
    profile: np.ndarray  # K
    mean: float  # K
    energy_in: float  # J/m2, let through the faces
    energy_stored: float  # J/m2

    @property
    def faces(self) -> tuple[float, float]:
        return float(self.profile[0]), float(self.profile[-1])


def run(
    polymer: Polymer,
    thickness: float,
    start: float,
    first: Face,
    second: Face,
    time: float,
    nodes: int | None = None,
    steps: int | None = None,
) -> Run:
    """Let a slab [m] of uniform temperature [K] stand between two faces for a time [s]; None: the solver's own grid."""
    one = np.ones(1)
    slabs = Slabs(
        thickness * one,
        polymer.density * one,
        polymer.conductivity * one,
        heat_content_of((polymer,)),
        start * one,
        *(Faces(face.supply * one, face.radiant * one, face.film * one) for face in (first, second)),
    )
    choice = {} if nodes is None else {"nodes": nodes}
    usual = Pace(1e12 * one, one, one).steps
    pace = Pace(1e12 * one, time / (steps or usual) * one, time * one, **choice)
    marched = march(slabs, lambda now, which: np.ones((1, which.size)), pace)
    profile = marched.profile[:, 0]
    return Run(
        thickness * places(profile.size),
        profile,
        float(marched.mean[0]),
        float(marched.absorbed[0]),
        float(marched.energy[0]),
    )


def finely_heated(sheets: tuple[HeatedSheet, ...]) -> Marched:
    """As `heated`, on a grid and with steps far finer than the usual ones."""
    return heated(sheets, nodes=161, steps=1200)


def finely_cooled(cases: tuple[CoolingCase, ...]) -> Marched:
    """As `cooled`, on a grid and with steps far finer than the usual ones."""
    return cooled(cases, nodes=161, steps=1200)


def imbalance(marched: Marched) -> np.ndarray:
    """Heat let through the faces over heat stored, less 1, for every sheet; the two are summed apart."""
    return marched.absorbed / marched.energy - 1
