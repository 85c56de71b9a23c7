"""The same slab solved by FiPy, a general finite-volume library; nothing shared with the code under test but the data.

Cells of even width, temperature in their middle, half a cell of conduction to each face; heat content written out
again below; constant time steps, second-order backward differences iterated until nothing moves.
"""

from dataclasses import dataclass

import numpy as np
from fipy import CellVariable, DiffusionTerm, Grid1D, ImplicitSourceTerm, LinearLUSolver, TransientTerm
from scipy.special import erf

from materials.polymer import Polymer
from tests.reference.slab_runs import Face

FIRST_STEPS = 8  # backward Euler, shares of the first step, before there is a past
NOTHING_MOVES = 0.01  # K; the last correction is far smaller, since Newton's method doubles its digits
# FiPy's own tolerance, 1e-5 of the right-hand side, would leave out corrections of some mK in every step.
SOLVER = LinearLUSolver(tolerance=1e-14)


@dataclass(frozen=True)
class Section:
    """Profile at one time, faces included."""

    places: np.ndarray  # m
    temperature: np.ndarray  # K

    def at(self, places: np.ndarray) -> np.ndarray:
        return np.interp(places, self.places, self.temperature)


def heat(p: Polymer, level: np.ndarray) -> np.ndarray:
    """J/kg, exact integral of `capacity`."""
    melted = 0.5 * (1 + erf((level - p.melting_temperature) / p.melting_width))
    above = np.maximum(level - p.step_temperature, 0.0)
    jump = p.specific_heat_hot - p.specific_heat_solid
    return p.specific_heat_solid * level + jump * above + p.latent_heat * melted


def capacity(p: Polymer, level: np.ndarray) -> np.ndarray:
    """J/(kg K)"""
    peak = np.exp(-(((level - p.melting_temperature) / p.melting_width) ** 2)) / (np.sqrt(np.pi) * p.melting_width)
    base = np.where(level < p.step_temperature, p.specific_heat_solid, p.specific_heat_hot)
    return base + p.latent_heat * peak


def surface(face: Face, cell: float, conductance: float) -> tuple[float, float]:
    """Temperature of a face half a cell away [K] and d(flux)/d(cell temperature) [W/(m2 K)], by Newton's method."""
    level = cell
    for _ in range(6):
        slope = -4 * face.radiant * level**3 - face.film
        level -= (face.flux(level) - conductance * (level - cell)) / (slope - conductance)
    slope = -4 * face.radiant * level**3 - face.film
    return level, slope * conductance / (conductance - slope)


class FipySlab:
    def __init__(self, polymer: Polymer, thickness: float, start: float, faces: tuple[Face, Face], cells: int) -> None:
        self.polymer, self.faces, self.width = polymer, faces, thickness / cells
        self.conductance = 2 * polymer.conductivity / self.width
        mesh = Grid1D(nx=cells, dx=self.width)
        self.level = CellVariable(mesh=mesh, value=start, hasOld=True)
        self.capacity, self.source, self.slope = (CellVariable(mesh=mesh) for _ in range(3))
        self.equation = TransientTerm(coeff=self.capacity) == (
            DiffusionTerm(coeff=polymer.conductivity) + self.source + ImplicitSourceTerm(coeff=self.slope)
        )
        self.places = np.concatenate(([0.0], mesh.cellCenters.value[0], [thickness]))

    def section(self) -> Section:
        cells = self.level.value
        ends = [surface(f, cells[i], self.conductance)[0] for f, i in zip(self.faces, (0, -1), strict=True)]
        return Section(self.places, np.concatenate((ends[:1], cells, ends[1:])))

    def sections(self, times: tuple[float, ...], step: float) -> list[Section]:
        """Profiles at times that are whole multiples of the step [s]."""
        start = self.level.value.copy()
        for _ in range(FIRST_STEPS):
            self._advance(step / FIRST_STEPS, 1.0, heat(self.polymer, self.level.value), 0.0)
        before, found = start, []
        for count in range(1, round(times[-1] / step) + 1):
            if count > 1:
                now = self.level.value.copy()
                past = 2 * heat(self.polymer, now) - 0.5 * heat(self.polymer, before)
                self._advance(step, 1.5, past, now - before)
                before = now
            if any(abs(count * step - time) < 1e-6 for time in times):
                found.append(self.section())
        return found

    def _advance(self, step: float, lead: float, past: np.ndarray, expected_rise: np.ndarray | float) -> None:
        """Solve ``density (lead H(T) - past)/step = d/dx (k dT/dx)`` with the flux into the faces."""
        self.level.updateOld()
        old = self.level.value.copy()
        self.level.setValue(old + expected_rise)
        for _ in range(40):
            now = self.level.value.copy()
            self._linearise(now, old, step, lead, past)
            self.equation.sweep(self.level, dt=step, solver=SOLVER)
            if np.abs(self.level.value - now).max() < NOTHING_MOVES:
                return
        raise AssertionError("the reference itself does not settle")

    def _linearise(self, now: np.ndarray, old: np.ndarray, step: float, lead: float, past: np.ndarray) -> None:
        p = self.polymer
        steep = lead * p.density * capacity(p, now)
        source = -(p.density * (lead * heat(p, now) - past) - steep * (now - old)) / step
        slope = np.zeros_like(now)
        for face, end in zip(self.faces, (0, -1), strict=True):
            level, slope_here = surface(face, now[end], self.conductance)
            flux = self.conductance * (level - now[end])
            slope[end] = slope_here / self.width
            source[end] += (flux - slope_here * now[end]) / self.width
        self.capacity.setValue(steep)
        self.source.setValue(source)
        self.slope.setValue(slope)
