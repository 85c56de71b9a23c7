"""How thin a sheet gets when it is formed, and which gauge to start from."""

from math import pi

import numpy as np

from materials.arrays import as_given
from materials.ranges import Number, OutsideRangeError, holds, not_negative, positive

ROUNDING = 1e-9  # -
SAME_GAUGE = 1e-6  # -, a required gauge this share above a stocked one still counts as that one


def tapered_box_area(length: Number, width: Number, depth: Number, draft: Number) -> Number:
    """Formed area of an open box with drafted walls: walls and base, no flange.

    ``A = l2 w2 + (l + l2 + w + w2) h/cos d`` with ``l2 = l - 2 h tan d``, ``w2 = w - 2 h tan d``

    Parameters
    ----------
    length, width : float or array
        At the rim [m], above 0.
    depth : float or array
        Along the draw [m], 0 or more.
    draft : float or array
        Angle of the walls from the direction of draw [rad], 0 up to below pi/2.

    Returns
    -------
    area : float or array
        [m2]

    Raises
    ------
    OutsideRangeError
        An argument is out of range, or the walls meet before the base.

    Examples
    --------
    >>> from math import radians
    >>> round(tapered_box_area(1.2, 0.9, 0.3, radians(5)) / (1.2 * 0.9), 5)
    2.04233
    """
    positive(length=length, width=width)
    not_negative(depth=depth, draft=draft)
    if not holds(np.less(draft, pi / 2)):
        raise OutsideRangeError("draft", draft, "0 up to below pi/2")
    inset = 2 * depth * np.tan(draft)
    base_length, base_width = length - inset, width - inset
    if not holds(np.minimum(base_length, base_width) > 0):
        raise OutsideRangeError("depth", depth, "less than where the walls meet at this draft")
    walls = (length + base_length + width + base_width) * depth / np.cos(draft)
    return as_given(base_length * base_width + walls)


def areal_draw_ratio(surface_area: Number, footprint: Number) -> Number:
    """Formed area over the sheet area that it came from.

    ``A = formed area/footprint``

    Parameters
    ----------
    surface_area : float or array
        Of the formed part, one skin [m2], at least the footprint.
    footprint : float or array
        Area inside the rim [m2], above 0.

    Returns
    -------
    ratio : float or array
        [-], 1 for a flat sheet.

    Raises
    ------
    OutsideRangeError
        The footprint is not above 0, or the formed area is smaller.

    Examples
    --------
    A box of 40 x 28 x 8 in with straight walls:

    >>> round(areal_draw_ratio(40 * 28 + 2 * (40 + 28) * 8, 40 * 28), 3)
    1.971
    """
    positive(footprint=footprint, surface_area=surface_area)
    if not holds(surface_area >= footprint * (1 - 1e-9)):
        raise OutsideRangeError("surface_area", surface_area, f"at least the footprint {footprint} m2")
    return as_given(np.maximum(surface_area / footprint, 1.0))


def mean_wall(gauge: Number, areal: Number) -> Number:
    """Mean formed wall: the sheet's volume spread over the formed area.

    ``t = gauge/A``

    Parameters
    ----------
    gauge : float or array
        [m], above 0.
    areal : float or array
        Areal draw ratio [-], 1 or more.

    Returns
    -------
    wall : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    Examples
    --------
    >>> round(mean_wall(0.187, 1.9714), 3)
    0.095
    """
    positive(gauge=gauge)
    _check_areal(areal)
    return gauge / areal


def required_gauge(minimum_wall: Number, share: Number, gauge_tolerance: Number) -> Number:
    """Gauge from which the thinnest wall is still what the print asks for, on a sheet that runs thin.

    ``gauge = t_min/share / (1 - tolerance)``: the low end of the tolerance still leaves the wall

    Parameters
    ----------
    minimum_wall : float or array
        [m], above 0.
    share : float or array
        Thinnest wall over gauge, ``progressive.wall_shares(...).thinnest`` [-], above 0 and at most 1.
    gauge_tolerance : float or array
        Share by which a sheet may run thin [-], 0 or more and below 1.

    Returns
    -------
    gauge : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    Examples
    --------
    >>> round(required_gauge(0.060, 0.3, 0.0), 3), round(required_gauge(0.060, 0.3, 0.10), 3)
    (0.2, 0.222)
    """
    positive(minimum_wall=minimum_wall, share=share)
    not_negative(gauge_tolerance=gauge_tolerance)
    if not holds(share <= 1 + ROUNDING):
        raise OutsideRangeError("share", share, "above 0 and at most 1")
    if not holds(gauge_tolerance < 1):
        raise OutsideRangeError("gauge_tolerance", gauge_tolerance, "0 or more and below 1")
    return minimum_wall / share / (1 - gauge_tolerance)


def stocked_gauge(required: Number, gauges: tuple[float, ...]) -> Number:
    """Thinnest gauge in stock that is thick enough; beyond the last one the required gauge itself.

    Parameters
    ----------
    required : float or array
        [m], above 0.
    gauges : tuple of float
        In stock, in any order [m].

    Returns
    -------
    gauge : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        The required gauge is not above 0.

    Examples
    --------
    >>> stocked_gauge(0.0050, (0.00475, 0.00508, 0.00559)), stocked_gauge(0.007, (0.00475, 0.00559))
    (0.00508, 0.007)
    """
    positive(required=required)
    ascending = np.append(np.sort(gauges), np.inf)
    next_up = ascending[np.searchsorted(ascending, np.multiply(required, 1 - SAME_GAUGE))]
    return as_given(np.where(np.isfinite(next_up), next_up, required))


def _check_areal(areal: Number) -> None:
    positive(areal=areal)
    if not holds(areal >= 1):
        raise OutsideRangeError("areal", areal, "1 or more")
