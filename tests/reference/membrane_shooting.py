"""A round hyperelastic sheet drawn into a cone or cylinder, by shooting from the pole: an independent solution.

Equilibrium of a membrane of revolution (Adkins and Rivlin's equations, written here from the balance of forces):
``r T1' = (T2 - T1) r'`` and ``sin a = p r/(2 T1)``, a the slope of the meridian. At the wall the free sheet is tangent
to it; what has touched stays. Shear modulus, gauge and radius of the rim are 1.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import fsolve


@dataclass(frozen=True)
class Meridian:
    """At the end of the free sheet: distance from the axis, stretches along and around, slope, depth of the pole."""

    radius: float
    along: float
    around: float
    sine: float
    depth: float


def tension(one: float, other: float, mooney: float) -> float:
    """Force on each length now, along ``one``."""
    return (1 - mooney + mooney * other**2) * (one / other - 1 / (one * other) ** 3)


def _rates(at: float, state: np.ndarray, pressure: float, mooney: float) -> list[float]:
    radius, along, _ = state
    around = radius / at
    first, second = tension(along, around, mooney), tension(around, along, mooney)
    sine = min(pressure * radius / (2 * first), 1.0)
    outward = along * np.sqrt(1 - sine**2)
    by_along = (1 - mooney + mooney * around**2) * (1 / around + 3 / (along**4 * around**3))
    share = (1 - mooney + mooney * around**2) * (-along / around**2 + 3 / (along**3 * around**4))
    by_around = share + 2 * mooney * around * (along / around - 1 / (along * around) ** 3)
    change = (second - first) * outward / radius
    return [outward, (change - by_around * (outward - around) / at) / by_along, along * sine]


def meridian(pole: float, pressure: float, end: float, mooney: float) -> Meridian:
    """From the stretch at the pole out to the material radius ``end``."""
    start = 1e-4 * end
    run = solve_ivp(_rates, (start, end), [pole * start, pole, 0.0], args=(pressure, mooney), rtol=1e-8, atol=1e-11)
    radius, along, depth = run.y[:, -1]
    first = tension(along, radius / end, mooney)
    return Meridian(radius, along, radius / end, pressure * radius / (2 * first), depth)


def free_cap(pole: float, mooney: float) -> tuple[float, float]:
    """Pressure and depth of a sheet clamped at 1 that has a stretch at its pole."""
    pressure = fsolve(lambda p: meridian(pole, abs(p[0]), 1.0, mooney).radius - 1, [1.0], xtol=1e-10)[0]
    return float(pressure), meridian(pole, float(pressure), 1.0, mooney).depth


def walls(wall_angle: float, mooney: float, until: float, steps: int = 80) -> tuple[np.ndarray, np.ndarray]:
    """Ways along the wall from the rim [-] and wall over gauge there [-], down to the material radius ``until``."""
    ends = np.linspace(1.0, until, steps + 1)
    guess, way, radius = np.array([1.5, 1.0]), 0.0, 1.0
    ways, shares, before = [], [], None
    for end in ends:
        step = 0.0 if before is None else (ends[0] - ends[1]) * before.along
        for _ in range(3):  # the stretch that is laid down is the mean of both ends of the step
            aim = radius - step * np.cos(wall_angle)
            guess = fsolve(_missed, guess, args=(end, aim, wall_angle, mooney), xtol=1e-9)
            now = meridian(*guess, end, mooney)
            if before is not None:
                step = (ends[0] - ends[1]) * (before.along + now.along) / 2
        way, radius, before = way + step, radius - step * np.cos(wall_angle), now
        ways.append(way)
        shares.append(1 / (now.along * now.around))
    return np.array(ways), np.array(shares)


def _missed(unknown: np.ndarray, end: float, radius: float, angle: float, mooney: float) -> list[float]:
    pole, pressure = unknown
    start = 1e-4 * end
    run = solve_ivp(_rates, (start, end), [pole * start, pole, 0.0], args=(pressure, mooney), rtol=1e-8, atol=1e-11)
    reached, along, _ = run.y[:, -1]
    first = tension(along, reached / end, mooney)
    return [reached / radius - 1, pressure * reached / (2 * first) - np.sin(angle)]
