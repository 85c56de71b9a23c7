"""Heat conducted through many sheets at once, each in its own time.

The sheet is a slab in one dimension, ``rho dH(T)/dt = d/dx (k dT/dx)``, with ``q = supply - radiant Ts^4 - film Ts``
into each face. Finite volumes around nodes of which the outermost lie on the faces; second-order backward
differences (BDF2) with a step of its own for every sheet; heat content and radiation are linearised once per step
about the temperature extrapolated from the two steps before. What is stored from step to step is the enthalpy that
the solved balance gives, so no heat is lost at a melting peak or a step in specific heat.

Arrays have nodes along the first axis and sheets along the last, so that every operation runs over sheets that lie
side by side in memory.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np

from materials.heat_content import Array, HeatContent, enthalpy, specific_heat
from materials.ranges import OutsideRangeError

NODES = 21  # through the thickness; see tests/reference/test_conduction.py for what is left of the error
STEPS = 80  # about, from start to finish
FIRST_STEP = 1 / 16  # of a full step: the jump at the faces needs small ones
MOST_STEPS = 20_000  # far more than any sheet needs: values that are not finite must not march for ever
GROWTH = 1.25  # of the step from one to the next; BDF2 stays stable below 2.414 (from memory, unverified)


@dataclass(frozen=True)
class Faces:
    """What enters one face: ``q = supply - radiant Ts^4 - film Ts``; one array element for each sheet."""

    supply: Array  # W/m2
    radiant: Array  # W/(m2 K4)
    film: Array  # W/(m2 K)

    def taken(self, which: Array) -> "Faces":
        return Faces(self.supply[which], self.radiant[which], self.film[which])

    def flux(self, surface: Array) -> Array:
        return self.supply - self.radiant * (surface * surface) ** 2 - self.film * surface

    def slope(self, surface: Array) -> Array:
        return -4.0 * self.radiant * surface * surface * surface - self.film


@dataclass(frozen=True)
class Slabs:
    """Sheets side by side. ``first`` and ``second`` are their two faces."""

    thickness: Array  # m
    density: Array  # kg/m3
    conductivity: Array  # W/(m K)
    heat: HeatContent
    start: Array  # K, uniform
    first: Faces
    second: Faces

    def taken(self, which: Array) -> "Slabs":
        parts = (getattr(self, field.name) for field in fields(self))
        return Slabs(*(part[which] if isinstance(part, np.ndarray) else part.taken(which) for part in parts))


@dataclass(frozen=True)
class Pace:
    """How the march is stepped: ``energy`` [J/m2] expected in all, ``longest_step`` and ``limit`` [s] per sheet."""

    energy: Array
    longest_step: Array
    limit: Array
    nodes: int = NODES
    steps: int = STEPS


@dataclass(frozen=True)
class Marched:
    """Where each sheet stood when it was done, or at the time limit."""

    time: Array  # s
    profile: Array  # K, nodes along the first axis
    mean: Array  # K
    hottest_ever: Array  # K
    energy: Array  # J/m2, gained by the sheet
    absorbed: Array  # J/m2, let through the faces, summed apart from `energy`: the two must agree
    done: Array  # bool


@dataclass
class _State:
    """Two levels in time of the sheets still under way."""

    which: Array
    slabs: Slabs
    pace: Pace
    time: Array
    step: Array
    now: Array
    before: Array
    held: Array  # enthalpy now, J/kg
    held_before: Array
    absorbed: Array
    hottest: Array

    def taken(self, keep: Array) -> "_State":
        pace = replace(
            self.pace,
            energy=self.pace.energy[keep],
            longest_step=self.pace.longest_step[keep],
            limit=self.pace.limit[keep],
        )
        rows = {f.name: getattr(self, f.name)[..., keep] for f in fields(self) if f.name not in ("slabs", "pace")}
        return _State(slabs=self.slabs.taken(keep), pace=pace, **rows)


def march(slabs: Slabs, short_of: Callable[[Array, Array], Array], pace: Pace) -> Marched:
    """Heat or cool every sheet until it is done or its time is up.

    Parameters
    ----------
    slabs : Slabs
        Sheets with their faces [SI].
    short_of : callable
        From (profile [K], which sheets) to rows of temperature still missing [K], one row per condition;
        a sheet is done when none of its rows is above 0.
    pace : Pace
        Expected energy [J/m2], longest step [s], time limit [s].

    Returns
    -------
    marched : Marched
        [SI]. The end time is interpolated inside the last step.

    Raises
    ------
    OutsideRangeError
        A value is not finite, so that the march would never end.
    """
    state = _started(slabs, pace)
    found = Marched(
        time=state.pace.limit.copy(),
        profile=state.now.copy(),
        mean=slabs.start.copy(),
        hottest_ever=slabs.start.copy(),
        energy=np.zeros_like(slabs.start),
        absorbed=np.zeros_like(slabs.start),
        done=np.zeros(slabs.start.shape, bool),
    )
    missing = short_of(state.now, state.which)
    for _ in range(MOST_STEPS):
        following = _stepped(state)
        if not np.isfinite(following.time).all():
            break
        missing_then = short_of(following.now, following.which)
        finished = (missing_then <= 0.0).all(axis=0)
        ending = finished | (following.time >= following.pace.limit * (1 - 1e-12))
        if ending.any():
            found.done[following.which] = finished
            share = _share_of_step(missing, missing_then, finished)
            _record(found, state.taken(ending), following.taken(ending), share[ending])
            following, missing_then = following.taken(~ending), missing_then[:, ~ending]
        state, missing = following, missing_then
        if not state.which.size:
            return found
    raise OutsideRangeError("slabs", f"{state.which.size} that never end", "finite in all their values")


def mean_temperature(profile: Array) -> Array:
    """Mean through the thickness of nodes with the outermost on the faces.

    Parameters
    ----------
    profile : array
        Temperature [K], nodes along the first axis.

    Returns
    -------
    mean : array
        [K]
    """
    total = 0.5 * (profile[0] + profile[-1])
    for row in profile[1:-1]:  # not sum(axis=0): its order, and so its last digit, depends on the number of sheets
        total = total + row
    return total / (profile.shape[0] - 1)


def _started(slabs: Slabs, pace: Pace) -> _State:
    now = np.tile(slabs.start, (pace.nodes, 1))
    held = enthalpy(slabs.heat, now)
    flow = np.abs(slabs.first.flux(slabs.start)) + np.abs(slabs.second.flux(slabs.start))
    step = np.minimum(pace.energy / pace.steps / np.maximum(flow, 1e-9), pace.longest_step) * FIRST_STEP / GROWTH
    zeros = np.zeros_like(slabs.start)
    which = np.arange(slabs.start.size)
    return _State(which, slabs, pace, zeros, step, now, now, held, held, zeros, slabs.start.copy())


def _next_step(state: _State) -> Array:
    """Length [s] of the coming step: a fixed share of the expected energy, never growing fast, never past the limit."""
    flow = np.abs(state.slabs.first.flux(state.now[0])) + np.abs(state.slabs.second.flux(state.now[-1]))
    by_energy = state.pace.energy / state.pace.steps / np.maximum(flow, 1e-9)
    step = np.minimum(np.minimum(by_energy, state.pace.longest_step), state.step * GROWTH)
    return np.minimum(step, state.pace.limit - state.time)


def _stepped(state: _State) -> _State:
    """One step of BDF2 (the first one, without a past, is backward Euler)."""
    step = _next_step(state)
    ratio = step / state.step if state.time.any() else np.zeros_like(step)
    guess = state.now + ratio * (state.now - state.before)
    lead = (1 + 2 * ratio) / (1 + ratio)
    past = (1 + ratio) * state.held - ratio * ratio / (1 + ratio) * state.held_before
    after, held = _solved(state.slabs, step, guess, lead, past)
    influx = 0.5 * step * (_influx(state.slabs, state.now) + _influx(state.slabs, after))
    return replace(
        state,
        time=state.time + step,
        step=step,
        now=after,
        before=state.now,
        held=held,
        held_before=state.held,
        absorbed=state.absorbed + influx,
        hottest=np.maximum(state.hottest, after.max(axis=0)),
    )


def _influx(slabs: Slabs, profile: Array) -> Array:
    return slabs.first.flux(profile[0]) + slabs.second.flux(profile[-1])


def _solved(slabs: Slabs, step: Array, guess: Array, lead: Array, past: Array) -> tuple[Array, Array]:
    """Temperature and enthalpy after a step, from ``lead H(T) - past = step (conducted + let in)/(rho dx)``."""
    spacing = slabs.thickness / (guess.shape[0] - 1)
    conducted = step * slabs.conductivity / (slabs.density * (spacing * spacing))
    let_in = step / (slabs.density * spacing)
    capacity = specific_heat(slabs.heat, guess)
    offset = enthalpy(slabs.heat, guess) - capacity * guess
    diagonal = lead * capacity + 2 * conducted
    right = past - lead * offset
    for end, face in ((0, slabs.first), (-1, slabs.second)):
        surface = guess[end]
        slope = face.slope(surface)
        diagonal[end] = 0.5 * diagonal[end] - let_in * slope
        right[end] = 0.5 * right[end] + let_in * (face.flux(surface) - slope * surface)
    after = _tridiagonal(diagonal, conducted, right)
    return after, offset + capacity * after


def _tridiagonal(diagonal: Array, coupling: Array, right: Array) -> Array:
    """Thomas algorithm over all sheets at once: ``diagonal x[i] - coupling (x[i-1] + x[i+1]) = right``; in place."""
    count = diagonal.shape[0]
    upper = diagonal
    upper[0], right[0] = coupling / diagonal[0], right[0] / diagonal[0]
    for i in range(1, count):
        pivot = 1.0 / (diagonal[i] - coupling * upper[i - 1])
        right[i] = (right[i] + coupling * right[i - 1]) * pivot
        upper[i] = coupling * pivot
    for i in range(count - 2, -1, -1):
        right[i] += upper[i] * right[i + 1]
    return right


def _share_of_step(missing: Array, missing_then: Array, finished: Array) -> Array:
    """Share of the last step after which the last condition is met; all of it for a sheet whose time is up."""
    late = missing > 0.0
    fall = np.where(late, missing - missing_then, 1.0)
    shares = np.where(late, missing / np.where(fall == 0.0, 1.0, fall), 0.0)
    return np.where(finished, shares.max(axis=0), 1.0)


def _record(found: Marched, state: _State, following: _State, share: Array) -> None:
    """Write sheets into their places as they are after a share of their last step."""
    which, slabs = following.which, following.slabs
    profile = state.now + share * (following.now - state.now)
    gained = enthalpy(slabs.heat, profile) - enthalpy(slabs.heat, slabs.start)
    found.time[which] = state.time + share * (following.time - state.time)
    found.profile[:, which] = profile
    found.mean[which] = mean_temperature(profile)
    found.hottest_ever[which] = np.maximum(state.hottest, profile.max(axis=0))
    found.energy[which] = slabs.density * slabs.thickness * mean_temperature(gained)
    found.absorbed[which] = state.absorbed + share * (following.absorbed - state.absorbed)
