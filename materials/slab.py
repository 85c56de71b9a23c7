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
from functools import cached_property, reduce

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
    """What enters one face: ``q = supply - radiant Ts^4 - film Ts``; one array element for each sheet.

    Of both faces of a sheet at once: rows of two.
    """

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
    # Of clear sheet, around each node, nodes along the first axis: what is taken up [W/m2], and what is sent out for
    # each T^4 there [W/(m2 K4)]; None: opaque.
    source: Array | None = None
    sink: Array | None = None

    def taken(self, which: Array) -> "Slabs":
        return Slabs(*(_taken(getattr(self, field.name), which) for field in fields(self)))

    def taken_up(self, profile: Array) -> Array | float:
        """What is taken up less what is sent out, at all depths together [W/m2]."""
        if self.source is None:
            return 0.0
        # not sum(axis=0): its order, and so its last digit, depends on the number of sheets
        return reduce(np.add, self.source - self.sink * (profile * profile) ** 2)

    # What a march asks for at every step is worked out once.

    @cached_property
    def faces(self) -> Faces:
        """Both faces at once."""
        return Faces(*(np.stack([getattr(f, part.name) for f in (self.first, self.second)]) for part in fields(Faces)))

    @cached_property
    def melting(self) -> Array:
        """Which sheets melt."""
        return np.flatnonzero(self.heat.latent_heat)

    @cached_property
    def that_melt(self) -> "Slabs":
        return self.taken(self.melting)


def _taken(part: object, which: Array) -> object:
    if part is None:
        return None
    return part[..., which] if isinstance(part, np.ndarray) else part.taken(which)


@dataclass(frozen=True)
class Pace:
    """How the march is stepped: ``energy`` [J/m2] expected in all, ``longest_step`` and ``limit`` [s] per sheet.

    Where no energy is expected, the steps are even in time, as long as the longest.
    """

    energy: Array | None
    longest_step: Array
    limit: Array
    nodes: int = NODES
    steps: int | Array = STEPS
    first_step: float = FIRST_STEP

    def taken(self, which: Array) -> "Pace":
        steps = self.steps[which] if isinstance(self.steps, np.ndarray) else self.steps
        energy = None if self.energy is None else self.energy[which]
        return replace(self, energy=energy, longest_step=self.longest_step[which], limit=self.limit[which], steps=steps)


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
    ends = _no_ends(state)
    kept = [(state.time, state.now)] if curves else None
    for _ in range(MOST_STEPS):
        following = _stepped(state)
        if not np.isfinite(following.time).all():
            break
        ended = _end_those_that_are_done(ends, state, following, short_of)
        if curves:
            kept.append((following.time, following.now))
        state = following
        if not ended:
            continue
        open_ones = np.flatnonzero(state.open)
        if not open_ones.size:
            found = _found(ends, slabs, short_of)
            return _with_curves(found, state.which, kept) if curves else found
        if not curves and open_ones.size < (1 - SPENT) * state.open.size:
            state = state.taken(open_ones)
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
    rows = np.concatenate((0.5 * (profile[:1] + profile[-1:]), profile[1:-1]))
    while rows.shape[0] > 1:  # not sum(axis=0): its order, and so its last digit, depends on the number of sheets
        half = rows.shape[0] // 2
        rows[:half] += rows[-half:]
        rows = rows[:-half]
    return rows[0] / (profile.shape[0] - 1)


def _started(slabs: Slabs, pace: Pace) -> _State:
    """Sheets that melt at the end, so that their peak is reckoned on one stretch of memory."""
    which = np.argsort(slabs.heat.latent_heat > 0.0, kind="stable")
    slabs, pace = slabs.taken(which), pace.taken(which)
    now = np.tile(slabs.start, (pace.nodes, 1)) if slabs.start.ndim == 1 else slabs.start
    held = enthalpy(slabs.heat, now)
    zeros = np.zeros_like(slabs.thickness)
    trial = _full_step(slabs, pace, now) * pace.first_step
    faces = np.stack((now[0], now[-1]))
    going = np.ones(which.size, bool)
    return _State(which, slabs, pace, zeros, zeros, trial, now, now, held, held, zeros, zeros, faces, going)


def _even_share(slabs: Slabs, pace: Pace, now: Array) -> Array:
    """Time [s] in which a full step's share of the expected energy comes in."""
    flux = slabs.faces.flux(_both_ends(now))
    # What only passes through a sheet near its steady state changes little in it.
    within = slabs.taken_up(now)
    passing = PASSING * (np.abs(flux[0]) + np.abs(flux[1]) + np.abs(within))
    flow = np.maximum(np.abs(flux[0] + flux[1] + within), passing)
    return pace.energy / pace.steps / np.maximum(flow, 1e-9)


def _full_step(slabs: Slabs, pace: Pace, now: Array) -> Array:
    """Step [s] to which nothing else is in the way."""
    if pace.energy is None:
        return pace.longest_step
    return np.minimum(_even_share(slabs, pace, now), pace.longest_step)


def _hottest(slabs: Slabs, profile: Array) -> Array:
    """Hottest point [K] toward either face: the face itself, unless heat is taken up below it."""
    if slabs.source is None:
        return _both_ends(profile)
    middle = profile.shape[0] // 2
    return np.stack((profile[: middle + 1].max(axis=0), profile[middle:].max(axis=0)))


def _both_ends(profile: Array) -> Array:
    return profile[:: profile.shape[0] - 1]


def _next_step(state: _State) -> Array:
    """Length [s] of the coming step: a fixed share of the expected energy, never growing fast, never past the limit."""
    step = np.minimum(_full_step(state.slabs, state.pace, state.now), state.trial)
    # A sheet that is done waits for the others in harmless steps.
    return np.where(state.open, np.minimum(step, state.pace.limit - state.time), state.step)


def _stepped(state: _State) -> _State:
    """One step of BDF2 (the first one, without a past, is backward Euler)."""
    step = _next_step(state)
    ratio = np.divide(step, state.step, out=np.zeros_like(step), where=state.step > 0.0)
    guess = state.now - state.before
    guess *= ratio
    guess += state.now
    old = 1 + ratio
    lead, older = (old + ratio) / old, ratio * ratio / old
    past = old * state.held
    past -= older * state.held_before
    after, held = _solved(state.slabs, step, guess, lead, past)
    flux = state.slabs.faces.flux(_both_ends(after))
    inflow = flux[0] + flux[1] + state.slabs.taken_up(after)
    absorbed = (old * state.absorbed - older * state.absorbed_before + step * inflow) / lead
    astray = _sharpened(state.slabs, step, after, held, lead, past)
    if astray.size:
        astray = _freed(state, step, after, held, astray)
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
    return _taken_back(state, following, astray) if astray.size else following


def _freed(state: _State, step: Array, after: Array, held: Array, astray: Array) -> Array:
    """Which of the sheets astray should try a shorter step; the temperatures of the others are settled in place."""
    stuck = step[astray] < SHORTEST_SHARE * _full_step(state.slabs, state.pace, state.now)[astray]
    settled = astray[stuck]
    if settled.size:
        after[:, settled] = _settled(state.slabs, held, settled)
    free = astray[~stuck]
    return free[state.open[free]]


def _settled(slabs: Slabs, held: Array, stuck: Array) -> Array:
    """Temperatures of stuck sheets from what their nodes hold, so that a needle of a peak cannot stop a march."""
    return temperature_holding(slabs.heat.taken(stuck), held[:, stuck])


def _sharpened(slabs: Slabs, step: Array, after: Array, held: Array, lead: Array, past: Array) -> Array:
    """Solve again, in place, for sheets that melt and whose temperatures do not say what their nodes hold.

    Returns which of them are astray even so: they leapt over their melting peak.
    """
    astray, some = slabs.melting, slabs.that_melt
    for left in range(SHARPENINGS, -1, -1):
        if not astray.size:
            break
        off = np.flatnonzero(_mismatch(some, after[:, astray], held[:, astray]) > ASTRAY)
        astray, some = astray[off], some.taken(off) if off.size < astray.size else some
        if left and astray.size:
            after[:, astray], held[:, astray] = _solved(
                some, step[astray], after[:, astray], lead[astray], past[:, astray]
            )
    return astray


def _mismatch(slabs: Slabs, profile: Array, held: Array) -> Array:
    """Largest difference, as a share of the latent heat, between what nodes hold and what they should at their heat."""
    return np.abs(enthalpy(slabs.heat, profile) - held).max(axis=0) / slabs.heat.latent_heat


def _taken_back(state: _State, following: _State, which: Array) -> _State:
    """Take back the step of some sheets; they try a shorter one next."""
    leapt = np.zeros(state.which.size, bool)
    leapt[which] = True
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
    surface, at_ends, given = _both_ends(guess), _both_ends(diagonal), _both_ends(right)
    slope = slabs.faces.slope(surface)
    at_ends *= 0.5
    at_ends -= entering * slope + 1.0
    given *= 0.5
    given += entering * (slabs.faces.flux(surface) - slope * surface)
    diagonal += 2.0
    if slabs.source is not None:
        cubed = slabs.sink * guess * guess * guess
        diagonal += entering * 4.0 * cubed
        right += entering * (slabs.source + 3.0 * cubed * guess)
    after = _tridiagonal(diagonal, right)
    offset += capacity * after
    return after, offset


def _tridiagonal(diagonal: Array, right: Array) -> Array:
    """Thomas algorithm from both ends to the middle: ``diagonal x[i] - x[i-1] - x[i+1] = right``; in place.

    Rows as far from either end lie side by side in memory, so that one operation serves both.
    """
    count, sheets = right.shape
    half = count // 2
    pivots, known = (np.concatenate((rows[:half], rows[: -half - 1 : -1]), axis=1) for rows in (diagonal, right))
    np.divide(1.0, pivots[0], out=pivots[0])
    known[0] *= pivots[0]
    for i in range(1, half):
        pivot, row = pivots[i], known[i]
        pivot -= pivots[i - 1]
        np.divide(1.0, pivot, out=pivot)
        row += known[i - 1]
        row *= pivot
    (above, below), (near, far) = pivots[-1].reshape(2, sheets), known[-1].reshape(2, sheets)
    if count % 2:
        middle = (right[half] + near + far) / (diagonal[half] - above - below)
        right[half] = middle
        inner, start = np.concatenate((middle, middle)), half - 1
    else:
        both = near + above * far, far + below * near
        inner, start = np.concatenate(both) / np.tile(1.0 - above * below, 2), half - 2
        known[-1] = inner
    for i in range(start, -1, -1):
        row = known[i]
        row += pivots[i] * inner
        inner = row
    right[:half], right[: -half - 1 : -1] = known[:, :sheets], known[:, sheets:]
    return right


@dataclass(frozen=True)
class _Ends:
    """The step in which each sheet came to its end, in the order in which the sheets were given."""

    began: Array  # time, s
    step_before: Array
    step: Array
    before: Array  # profiles, the last of them at the end of the step
    now: Array
    after: Array
    hottest: Array
    absorbed: Array
    absorbed_after: Array
    done: Array  # bool

    def add(self, state: _State, following: _State, some: Array, done: Array) -> None:
        parts = (
            state.time, state.step, following.step, state.before, state.now, following.now, state.hottest,
            state.absorbed, following.absorbed,
        )  # fmt: skip
        which = state.which[some]
        for field, part in zip(fields(self), parts, strict=False):
            getattr(self, field.name)[..., which] = part[..., some]
        self.done[which] = done


def _no_ends(state: _State) -> _Ends:
    one, profile = state.time, state.now
    like = (one, one, one, profile, profile, profile, state.hottest, one, one, state.open)
    return _Ends(*map(np.empty_like, like))


def _end_those_that_are_done(
    ends: _Ends, state: _State, following: _State, short_of: Callable[[Array, Array], Array]
) -> bool:
    """Note the sheets that came to their end in this step; whether there are any."""
    late = following.time >= following.pace.limit * (1 - 1e-12)
    done = np.zeros(late.size, bool) if short_of is never else _met(following, short_of)
    ending = following.open & (done | late)
    if not ending.any():
        return False
    some = np.flatnonzero(ending)
    ends.add(state, following, some, done[some])
    following.open = following.open & ~ending
    return True


def _met(state: _State, short_of: Callable[[Array, Array], Array]) -> Array:
    return (short_of(state.now, state.which) <= 0.0).all(axis=0)


def _between(ends: _Ends, share: Array) -> Array:
    """Profiles after a share of the last step, on the parabola through the last three of them."""
    chord = ends.after - ends.now
    # Divided differences; a first step has no past, and goes straight.
    backward = np.where(ends.step_before > 0.0, ends.step_before, np.inf)
    bend = (chord - ends.step / backward * (ends.now - ends.before)) * ends.step
    return ends.now + share * (chord + (share - 1.0) * bend / (ends.step + backward))


def _share_of_step(ends: _Ends, short_of: Callable[[Array, Array], Array]) -> Array:
    """Share of the last step after which the last condition is met, by false position (Illinois)."""
    which = np.flatnonzero(ends.done)
    share_of_all = np.ones(ends.done.size)
    if not which.size:
        return share_of_all
    ends = _Ends(*(getattr(ends, field.name)[..., which] for field in fields(ends)))
    low, high = np.zeros(which.size), np.ones(which.size)
    missing, spare = (short_of(profile, which).max(axis=0) for profile in (ends.now, ends.after))
    already = missing <= 0.0
    side = np.zeros_like(low)
    for _ in range(ROOT_STEPS):
        fall = missing - spare
        share = low + (high - low) * np.where(already, 0.0, missing / np.where(fall == 0.0, 1.0, fall))
        value = short_of(_between(ends, share), which).max(axis=0)
        late = value > 0.0
        spare = np.where(late, np.where(side > 0, 0.5 * spare, spare), value)
        missing = np.where(late, value, np.where(side < 0, 0.5 * missing, missing))
        low, high = np.where(late, share, low), np.where(late, high, share)
        side = np.where(late, 1.0, -1.0)
    share_of_all[which] = np.where(already, 0.0, high)
    return share_of_all


def _found(ends: _Ends, slabs: Slabs, short_of: Callable[[Array, Array], Array]) -> Marched:
    """Every sheet as it is after its share of its last step."""
    share = _share_of_step(ends, short_of)
    profile = _between(ends, share)
    gained = enthalpy(slabs.heat, profile) - enthalpy(slabs.heat, slabs.start)
    return Marched(
        time=ends.began + share * ends.step,
        profile=profile,
        mean=mean_temperature(profile),
        hottest_ever=np.maximum(ends.hottest, _hottest(slabs, profile)),
        energy=slabs.density * slabs.thickness * mean_temperature(gained),
        absorbed=ends.absorbed + share * (ends.absorbed_after - ends.absorbed),
        done=ends.done,
    )


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
