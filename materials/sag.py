"""How far a hot sheet hangs below its clamp frame."""

from math import asinh, sqrt

from materials.constants import STANDARD_GRAVITY
from materials.ranges import not_negative, positive


def sag(density: float, hot_modulus: float, span_a: float, span_b: float) -> float:
    """Sag of a hot sheet held on all four sides, carried by two crossed strips.

    ``s^3 = 3 rho g/(64 E (1/La^4 + 1/Lb^4))``. One long strip hangs as a parabola whose stress over modulus equals
    its strain ``8/3 (s/L)^2``; the crossed one takes its share of the weight at the same sag. Gauge cancels.

    Parameters
    ----------
    density : float
        [kg/m3], above 0.
    hot_modulus : float
        Elastic modulus in the forming window [Pa], above 0; rarely known to better than a factor of 3.
    span_a, span_b : float
        Free spans inside the clamp frame [m], above 0.

    Returns
    -------
    sag : float
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Notes
    -----
    Holds for sag up to about 0.2 of the span. Elastic: a sheet that creeps hangs lower the longer it is hot.

    References
    ----------
    Derived here; the parabola as shape: "Sag: a technical bugbear", foamandform.com.

    Examples
    --------
    A strip of 0.9 m, very much longer the other way:

    >>> round(sag(1050.0, 1e6, 0.9, 1000.0), 6)
    0.068162
    """
    positive(density=density, hot_modulus=hot_modulus, span_a=span_a, span_b=span_b)
    stiffness = 64 * hot_modulus * (1 / span_a**4 + 1 / span_b**4)
    return (3 * density * STANDARD_GRAVITY / stiffness) ** (1 / 3)


def parabola_length_ratio(sag_ratio: float) -> float:
    """Length of a hanging parabola over its span.

    ``S/L = sqrt(1 + 16 r^2)/2 + asinh(4 r)/(8 r)``, about ``1 + 8 r^2/3``

    Parameters
    ----------
    sag_ratio : float
        Sag over span [-], 0 or more.

    Returns
    -------
    ratio : float
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
    if sag_ratio < 1e-6:
        return 1 + 8 * sag_ratio**2 / 3
    return sqrt(1 + 16 * sag_ratio**2) / 2 + asinh(4 * sag_ratio) / (8 * sag_ratio)
