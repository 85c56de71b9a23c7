"""Heat conducted through many sheets at once, each in its own time.

The sheet is a slab in one dimension, ``rho dH(T)/dt = d/dx (k dT/dx) + source``, with
``q = supply - radiant Ts^4 - film Ts`` into each face. Finite volumes around nodes of which the outermost lie on the
faces; second-order backward differences (BDF2, L-stable) with a step of its own for every sheet, small while the
faces are still cold and then an even share of the energy expected; heat content and radiation are linearised once per
step about the temperature extrapolated from the two steps before. What is stored from step to step is the enthalpy
that the solved balance gives, so no heat is lost at a melting peak or a step in specific heat.

Arrays have nodes along the first axis and sheets along the last, so that every operation runs over sheets that lie
side by side in memory. Nothing adds up over sheets: a sheet comes out the same, to the last bit, in any company.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace

import numpy as np

from materials.heat_content import Array, HeatContent, enthalpy, enthalpy_and_specific_heat, temperature_holding
from materials.ranges import OutsideRangeError

NODES = 21  # through the thickness; tests/reference shows what is left of the error
STEPS = 20  # about, from start to finish, of a sheet that does not melt
MELTING_STEPS = 32  # of one that does: the peak must not be stepped over
FIRST_STEP = 1 / 16  # of a full step: the jump at the faces needs small ones
ROOT_STEPS = 6  # of false position in the last step: ends within a hundredth of a kelvin
MOST_STEPS = 20_000  # far more than any sheet needs: values that are not finite must not march for ever
GROWTH = 1.6  # of the step from one to the next; BDF2 stays stable below 2.414 (from memory, unverified)
PASSING = 0.15  # of the heat through both faces counts at least, whatever their balance
ASTRAY = 0.02  # of the latent heat: what a node holds may differ by this from what its temperature says, or the step
# is solved again, and at last taken again, shorter; otherwise it could leap over a melting peak
SHARPENINGS = 3
SHORTER = 1 / 3
SHORTEST_SHARE = 1 / 300  # of a full step; shorter ones help no further
SPENT = 0.25  # share of sheets that are done before the others move up; moving costs about as much as a step


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
    start: Array  # K, one for each sheet, or a profile of each with the nodes along the first axis
    first: Faces
    second: Faces
    source: Array | None = None  # W/m2 taken up around each node, nodes along the first axis; None: opaque

    def taken(self, which: Array) -> "Slabs":
        return Slabs(*(_taken(getattr(self, field.name), which) for field in fields(self)))


def _taken(part: object, which: Array) -> object:
    if part is None:
        return None
    return part[..., which] if isinstance(part, np.ndarray) else part.taken(which)


@dataclass(frozen=True)
class Pace:
    """How the march is stepped: ``energy`` [J/m2] expected in all, ``longest_step`` and ``limit`` [s] per sheet."""

    energy: Array
    longest_step: Array
    limit: Array
    nodes: int = NODES
    steps: int | Array = STEPS
    first_step: float = FIRST_STEP

    def taken(self, which: Array) -> "Pace":
        steps = self.steps[which] if isinstance(self.steps, np.ndarray) else self.steps
        return replace(
            self, energy=self.energy[which], longest_step=self.longest_step[which], limit=self.limit[which], steps=steps
        )


@dataclass(frozen=True)
class Marched:
    """Where each sheet stood when it was done, or at the time limit."""

    time: Array  # s
    profile: Array  # K, nodes along the first axis
    mean: Array  # K
    hottest_ever: Array  # K, toward the two faces, upper first
    energy: Array  # J/m2, gained by the sheet
    absorbed: Array  # J/m2, let in, summed apart from `energy`: the two must agree
    done: Array  # bool
    curve_times: Array | None = None  # s, steps along the first axis; only where it was asked for
    curve: Array | None = None  # K, steps, nodes, sheets


@dataclass
class _State:
    """Two levels in time of the sheets still under way."""

    which: Array
    slabs: Slabs
    pace: Pace
    time: Array
    step: Array  # the last one taken
    trial: Array  # the longest that the next one may be
    now: Array
    before: Array
    held: Array  # enthalpy now, J/kg
    held_before: Array
    absorbed: Array
    absorbed_before: Array
    hottest: Array
    open: Array  # bool, not yet done

    def taken(self, keep: Array) -> "_State":
        return _State(**{f.name: _taken(getattr(self, f.name), keep) for f in fields(self)})


def march(slabs: Slabs, short_of: Callable[[Array, Array], Array], pace: Pace, curves: bool = False) -> Marched:
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
    curves : bool
        Keep the profile of every step too; for few sheets [-].

    Returns
    -------
    marched : Marched
        [SI]. The end time is interpolated inside the last step by a parabola through the last three profiles.

    Raises
    ------
    OutsideRangeError
        A value is not finite, so that the march would never end.
    """
    state = _started(slabs, pace)
    found = _nothing_found(state)
    kept = [(state.time, state.now)] if curves else None
    for _ in range(MOST_STEPS):
        following = _stepped(state)
        if not np.isfinite(following.time).all():
            break
        _end_those_that_are_done(found, state, following, short_of)
        if curves:
            kept.append((following.time, following.now))
        if not following.open.any():
            return _with_curves(found, state.which, kept) if curves else found
        enough = not curves and following.open.mean() < 1 - SPENT
        state = following.taken(np.flatnonzero(following.open)) if enough else following
    raise OutsideRangeError("slabs", f"{state.which.size} that never end", "finite in all their values")


def never(profile: Array, which: Array) -> Array:
    """The end condition of a march that only its time limit ends [K]."""
    return np.ones((1, which.size))


def places(nodes: int) -> Array:
    """Where the nodes lie, as a share of the thickness from the first face [-]."""
    return np.linspace(0.0, 1.0, nodes)


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
    """Sheets that melt at the end, so that their peak is reckoned on one stretch of memory."""
    which = np.argsort(slabs.heat.latent_heat > 0.0, kind="stable")
    slabs, pace = slabs.taken(which), pace.taken(which)
    now = np.tile(slabs.start, (pace.nodes, 1)) if slabs.start.ndim == 1 else slabs.start
    held = enthalpy(slabs.heat, now)
    zeros = np.zeros_like(slabs.thickness)
    trial = np.minimum(_even_share(slabs, pace, now), pace.longest_step) * pace.first_step
    faces = _hottest(slabs, now).copy()
    going = np.ones(which.size, bool)
    return _State(which, slabs, pace, zeros, zeros, trial, now, now, held, held, zeros, zeros, faces, going)


def _hottest(slabs: Slabs, profile: Array) -> Array:
    """Hottest point [K] toward either face: the face itself, unless heat is taken up below it."""
    last = profile.shape[0] - 1
    if slabs.source is None:
        return profile[::last]
    return np.stack((profile[: last // 2 + 1].max(axis=0), profile[last // 2 :].max(axis=0)))


def _nothing_found(state: _State) -> Marched:
    count, nodes = state.which.size, state.now.shape[0]
    empty = np.empty(count)
    return Marched(
        time=empty,
        profile=np.empty((nodes, count)),
        mean=empty.copy(),
        hottest_ever=np.empty((2, count)),
        energy=empty.copy(),
        absorbed=empty.copy(),
        done=np.zeros(count, bool),
    )


def _even_share(slabs: Slabs, pace: Pace, now: Array) -> Array:
    """Time [s] in which a full step's share of the expected energy comes in."""
    ways = [slabs.first.flux(now[0]), slabs.second.flux(now[-1])]
    if slabs.source is not None:
        ways.append(slabs.source.sum(axis=0))
    # What only passes through a sheet near its steady state changes little in it.
    flow = np.maximum(np.abs(sum(ways)), PASSING * sum(map(np.abs, ways)))
    return pace.energy / pace.steps / np.maximum(flow, 1e-9)


def _next_step(state: _State) -> Array:
    """Length [s] of the coming step: a fixed share of the expected energy, never growing fast, never past the limit."""
    share = np.minimum(_even_share(state.slabs, state.pace, state.now), state.pace.longest_step)
    step = np.minimum(share, state.trial)
    # A sheet that is done waits for the others in harmless steps.
    return np.where(state.open, np.minimum(step, state.pace.limit - state.time), state.step)


def _stepped(state: _State) -> _State:
    """One step of BDF2 (the first one, without a past, is backward Euler)."""
    step = _next_step(state)
    ratio = np.divide(step, state.step, out=np.zeros_like(step), where=state.step > 0.0)
    guess = state.now - state.before
    guess *= ratio
    guess += state.now
    lead = (1 + 2 * ratio) / (1 + ratio)
    old, older = 1 + ratio, ratio * ratio / (1 + ratio)
    past = old * state.held
    past -= older * state.held_before
    after, held = _solved(state.slabs, step, guess, lead, past)
    inflow = state.slabs.first.flux(after[0]) + state.slabs.second.flux(after[-1])
    if state.slabs.source is not None:
        inflow = inflow + state.slabs.source.sum(axis=0)
    absorbed = (old * state.absorbed - older * state.absorbed_before + step * inflow) / lead
    after, held, astray = _sharpened(state.slabs, step, after, held, lead, past)
    stuck = np.flatnonzero(astray & (step < SHORTEST_SHARE * _even_share(state.slabs, state.pace, state.now)))
    if stuck.size:
        after, astray[stuck] = _settled(state.slabs, after, held, stuck), False
    following = _State(
        which=state.which,
        slabs=state.slabs,
        pace=state.pace,
        time=state.time + step,
        step=step,
        trial=step * GROWTH,
        now=after,
        before=state.now,
        held=held,
        held_before=state.held,
        absorbed=absorbed,
        absorbed_before=state.absorbed,
        hottest=np.maximum(state.hottest, _hottest(state.slabs, after)),
        open=state.open,
    )
    return _taken_back(state, following, astray & state.open) if astray.any() else following


def _settled(slabs: Slabs, after: Array, held: Array, stuck: Array) -> Array:
    """Temperatures of stuck sheets from what their nodes hold, so that a needle of a peak cannot stop a march."""
    after = after.copy()
    after[:, stuck] = temperature_holding(slabs.heat.taken(stuck), held[:, stuck])
    return after


def _sharpened(
    slabs: Slabs, step: Array, after: Array, held: Array, lead: Array, past: Array
) -> tuple[Array, Array, Array]:
    """Solve again, about what was found, for sheets that melt and whose temperatures do not say what their nodes hold.

    Returns which of them are astray even so: they leapt over their melting peak.
    """
    astray = np.zeros(step.size, bool)
    melting = np.flatnonzero(slabs.heat.latent_heat)
    for _ in range(SHARPENINGS):
        melting = melting[_mismatch(slabs.taken(melting), after[:, melting], held[:, melting]) > ASTRAY]
        if not melting.size:
            return after, held, astray
        some = slabs.taken(melting)
        after[:, melting], held[:, melting] = _solved(
            some, step[melting], after[:, melting], lead[melting], past[:, melting]
        )
    astray[melting] = _mismatch(slabs.taken(melting), after[:, melting], held[:, melting]) > ASTRAY
    return after, held, astray


def _mismatch(slabs: Slabs, profile: Array, held: Array) -> Array:
    """Largest difference, as a share of the latent heat, between what nodes hold and what they should at their heat."""
    return np.abs(enthalpy(slabs.heat, profile) - held).max(axis=0) / slabs.heat.latent_heat


def _taken_back(state: _State, following: _State, leapt: Array) -> _State:
    """Take back the step of some sheets; they try a shorter one next."""
    kept = {name: np.where(leapt, getattr(state, name), getattr(following, name)) for name in _STEPPED}
    return replace(following, trial=np.where(leapt, following.step * SHORTER, following.trial), **kept)


_STEPPED = ("time", "step", "now", "before", "held", "held_before", "absorbed", "absorbed_before", "hottest")


def _solved(slabs: Slabs, step: Array, guess: Array, lead: Array, past: Array) -> tuple[Array, Array]:
    """Temperature and enthalpy after a step, from ``lead H(T) - past = step (conducted + let in)/(rho dx)``.

    The balance of a node is divided by what one kelvin to its neighbour conducts, so that the coupling is 1.
    """
    spacing = slabs.thickness / (guess.shape[0] - 1)
    storing = slabs.density * (spacing * spacing) / (step * slabs.conductivity)
    entering = spacing / slabs.conductivity
    offset, capacity = enthalpy_and_specific_heat(slabs.heat, guess)
    offset -= capacity * guess
    diagonal = capacity * (lead * storing)
    right = past - lead * offset
    right *= storing
    for end, face in ((0, slabs.first), (-1, slabs.second)):
        surface = guess[end]
        slope = face.slope(surface)
        diagonal[end] = 0.5 * diagonal[end] - entering * slope - 1.0
        right[end] = 0.5 * right[end] + entering * (face.flux(surface) - slope * surface)
    diagonal += 2.0
    if slabs.source is not None:
        right += entering * slabs.source
    after = _tridiagonal(diagonal, right)
    offset += capacity * after
    return after, offset


def _tridiagonal(diagonal: Array, right: Array) -> Array:
    """Thomas algorithm over all sheets at once: ``diagonal x[i] - x[i-1] - x[i+1] = right``; in place."""
    count = diagonal.shape[0]
    upper = diagonal
    np.divide(1.0, diagonal[0], out=upper[0])
    right[0] *= upper[0]
    for i in range(1, count):
        pivot = upper[i]
        pivot -= upper[i - 1]
        np.divide(1.0, pivot, out=pivot)
        right[i] += right[i - 1]
        right[i] *= pivot
    for i in range(count - 2, -1, -1):
        right[i] += upper[i] * right[i + 1]
    return right


def _end_those_that_are_done(
    found: Marched, state: _State, following: _State, short_of: Callable[[Array, Array], Array]
) -> None:
    if short_of is never:
        finished = np.zeros(following.which.size, bool)
    else:
        finished = (short_of(following.now, following.which) <= 0.0).all(axis=0)
    ending = following.open & (finished | (following.time >= following.pace.limit * (1 - 1e-12)))
    if not ending.any():
        return
    some = np.flatnonzero(ending)
    now, then, done = state.taken(some), following.taken(some), finished[some]
    share = np.where(done, _share_of_step(now, then, short_of), 1.0) if done.any() else np.ones(done.shape)
    _record(found, now, then, share, done)
    following.open = following.open & ~ending


def _between(state: _State, following: _State, share: Array) -> Array:
    """Profiles after a share of the last step, on the parabola through the last three of them."""
    chord = following.now - state.now
    # Divided differences; a first step has no past, and goes straight.
    backward = np.where(state.step > 0.0, state.step, np.inf)
    bend = (chord - following.step / backward * (state.now - state.before)) * following.step
    return state.now + share * (chord + (share - 1.0) * bend / (following.step + backward))


def _share_of_step(state: _State, following: _State, short_of: Callable[[Array, Array], Array]) -> Array:
    """Share of the last step after which the last condition is met, by false position (Illinois)."""
    low, high = np.zeros_like(state.time), np.ones_like(state.time)
    missing = short_of(state.now, state.which).max(axis=0)
    spare = short_of(following.now, following.which).max(axis=0)
    already = missing <= 0.0
    side = np.zeros_like(low)
    for _ in range(ROOT_STEPS):
        fall = missing - spare
        share = low + (high - low) * np.where(already, 0.0, missing / np.where(fall == 0.0, 1.0, fall))
        value = short_of(_between(state, following, share), state.which).max(axis=0)
        late = value > 0.0
        spare = np.where(late, np.where(side > 0, 0.5 * spare, spare), value)
        missing = np.where(late, value, np.where(side < 0, 0.5 * missing, missing))
        low, high = np.where(late, share, low), np.where(late, high, share)
        side = np.where(late, 1.0, -1.0)
    return np.where(already, 0.0, high)


def _record(found: Marched, state: _State, following: _State, share: Array, done: Array) -> None:
    """Write sheets into their places as they are after a share of their last step."""
    which, slabs = following.which, following.slabs
    profile = _between(state, following, share)
    gained = enthalpy(slabs.heat, profile) - enthalpy(slabs.heat, slabs.start)
    found.done[which] = done
    found.time[which] = state.time + share * (following.time - state.time)
    found.profile[:, which] = profile
    found.mean[which] = mean_temperature(profile)
    found.hottest_ever[:, which] = np.maximum(state.hottest, _hottest(slabs, profile))
    found.energy[which] = slabs.density * slabs.thickness * mean_temperature(gained)
    found.absorbed[which] = state.absorbed + share * (following.absorbed - state.absorbed)


def _with_curves(found: Marched, which: Array, kept: list[tuple[Array, Array]]) -> Marched:
    """Steps of every sheet up to its own end, after which its last profile stays."""
    back = np.argsort(which)
    times = np.stack([time for time, _ in kept])[:, back]
    profiles = np.stack([profile for _, profile in kept])[..., back]
    over = times >= found.time
    return replace(
        found,
        curve_times=np.minimum(times, found.time),
        curve=np.where(over[:, None, :], found.profile[None], profiles),
    )
