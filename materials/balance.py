"""One step of the march through many sheets: the balance of every node, solved over all sheets at once."""

import numpy as np

from materials.heat_content import Array, columns, enthalpy, linearised, temperature_holding
from materials.slab import Slabs, both_ends

ASTRAY = 0.02  # of the latent heat: what a node holds may differ by this from what its temperature says, or the step
# is solved again, and at last taken again, shorter; otherwise it could leap over a melting peak
SHARPENINGS = 3


def settled(slabs: Slabs, held: Array, stuck: Array) -> Array:
    """Temperatures of stuck sheets from what their nodes hold, so that a needle of a peak cannot stop a march."""
    return temperature_holding(slabs.heat.taken(stuck), columns(held, stuck))


def sharpened(slabs: Slabs, step: Array, after: Array, held: Array, lead: Array, past: Array) -> Array:
    """Solve again, in place, for sheets that melt and whose temperatures do not say what their nodes hold.

    Returns which of them are astray even so: they leapt over their melting peak.
    """
    astray, some, where = slabs.melting, slabs.that_melt, slabs.heat.melting
    for left in range(SHARPENINGS, -1, -1):
        if not astray.size:
            break
        off = np.flatnonzero(_mismatch(some, columns(after, where), columns(held, where)) > ASTRAY)
        where = astray = astray[off]
        if left and astray.size:
            some = some if off.size == some.thickness.size else some.taken(off)
            after[:, astray], held[:, astray] = solved(
                some, step[astray], columns(after, astray), lead[astray], columns(past, astray)
            )
    return astray


def _mismatch(slabs: Slabs, profile: Array, held: Array) -> Array:
    """Largest difference, as a share of the latent heat, between what nodes hold and what they should at their heat."""
    return np.abs(enthalpy(slabs.heat, profile) - held).max(axis=0) / slabs.heat.latent_heat


def solved(slabs: Slabs, step: Array, guess: Array, lead: Array, past: Array) -> tuple[Array, Array]:
    """Temperature and enthalpy after a step, from ``lead H(T) - past = step (conducted + let in)/(rho dx)``.

    The balance of a node is divided by what one kelvin to its neighbour conducts, so that the coupling is 1.
    """
    layers = guess.shape[0] - 1
    storing = slabs.own_time / (layers * layers * step)
    entering = slabs.resistance / layers
    offset, capacity = linearised(slabs.heat, guess)
    diagonal = capacity * (lead * storing)
    right = past - lead * offset
    right *= storing
    surface, at_ends, given, faces = both_ends(guess), both_ends(diagonal), both_ends(right), slabs.faces
    # q about the guess: supply + 3 radiant Ts^4 - (4 radiant Ts^3 + film) T
    cubed = faces.radiant * surface * surface * surface
    at_ends *= 0.5
    at_ends += entering * (4.0 * cubed + faces.film) - 1.0
    given *= 0.5
    given += entering * (faces.supply + 3.0 * cubed * surface)
    diagonal += 2.0
    if slabs.clear is not None:
        clear, (source, sink) = slabs.clear, slabs.depth
        inside, into = columns(guess, clear), entering[clear]
        cubed = sink * inside * inside * inside
        diagonal[:, clear] += into * 4.0 * cubed
        right[:, clear] += into * (source + 3.0 * cubed * inside)
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
