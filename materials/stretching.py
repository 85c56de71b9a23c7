"""Where the wall of a simple shape gets thin when the sheet sticks as soon as it touches the tool.

The part of the sheet that is still free is a membrane of even thickness; what has touched stretches no more; volume
is kept. Real sheet slips and stays warm for a while, so real walls are more even than these: a pessimistic bound.
All shares are local wall over gauge, for a female tool without plug.
"""

from math import pi

import numpy as np

from materials.arrays import as_given
from materials.ranges import Number, OutsideRangeError, holds, not_negative, positive

TROUGH_CORNER_EXPONENT = 4 / pi - 1

# Gauss-Legendre points on 0 to 1 with their weights, for the integral of a smooth function
_POINTS = tuple(
    ((1 + point) / 2, weight / 2) for point, weight in zip(*np.polynomial.legendre.leggauss(32), strict=True)
)


def cone_wall_share(wall_angle: Number, remaining: Number) -> Number:
    """Wall over gauge in a full cone.

    ``t/t0 = (1 + cos b)/2 x^(1/cos b - 1)``

    Parameters
    ----------
    wall_angle : float or array
        Between the wall and the plane of the rim [rad], above 0 and below pi/2.
    remaining : float or array
        Share of the slant that still lies below this place [-], 1 at the rim, 0 at the tip.

    Returns
    -------
    share : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    References
    ----------
    University of California, Berkeley, course ME 221, thermoforming theory page (same result).

    Examples
    --------
    >>> round(cone_wall_share(pi / 3, 0.5), 6)
    0.375
    """
    _check_wedge(wall_angle, remaining)
    return as_given(0.5 * (1 + np.cos(wall_angle)) * remaining ** (1 / np.cos(wall_angle) - 1))


def wedge_wall_share(wall_angle: Number, remaining: Number) -> Number:
    """Wall over gauge in a long V trough.

    ``t/t0 = sin b/b x^(tan b/b - 1)``

    Parameters
    ----------
    wall_angle : float or array
        Between the wall and the plane of the rim [rad], above 0 and below pi/2.
    remaining : float or array
        Share of the slant that still lies below this place [-], 1 at the rim, 0 at the bottom.

    Returns
    -------
    share : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    References
    ----------
    Derived here from conservation of volume.

    Examples
    --------
    >>> round(wedge_wall_share(pi / 3, 0.5), 6)
    0.525572
    """
    _check_wedge(wall_angle, remaining)
    return as_given(np.sin(wall_angle) / wall_angle * remaining ** (np.tan(wall_angle) / wall_angle - 1))


def cylinder_wall_share(below_rim: Number, radius: Number) -> Number:
    """Wall over gauge on the side of a cylinder, while the dome below is still free.

    ``t/t0 = exp(-z/R)/2``: first a hemisphere of half the gauge, then it slides down sticking.

    Parameters
    ----------
    below_rim : float or array
        Distance below the rim [m], 0 up to depth less radius.
    radius : float or array
        [m], above 0.

    Returns
    -------
    share : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range. (That the dome is still free depends on the depth and is for the caller.)

    References
    ----------
    Derived here from conservation of volume.

    Examples
    --------
    >>> round(cylinder_wall_share(0.2, 0.2), 6)
    0.18394
    """
    positive(radius=radius)
    not_negative(below_rim=below_rim)
    return as_given(0.5 * np.exp(-below_rim / radius))


def cylinder_corner_share(corner_radius: Number, radius: Number, depth: Number) -> Number:
    """Wall over gauge in the bottom corner of a cylinder, a quarter torus shrinking into the corner.

    ``dt/dc = t (2 pi R + 2 pi (R - c) - A')/A``, ``A = 2 pi ((R - c) pi c/2 + c^2)``,
    ``A' = 2 pi (pi (R - 2 c)/2 + 2 c)``, from ``t = exp(-(H - R)/R)/2`` at ``c = R`` down

    Parameters
    ----------
    corner_radius : float or array
        Radius to which the corner is formed [m], above 0 up to the cylinder's radius.
    radius : float or array
        Of the cylinder [m], above 0.
    depth : float or array
        [m], at least the radius: the dome touches the base before it is a hemisphere otherwise.

    Returns
    -------
    share : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    References
    ----------
    Derived here from conservation of volume.

    Examples
    --------
    >>> round(cylinder_corner_share(0.1, 0.2, 0.4), 6)
    0.133531
    """
    positive(radius=radius, corner_radius=corner_radius, depth=depth)
    if not holds(corner_radius <= radius):
        raise OutsideRangeError("corner_radius", corner_radius, f"at most the radius {radius} m")
    if not holds(depth >= radius):
        raise OutsideRangeError("depth", depth, f"at least the radius {radius} m")

    end = np.log(np.divide(corner_radius, radius))
    logarithm = end * sum(weight * _corner_thinning(np.exp(point * end)) for point, weight in _POINTS)
    return as_given(cylinder_wall_share(depth - radius, radius) * np.exp(logarithm))


def _corner_thinning(c: Number) -> Number:
    """``dln t/dln c`` of a quarter torus of radius c in a cylinder of radius 1."""
    area = (1 - c) * pi * c / 2 + c**2
    return c * (1 + (1 - c) - (pi * (1 - 2 * c) / 2 + 2 * c)) / area


def trough_wall_share(below_rim: Number, half_width: Number) -> Number:
    """Wall over gauge on the side of a long U trough, while the round below is still free.

    ``t/t0 = 2/pi exp(-2 z/(pi w))``

    Parameters
    ----------
    below_rim : float or array
        Distance below the rim [m], 0 up to depth less half the width.
    half_width : float or array
        [m], above 0.

    Returns
    -------
    share : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    References
    ----------
    Derived here from conservation of volume.

    Examples
    --------
    >>> round(trough_wall_share(0.1, 0.2), 6)
    0.463063
    """
    positive(half_width=half_width)
    not_negative(below_rim=below_rim)
    return as_given(2 / pi * np.exp(-2 * below_rim / (pi * half_width)))


def trough_corner_share(radius_share: Number) -> Number:
    """Wall in the long bottom corner of a trough, over what it was when the sheet touched the base.

    ``t/tc0 = (c/c0)^(4/pi - 1)``

    Parameters
    ----------
    radius_share : float or array
        Radius reached over radius at contact [-], above 0 up to 1.

    Returns
    -------
    share : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    References
    ----------
    Derived here from conservation of volume.

    Examples
    --------
    >>> round(trough_corner_share(0.25), 6)
    0.684689
    """
    if not holds((np.asarray(radius_share) > 0) & (np.asarray(radius_share) <= 1)):
        raise OutsideRangeError("radius_share", radius_share, "above 0 and at most 1")
    return radius_share**TROUGH_CORNER_EXPONENT


def _check_wedge(wall_angle: Number, remaining: Number) -> None:
    if not holds((np.asarray(wall_angle) > 0) & (np.asarray(wall_angle) < pi / 2)):
        raise OutsideRangeError("wall_angle", wall_angle, "above 0 and below pi/2")
    if not holds((np.asarray(remaining) >= 0) & (np.asarray(remaining) <= 1)):
        raise OutsideRangeError("remaining", remaining, "0 up to 1")
