"""How far a hot sheet hangs below its clamp frame."""

import numpy as np

from materials.arrays import as_given
from materials.constants import STANDARD_GRAVITY
from materials.ranges import Number, between, not_negative, positive

SIZE_EXPONENT = 4 / 3  # -, sag over span of an elastic sheet: sag^3 goes with span^4, derived here
WATCHED_RATIO = 0.10  # -, sag over the shorter span from which on the hang is watched: common practice, no source


def sag(density: Number, hot_modulus: Number, span_a: Number, span_b: Number) -> Number:
    """Sag of a hot sheet held on all four sides, carried by two crossed strips.

    ``s^3 = 3 rho g/(64 E (1/La^4 + 1/Lb^4))``. One long strip hangs as a parabola whose stress over modulus equals
    its strain ``8/3 (s/L)^2``; the crossed one takes its share of the weight at the same sag. Gauge cancels.

    Parameters
    ----------
    density : float or array
        [kg/m3], above 0.
    hot_modulus : float or array
        Elastic modulus in the forming window [Pa], above 0; rarely known to better than a factor of 3.
    span_a, span_b : float or array
        Free spans inside the clamp frame [m], above 0.

    Returns
    -------
    sag : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    Notes
    -----
    Holds for sag up to about 0.2 of the span. Elastic: a sheet that creeps hangs lower the longer it is hot
    (`newtonian_sag`).

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


def disc_sag(density: Number, hot_modulus: Number, radius: Number, poisson: Number = 0.5) -> Number:
    """Sag of a hot sheet in a round frame, which hangs as a spherical cap: a yardstick beside the crossed strips.

    ``s^3 = 3 rho g a^4 (1 - nu)/(8 E)``

    Parameters
    ----------
    density : float or array
        [kg/m3], above 0.
    hot_modulus : float or array
        [Pa], above 0.
    radius : float or array
        Of the free sheet [m], above 0.
    poisson : float or array, optional
        Poisson ratio [-], 0 to 0.5; a hot sheet keeps its volume, 0.5.

    Returns
    -------
    sag : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    References
    ----------
    Derived here: stress ``rho g a^2/(4 s)`` each way against strain ``2/3 (s/a)^2``.

    Examples
    --------
    >>> round(disc_sag(1050.0, 1e6, 0.45), 6)
    0.042939
    """
    positive(density=density, hot_modulus=hot_modulus, radius=radius)
    between(0.0, 0.5, poisson=poisson)
    return (3 * density * STANDARD_GRAVITY * radius**4 * (1 - poisson) / (8 * hot_modulus)) ** (1 / 3)


def newtonian_sag(density: Number, viscosity: Number, span: Number, time: Number) -> Number:
    """Sag of a long strip that only flows: the slow bound beside the elastic sheet.

    ``s^3 = 9 rho g L^4 t/(512 mu)``, extension taking four times the shear viscosity

    Parameters
    ----------
    density : float or array
        [kg/m3], above 0.
    viscosity : float or array
        Shear viscosity of the hot sheet [Pa s], above 0.
    span : float or array
        Free span inside the clamp frame [m], above 0.
    time : float or array
        While the sheet is in its window [s], 0 or more.

    Returns
    -------
    sag : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Notes
    -----
    Gauge cancels here too. Holds up to about 0.2 of the span; a sheet beyond it may run away and is torn.

    References
    ----------
    Derived here: stress ``rho g L^2/(8 s)`` makes strain ``8/3 (s/L)^2`` grow at stress over ``4 mu``.
    The growth with time^(1/3) and the later runaway of a wide sheet: abstract of doi 10.1002/pen.21734.

    Examples
    --------
    >>> round(newtonian_sag(950.0, 1e7, 0.9, 60.0), 6)
    0.086387
    """
    positive(density=density, viscosity=viscosity, span=span)
    not_negative(time=time)
    return (9 * density * STANDARD_GRAVITY * span**4 * time / (512 * viscosity)) ** (1 / 3)


def span_share_for(sag_now: Number, sag_wanted: Number) -> Number:
    """By what both spans must be multiplied so that the same sheet hangs as far as wanted.

    ``k = (wanted/now)^(3/4)``, since elastic sag goes with span^(4/3)

    Parameters
    ----------
    sag_now : float or array
        Of the sheet as it is [m], above 0.
    sag_wanted : float or array
        [m], 0 or more.

    Returns
    -------
    share : float or array
        New span over the old one [-].

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    A frame of half the size hangs two and a half times less:

    >>> round(span_share_for(0.5 ** -SIZE_EXPONENT, 1.0), 12)
    0.5
    """
    positive(sag_now=sag_now)
    not_negative(sag_wanted=sag_wanted)
    return (sag_wanted / sag_now) ** (1 / SIZE_EXPONENT)


def sag_ratio(sag: Number, span_a: Number, span_b: Number) -> Number:
    """Sag over the shorter span [-]; above `WATCHED_RATIO` the hang is watched, above 0.2 no formula here holds.

    Parameters
    ----------
    sag : float or array
        [m], 0 or more.
    span_a, span_b : float or array
        [m], above 0.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    >>> sag_ratio(0.1, 2.0, 1.0)
    0.1
    """
    not_negative(sag=sag)
    positive(span_a=span_a, span_b=span_b)
    return as_given(sag / np.minimum(span_a, span_b))


def slack_ratio(strain: Number) -> Number:
    """Sag over span of a strip that has only grown longer in its frame, by heat and without any load.

    ``r = sqrt(3 e/8)``, from ``e = 8 r^2/3``

    Parameters
    ----------
    strain : float or array
        Free expansion of the sheet less that of the frame [-], 0 or more: expansion times temperature rise.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        The strain is below 0.

    Notes
    -----
    Not added to `sag`, for three reasons: hot moduli are worked back from sheets seen hanging (common practice, no
    source), so the slack is in them already; extruded sheet draws back along its grain when it softens and takes
    slack up; and the two do not add, since a sheet that hangs deeper carries its weight at less stress.

    References
    ----------
    Derived here.

    Examples
    --------
    8e-5 per kelvin over 130 K:

    >>> round(slack_ratio(8e-5 * 130), 4)
    0.0624
    """
    not_negative(strain=strain)
    return (3 * strain / 8) ** 0.5
