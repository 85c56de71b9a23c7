"""A hot sheet that is laid down on its tool bit by bit: how thin its free part gets, with volume kept exactly.

The free part is a membrane of even thickness. What lies on the tool still thins at a share ``slip`` of the rate of the
free part: 0 sticks at once, 1 leaves an even wall.
"""

import numpy as np

MOST_STEPS = 30  # -, Newton's method needs three to six
SMALL_STEP = 1e-11  # -, change of the logarithm of the wall at which it has converged


def membrane_shares(surface: np.ndarray, laid: np.ndarray, slip: float) -> np.ndarray:
    """Wall of the free membrane over gauge, stage by stage.

    ``V = m A + m^slip sum(dF tc^(1 - slip))`` at every stage, ``tc`` the geometric mean of the membrane before and
    after its strip ``dF`` is laid: for small stages ``dln m = -m dS/(m A + slip (V - m A))``.

    Parameters
    ----------
    surface : ndarray
        All sheet, free or laid down, by stage along the first axis [m2]; never shrinks; the first is the flat sheet.
    laid : ndarray
        Of it, what lies on the tool [m2]; never shrinks, at most the surface.
    slip : float
        [-], 0 to 1.

    Returns
    -------
    shares : ndarray
        [-], 1 at the first stage; as many as there are stages.

    References
    ----------
    Derived here from conservation of volume.

    Examples
    --------
    A hemisphere blown free, twice the area of its rim:

    >>> membrane_shares(np.array([1.0, 2.0]), np.zeros(2), 0.0).round(12).tolist()
    [1.0, 0.5]
    """
    laid, surface = laid / surface[0], surface / surface[0]
    free, strips = surface - laid, np.diff(laid, axis=0)
    sticking = _sticking(free, strips)
    if slip == 0:
        return np.exp(sticking)
    guess = (1 - slip) * sticking - slip * np.log(surface)
    return np.exp(_slipping(guess, free, strips, slip))


def _sticking(free: np.ndarray, strips: np.ndarray) -> np.ndarray:
    """Logarithm of the membrane without slip: ``A1 r^2 + dF r = A0`` with ``r`` the root of the ratio of walls."""
    ratio = 2 * free[:-1] / (strips + np.sqrt(strips**2 + 4 * free[1:] * free[:-1]))
    start = np.zeros_like(free[:1])
    return np.concatenate([start, 2 * np.cumsum(np.log(ratio), axis=0)])


def _slipping(guess: np.ndarray, free: np.ndarray, strips: np.ndarray, slip: float) -> np.ndarray:
    """Newton's method on all stages at once: each balance knows its own stage and the one before."""
    logarithm = guess
    for _ in range(MOST_STEPS):
        change = _newton_change(logarithm, free, strips, slip)
        logarithm[1:] += change
        if np.max(np.abs(change), initial=0.0) < SMALL_STEP:
            return logarithm
    raise ArithmeticError("the balance of volume did not converge")


def _newton_change(logarithm: np.ndarray, free: np.ndarray, strips: np.ndarray, slip: float) -> np.ndarray:
    half = np.exp((1 - slip) / 2 * logarithm)
    spread = np.expm1(-slip * logarithm)  # less 1, lest a small slip drowns in rounding
    held = free * half**2
    strip = strips * half[1:] * half[:-1]
    missing = np.diff(spread - held, axis=0) - strip
    stiff = slip * (1 + spread) + (1 - slip) * held
    own = stiff[1:] + (1 - slip) / 2 * strip
    carried = (stiff[:-1] - (1 - slip) / 2 * strip) / own
    carried[0] = 1.0  # the flat sheet is known
    product = np.cumprod(carried, axis=0)
    return product * np.cumsum(missing / (own * product), axis=0)
