"""Areal draw ratios of simple shapes: formed area, without flange, over the area inside the rim."""

from materials.ranges import Number, OutsideRangeError, holds, not_negative, positive


def cylinder_areal_draw_ratio(depth: Number, diameter: Number) -> Number:
    """Areal draw ratio of a flat-bottomed cylinder.

    ``A = 1 + 4 h/D``

    Parameters
    ----------
    depth : float or array
        [m], 0 or more.
    diameter : float or array
        [m], above 0.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    References
    ----------
    "The Ubiquitous Draw Ratio", Thermoforming 101, 24(4) 2005: H = D gives 5.

    Examples
    --------
    >>> cylinder_areal_draw_ratio(0.4, 0.4)
    5.0
    """
    positive(diameter=diameter)
    not_negative(depth=depth)
    return 1 + 4 * depth / diameter


def frustum_areal_draw_ratio(rim_radius: Number, base_radius: Number, depth: Number) -> Number:
    """Areal draw ratio of a tapered cup with a flat base; a cone where the base radius is 0.

    ``A = ((R + r) s + r^2)/R^2`` with ``s = sqrt(h^2 + (R - r)^2)``

    Parameters
    ----------
    rim_radius : float or array
        [m], above 0.
    base_radius : float or array
        [m], 0 up to the rim radius.
    depth : float or array
        [m], 0 or more.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    Examples
    --------
    >>> round(frustum_areal_draw_ratio(0.2, 0.1, 0.3), 5)
    2.62171
    """
    positive(rim_radius=rim_radius)
    not_negative(depth=depth)
    not_negative(base_radius=base_radius)
    if not holds(base_radius <= rim_radius):
        raise OutsideRangeError("base_radius", base_radius, f"0 up to the rim radius {rim_radius} m")
    slant = (depth**2 + (rim_radius - base_radius) ** 2) ** 0.5
    return ((rim_radius + base_radius) * slant + base_radius**2) / rim_radius**2


def cap_areal_draw_ratio(height: Number, rim_radius: Number) -> Number:
    """Areal draw ratio of a spherical cap, such as a bubble blown free; 2 for a hemisphere.

    ``A = 1 + (s/a)^2``

    Parameters
    ----------
    height : float or array
        [m], 0 or more.
    rim_radius : float or array
        [m], above 0.

    Returns
    -------
    ratio : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is out of range.

    Examples
    --------
    >>> cap_areal_draw_ratio(0.1, 0.1)
    2.0
    """
    positive(rim_radius=rim_radius)
    not_negative(height=height)
    return 1 + (height / rim_radius) ** 2
