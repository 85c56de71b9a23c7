"""The two shapes a hanging strip is taken for, parabola and catenary, and how far they part."""

import numpy as np

from materials.arrays import as_given
from materials.constants import STANDARD_GRAVITY
from materials.ranges import Number, OutsideRangeError, holds, not_negative, positive

STEEPEST = 5.0  # -, sag over span; a sheet is torn long before
HALVINGS = 60  # of the interval in which a shape is sought; beyond the digits of a float
SMALL = 1e-6  # -, sag over span below which the series says the same without losing digits


def parabola_length_ratio(sag_ratio: Number) -> Number:
    """Length of a hanging parabola over its span.

    ``S/L = sqrt(1 + 16 r^2)/2 + asinh(4 r)/(8 r)``, about ``1 + 8 r^2/3``

    Parameters
    ----------
    sag_ratio : float or array
        Sag over span [-], 0 or more.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        The sag ratio is below 0.

    Examples
    --------
    >>> round(parabola_length_ratio(0.1), 8)
    1.02606063
    """
    not_negative(sag_ratio=sag_ratio)
    ratio = np.asarray(sag_ratio, dtype=float)
    steep = 4 * np.maximum(ratio, SMALL)
    length = np.sqrt(1 + steep**2) / 2 + np.arcsinh(steep) / (2 * steep)
    return as_given(np.where(ratio < SMALL, 1 + 8 * ratio**2 / 3, length))


def catenary_length_ratio(sag_ratio: Number) -> Number:
    """Length of a hanging chain over its span.

    ``S/L = sinh(u)/u`` with ``r = (cosh(u) - 1)/(2 u)``, where ``2 u`` is span over the radius at the lowest point

    Parameters
    ----------
    sag_ratio : float or array
        Sag over span [-], 0 to `STEEPEST`.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        The sag ratio is out of its range.

    References
    ----------
    The catenary, textbook result; re-derived.

    Examples
    --------
    >>> round(catenary_length_ratio(0.1), 8)
    1.02618687
    """
    _gentle(sag_ratio)
    ratio = np.asarray(sag_ratio, dtype=float)
    steep = np.maximum(ratio, SMALL)
    # sinh(u/2)^2/u lies above u/4, so the root lies below 4 r
    slope = _root(lambda u: np.sinh(u / 2) ** 2 / u - steep, np.full_like(steep, SMALL), 4 * steep)
    return as_given(np.where(ratio < SMALL, 1 + 8 * ratio**2 / 3, np.sinh(slope) / slope))


def catenary_sag(density: Number, hot_modulus: Number, span: Number) -> Number:
    """Sag of a long elastic strip that hangs as a catenary, its weight along the arc and its mean tension balanced.

    ``E (sinh(u)/u - 1) = rho g L (2 u + sinh(2 u))/(8 sinh(u)^2)``, then ``s = L (cosh(u) - 1)/(2 u)``

    The left side is modulus times strain, the right one the mean over the arc of the tension over the gauge before
    it stretched. For a small sag both become the strip of `materials.sag`.

    Parameters
    ----------
    density : float or array
        [kg/m3], above 0.
    hot_modulus : float or array
        [Pa], above 0.
    span : float or array
        [m], above 0.

    Returns
    -------
    sag : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0, or the sag comes out beyond `STEEPEST` times the span.

    References
    ----------
    Derived here.

    Examples
    --------
    The parabola, pulled by its horizontal tension alone, gives 68.16 mm:

    >>> round(catenary_sag(1050.0, 1e6, 0.9) * 1e3, 2)
    68.58
    """
    positive(density=density, hot_modulus=hot_modulus, span=span)
    load = np.asarray(density * STANDARD_GRAVITY * span / hot_modulus, dtype=float)

    def excess(u: np.ndarray) -> np.ndarray:
        return (np.sinh(u) / u - 1) - load * (2 * u + np.sinh(2 * u)) / (8 * np.sinh(u) ** 2)

    slope = _root(excess, np.full_like(load, SMALL), np.full_like(load, 4 * STEEPEST))
    ratio = np.sinh(slope / 2) ** 2 / slope
    _gentle(ratio)
    return as_given(span * ratio)


def _root(excess: object, low: np.ndarray, high: np.ndarray) -> np.ndarray:
    """Where a rising function passes 0 between two bounds, for every element, by halving."""
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        above = excess(middle) > 0
        low, high = np.where(above, low, middle), np.where(above, middle, high)
    return (low + high) / 2


def _gentle(sag_ratio: Number) -> None:
    if not (holds(sag_ratio >= 0) and holds(sag_ratio <= STEEPEST)):
        raise OutsideRangeError("sag_ratio", sag_ratio, f"0 to {STEEPEST:g}")
