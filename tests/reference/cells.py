"""A sheet cut into cells and handed to a general solver: written apart from the product, sharing nothing with it."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.integrate import quad, solve_ivp

from materials.polymer import Polymer

SIGMA = 5.670374419e-8  # W/(m2 K4), CODATA 2018
CELLS = 120


@dataclass(frozen=True)
class Stay:
    """A time [s] between an upper and a lower surrounding, each (exchange [-], temperature [K]), and air [K]."""

    time: float
    upper: tuple[float, float]
    lower: tuple[float, float]
    air: float
    film: float  # W/(m2 K)


def open_air(polymer: Polymer, room: float, time: float) -> Stay:
    """Free convection 10 W/(m2 K), and grey radiation to walls so large that they look black."""
    walls = (polymer.emissivity, room)
    return Stay(time, walls, walls, room, 10.0)


def heat_capacity(polymer: Polymer, level):
    """J/(kg K), as the data of a polymer define it."""
    plain = np.where(level < polymer.step_temperature, polymer.specific_heat_solid, polymer.specific_heat_hot)
    offset = (level - polymer.melting_temperature) / polymer.melting_width
    return plain + polymer.latent_heat / (np.sqrt(np.pi) * polymer.melting_width) * np.exp(-(offset**2))


def heat_between(polymer: Polymer, cold: float, hot: float) -> float:
    """J/kg, by scipy quad over the heat capacity, told where its step and its peak are."""
    peak = polymer.melting_temperature + np.array([-4.0, -1.0, 0.0, 1.0, 4.0]) * polymer.melting_width
    points = [p for p in (polymer.step_temperature, *peak) if cold < p < hot]
    return quad(lambda level: float(heat_capacity(polymer, level)), cold, hot, points=points, limit=200)[0]


def _face(into: float, inner: float, beside: tuple[float, float], stay: Stay) -> float:
    """Flux [W/m2] into a face, whose temperature is where conduction from the first cell balances it."""
    exchange, around = beside
    surface = inner
    for _ in range(4):  # Newton
        flux = exchange * SIGMA * (around**4 - surface**4) + stay.film * (stay.air - surface)
        slope = -4 * exchange * SIGMA * surface**3 - stay.film
        surface -= (flux - into * (surface - inner)) / (slope - into)
    return into * (surface - inner)


def sent_through(polymer: Polymer, gauge: float, start, stays: Sequence[Stay], cells: int = CELLS) -> list[np.ndarray]:
    """Cell temperatures [K] after each stay; ``start`` one temperature, or a profile with even steps between faces."""
    size = gauge / cells
    middle = (np.arange(cells) + 0.5) / cells
    start = np.atleast_1d(np.asarray(start, float))
    now = np.interp(middle, np.linspace(0, 1, start.size), start) if start.size > 1 else np.full(cells, start[0])
    into = 2 * polymer.conductivity / size
    found = []
    for stay in stays:

        def rate(_, level, stay=stay):
            flows = polymer.conductivity / size * np.diff(level)
            upper, lower = (_face(into, level[end], side, stay) for end, side in ((0, stay.upper), (-1, stay.lower)))
            gained = np.concatenate((flows, [lower])) + np.concatenate(([upper], -flows))
            return gained / (polymer.density * size * heat_capacity(polymer, level))

        span = solve_ivp(
            rate, (0, stay.time), now, method="LSODA", lband=1, uband=1, rtol=1e-6, atol=1e-4, max_step=5.0
        )
        now = span.y[:, -1]
        found.append(now)
    return found


def face_of(polymer: Polymer, gauge: float, cells: np.ndarray, beside: tuple[float, float], stay: Stay) -> float:
    """Temperature [K] of the face before the first of the cells."""
    into = 2 * polymer.conductivity / (gauge / cells.size)
    return cells[0] + _face(into, cells[0], beside, stay) / into
