"""The march of many sheets at once, each in its own time, until it is done or its time is up.

Second-order backward differences (BDF2, L-stable) with a step of its own for every sheet, small while the faces are
still cold and then an even share of the energy expected. What is stored from step to step is the enthalpy that the
solved balance gives, so no heat is lost at a melting peak or a step in specific heat. Nothing adds up over sheets: a
sheet comes out the same, to the last bit, in any company.
"""

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from math import inf

import numpy as np

from materials.balance import settled, sharpened, solved
from materials.ends import Ends, Parabola, share_of_step
from materials.heat_content import Array, columns, enthalpy
from materials.ranges import OutsideRangeError
from materials.slab import Marched, Pace, Slabs, both_ends, hottest_node, hottest_point, mean_temperature, taken

MOST_STEPS = 20_000  # far more than any sheet needs: values that are not finite must not march for ever
LOOKED_AFTER = 8  # steps, between two looks at whether all values are finite, and whether anything still moves
STILL = 1e-3  # K in a full step, a twentieth of a heating or so: what is not done by then never will be. It is the heat
# that must stand still, as temperatures do also where a sheet melts.
NEARLY_FULL = 0.5  # of a full step; in a shorter one, taken for a melting peak, hardly anything changes
PASSING = 0.15  # of the heat through both faces counts at least, whatever their balance
SHORTER = 1 / 3
SHORTEST_SHARE = 1 / 300  # of a full step; shorter ones help no further
SPENT = 0.25  # share of sheets that are done before the others move up; moving costs about as much as a step


@dataclass
class _State:
    """Two levels in time of the sheets still under way."""

    which: Array
    slabs: Slabs
    pace: Pace
    time: Array
    step: Array  # the last one taken; infinite where there was none, so that nothing is made of a past
    trial: Array  # the longest that the next one may be
    now: Array
    before: Array
    held: Array  # enthalpy now, J/kg
    held_before: Array
    absorbed: Array
    absorbed_before: Array
    hottest: Array
    gained: Array  # W/m2, what comes in now on balance
    moved: Array  # W/m2, the same without regard to its sign: both faces and the depth
    open: Array  # bool, not yet done

    def taken(self, keep: Array) -> "_State":
        return _State(**{f.name: taken(getattr(self, f.name), keep) for f in fields(self)})


def march(
    slabs: Slabs,
    short_of: Callable[[Array, Array], Array],
    pace: Pace,
    curves: bool = False,
    nearly: Callable[[Array, Array], Array] | None = None,
) -> Marched:
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
    nearly : callable, optional
        From the same to which of the sheets may be done: a quick look that spares the others ``short_of`` [-].

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
    for count in range(MOST_STEPS):
        following = _stepped(state)
        if count % LOOKED_AFTER == 0 and not np.isfinite(following.time).all():
            break
        ended = _end_those_that_are_done(ends, state, following, short_of, nearly)
        if count and count % LOOKED_AFTER == 0 and short_of is not never:
            ended |= _end_those_that_stand_still(ends, state, following)
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


def _started(slabs: Slabs, pace: Pace) -> _State:
    """Sheets that melt at the end, and clear ones before them, so that either are reckoned on one stretch of memory."""
    melts = slabs.heat.latent_heat > 0.0
    is_clear = np.zeros(melts.size, bool) if slabs.sink is None else slabs.sink.any(axis=0)
    which = np.argsort(np.where(melts, 3 - is_clear, is_clear), kind="stable")
    slabs, pace = slabs.taken(which), pace.taken(which)
    now = np.tile(slabs.start, (pace.nodes, 1)) if slabs.start.ndim == 1 else slabs.start
    held = enthalpy(slabs.heat, now)
    zeros, none = np.zeros_like(slabs.thickness), np.full_like(slabs.thickness, inf)
    flows = _flows(slabs, now)
    full = _full_step(pace, *flows)
    pace = replace(pace, longest_step=np.minimum(pace.longest_step, full * pace.stretch))
    faces = np.stack((now[0], now[-1]))
    going = np.ones(which.size, bool)
    trial = full * pace.first_step
    return _State(which, slabs, pace, zeros, none, trial, now, now, held, held, zeros, zeros, faces, *flows, going)


def _flows(slabs: Slabs, now: Array) -> tuple[Array, Array]:
    """What comes in through both faces and in the depth [W/m2]: on balance, and without regard to its sign."""
    flux, within = slabs.faces.flux(both_ends(now)), slabs.taken_up(now)
    sizes = np.abs(flux)
    return flux[0] + flux[1] + within, sizes[0] + sizes[1] + np.abs(within)


def _full_step(pace: Pace, gained: Array, moved: Array) -> Array:
    """Step [s] to which nothing else is in the way: a full step's share of the expected energy comes in."""
    if pace.energy is None:
        return pace.longest_step
    # What only passes through a sheet near its steady state changes little in it.
    flow = np.maximum(np.abs(gained), PASSING * moved)
    return np.minimum(pace.energy_a_step / np.maximum(flow, 1e-9), pace.longest_step)


def _next_step(state: _State) -> Array:
    """Length [s] of the coming step: a fixed share of the expected energy, never growing fast, never past the limit."""
    step = np.minimum(_full_step(state.pace, state.gained, state.moved), state.trial)
    # A sheet that is done waits for the others in harmless steps.
    return np.where(state.open, np.minimum(step, state.pace.limit - state.time), state.step)


def _stepped(state: _State) -> _State:
    """One step of BDF2 (the first one, without a past, is backward Euler)."""
    step = _next_step(state)
    ratio = step / state.step
    guess = state.now - state.before
    guess *= ratio
    guess += state.now
    old = 1 + ratio
    lead, older = (old + ratio) / old, ratio * ratio / old
    past = old * state.held
    past -= older * state.held_before
    after, held = solved(state.slabs, step, guess, lead, past)
    gained, moved = _flows(state.slabs, after)
    absorbed = (old * state.absorbed - older * state.absorbed_before + step * gained) / lead
    astray = sharpened(state.slabs, step, after, held, lead, past)
    if astray.size:
        astray = _freed(state, step, after, held, astray)
    following = _State(
        which=state.which,
        slabs=state.slabs,
        pace=state.pace,
        time=state.time + step,
        step=step,
        trial=step * state.pace.growth,
        now=after,
        before=state.now,
        held=held,
        held_before=state.held,
        absorbed=absorbed,
        absorbed_before=state.absorbed,
        hottest=np.maximum(state.hottest, hottest_node(state.slabs, after)),
        gained=gained,
        moved=moved,
        open=state.open,
    )
    return _taken_back(state, following, astray) if astray.size else following


def _freed(state: _State, step: Array, after: Array, held: Array, astray: Array) -> Array:
    """Which of the sheets astray should try a shorter step; the temperatures of the others are settled in place."""
    stuck = step[astray] < SHORTEST_SHARE * _full_step(state.pace, state.gained, state.moved)[astray]
    if stuck.any():
        after[:, astray[stuck]] = settled(state.slabs, held, astray[stuck])
    free = astray[~stuck]
    return free[state.open[free]]


def _taken_back(state: _State, following: _State, which: Array) -> _State:
    """Take back the step of some sheets; they try a shorter one next."""
    leapt = np.zeros(state.which.size, bool)
    leapt[which] = True
    kept = {name: np.where(leapt, getattr(state, name), getattr(following, name)) for name in _STEPPED}
    return replace(following, trial=np.where(leapt, following.step * SHORTER, following.trial), **kept)


_STEPPED = (
    "time", "step", "now", "before", "held", "held_before", "absorbed", "absorbed_before", "hottest", "gained", "moved",
)  # fmt: skip


def _no_ends(state: _State) -> Ends:
    one, profile = state.time, state.now
    like = (one, one, one, profile, profile, profile, state.hottest, one, one, state.open)
    return Ends(*map(np.empty_like, like))


def _end_those_that_are_done(
    ends: Ends,
    state: _State,
    following: _State,
    short_of: Callable[[Array, Array], Array],
    nearly: Callable[[Array, Array], Array] | None,
) -> bool:
    """Note the sheets that came to their end in this step; whether there are any."""
    late = following.time >= following.pace.limit * (1 - 1e-12)
    done = np.zeros(late.size, bool) if short_of is never else _met(following, short_of, nearly)
    ending = following.open & (done | late)
    if ending.size and not ending.any():  # where there are no sheets, all of them are done
        return False
    some = np.flatnonzero(ending)
    _add(ends, state, following, some, done[some])
    following.open = following.open & ~ending
    return True


def _end_those_that_stand_still(ends: Ends, state: _State, following: _State) -> bool:
    """Note the sheets that no longer change, as they will be when their time is up; whether there are any.

    Sheets under other heaters than they can reach their end with would otherwise go on to their limit in small steps.
    """
    full = following.step > NEARLY_FULL * _full_step(state.pace, state.gained, state.moved)
    forth = following.time > state.time  # a step that was taken back changed nothing
    warming = np.abs(following.held - state.held).max(axis=0) / state.slabs.heat.specific_heat_solid
    still = following.open & full & forth & (warming < STILL)
    some = np.flatnonzero(still)
    if not some.size:
        return False
    _add(ends, state, following, some, np.zeros(some.size, bool))
    ends.step[state.which[some]] = (state.pace.limit - state.time)[some]
    following.open = following.open & ~still
    return True


def _add(ends: Ends, state: _State, following: _State, some: Array, done: Array) -> None:
    """Note the last step of some sheets."""
    parts = (
        state.time, state.step, following.step, state.before, state.now, following.now, state.hottest,
        state.absorbed, following.absorbed,
    )  # fmt: skip
    which = state.which[some]
    for field, part in zip(fields(ends), parts, strict=False):
        getattr(ends, field.name)[..., which] = columns(part, some)
    ends.done[which] = done


def _met(
    state: _State, short_of: Callable[[Array, Array], Array], nearly: Callable[[Array, Array], Array] | None
) -> Array:
    if nearly is None:
        return (short_of(state.now, state.which) <= 0.0).all(axis=0)
    met = nearly(state.now, state.which) & state.open
    some = np.flatnonzero(met)
    if some.size:
        met[some] = (short_of(columns(state.now, some), state.which[some]) <= 0.0).all(axis=0)
    return met


def _found(ends: Ends, slabs: Slabs, short_of: Callable[[Array, Array], Array]) -> Marched:
    """Every sheet as it is after its share of its last step."""
    between = Parabola.of(ends)
    share = share_of_step(ends, between, short_of)
    profile = between.at(share)
    gained = enthalpy(slabs.heat, profile) - enthalpy(slabs.heat, slabs.start)
    return Marched(
        time=ends.began + share * ends.step,
        profile=profile,
        mean=mean_temperature(profile),
        hottest_ever=np.maximum(ends.hottest, hottest_point(slabs, profile)),
        energy=slabs.density * slabs.thickness * mean_temperature(gained),
        absorbed=ends.absorbed + share * (ends.absorbed_after - ends.absorbed),
        done=ends.done,
    )


def _with_curves(found: Marched, which: Array, kept: list[tuple[Array, Array]]) -> Marched:
    """Steps of every sheet up to its own end, after which its last profile stays."""
    back = np.argsort(which)
    times = np.stack([time for time, _ in kept])[:, back]
    profiles = columns(np.stack([profile for _, profile in kept]), back)
    over = times >= found.time
    return replace(
        found,
        curve_times=np.minimum(times, found.time),
        curve=np.where(over[:, None, :], found.profile[None], profiles),
    )
