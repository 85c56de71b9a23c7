"""What presses the sheet onto the tool, and what must hold the platens shut against it."""

import numpy as np

from materials.arrays import as_given
from materials.constants import STANDARD_ATMOSPHERE
from materials.ranges import Number, OutsideRangeError, between, holds, not_negative, positive

PSI = 6894.757293168361  # Pa, from the exact international pound and inch and standard gravity

# Pressures used on a pressure box: common practice, no source (published working range 20 to 120 psi).
PRESSURE_WITH_TEXTURE = 120 * PSI
PRESSURE_WITHOUT_TEXTURE = 60 * PSI
# Least gauge pressure worth forming at. Box: the lower end of that range; air into a twin-sheet hollow: from memory,
# unverified.
LEAST_PRESSURE = {"pressure": 20 * PSI, "twin_sheet": 5 * PSI}

# Lock force over opening force: a lock is bought for 1.1 to 1.25 times what opens it, common practice, no source.
LEAST_LOCK_MARGIN, AMPLE_LOCK_MARGIN = 1.1, 1.25

PROCESSES = ("vacuum", "pressure", "twin_sheet")

HEAD_SPACE = (
    0.1  # m, from the clamped sheet up to the lid of a pressure box without fillers: common practice, no source
)


def forming_pressure(process: str, vacuum_pressure: Number, has_texture: bool) -> Number:
    """Pressure across the sheet while it is formed.

    Vacuum, and the air blown into a twin-sheet hollow, count as what the vacuum gives; a pressure box
    works at 60 psi, at 120 psi where it must print a texture.

    Parameters
    ----------
    process : str
        vacuum, pressure or twin_sheet [-].
    vacuum_pressure : float or array
        What the vacuum of the machine really gives [Pa], 0 to 1 atmosphere.
    has_texture : bool
        The tool carries a texture [-].

    Returns
    -------
    pressure : float or array
        [Pa], one for each vacuum given.

    Raises
    ------
    OutsideRangeError
        The process is not known, or the vacuum is out of its range.

    Examples
    --------
    >>> round(forming_pressure("pressure", 85e3, has_texture=False))
    413685
    """
    _known(process)
    between(0.0, STANDARD_ATMOSPHERE, vacuum_pressure=vacuum_pressure)
    if process != "pressure":
        return vacuum_pressure
    in_box = PRESSURE_WITH_TEXTURE if has_texture else PRESSURE_WITHOUT_TEXTURE
    return as_given(np.full(np.shape(vacuum_pressure), in_box))


def force(pressure: Number, area: Number) -> Number:
    """Force of a pressure on an area seen along the draw: ``force = pressure * area``.

    Parameters
    ----------
    pressure : float or array
        [Pa], 0 or more.
    area : float or array
        Projected area, not surface area [m2], 0 or more.

    Returns
    -------
    force : float or array
        [N]

    Raises
    ------
    OutsideRangeError
        An argument is below 0.

    Examples
    --------
    60 x 72 in at 50 psi, 216,000 lbf:

    >>> round(force(50 * PSI, 60 * 72 * 0.0254**2) / 4.4482216152605)
    216000
    """
    not_negative(pressure=pressure, area=area)
    return pressure * area


def vacuum_force(vacuum_pressure: Number, area: Number) -> Number:
    """Force with which the atmosphere presses a sheet onto a tool that is evacuated behind it.

    ``force = vacuum * area``

    Parameters
    ----------
    vacuum_pressure : float or array
        Below the atmosphere [Pa], 0 to 1 atmosphere.
    area : float or array
        Projected area [m2], 0 or more.

    Returns
    -------
    force : float or array
        [N]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    The best vacuum there is, at sea level, on 1.2 x 0.9 m [kN]:

    >>> round(vacuum_force(101325.0, 1.2 * 0.9) / 1e3, 3)
    109.431
    """
    between(0.0, STANDARD_ATMOSPHERE, vacuum_pressure=vacuum_pressure)
    return force(vacuum_pressure, area)


def membrane_pressure(pressure_gauge: Number, vacuum_pressure: Number) -> Number:
    """Difference across the sheet with air above it and a vacuum behind it: ``p = gauge pressure + vacuum``.

    It stretches the sheet; the force that opens a pressure box is that of the gauge pressure alone (`force_on_lock`).

    Parameters
    ----------
    pressure_gauge : float or array
        In the box, above the atmosphere [Pa], 0 or more.
    vacuum_pressure : float or array
        Behind the sheet, below the atmosphere [Pa], 0 to 1 atmosphere.

    Returns
    -------
    pressure : float or array
        [Pa]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    >>> membrane_pressure(400e3, 85e3)
    485000.0
    """
    not_negative(pressure_gauge=pressure_gauge)
    between(0.0, STANDARD_ATMOSPHERE, vacuum_pressure=vacuum_pressure)
    return pressure_gauge + vacuum_pressure


def force_on_lock(process: str, pressure: Number, area: Number) -> Number:
    """Force that opens the platens: air between them opens them, a vacuum under the sheet does not.

    Parameters
    ----------
    process : str
        vacuum, pressure or twin_sheet [-].
    pressure : float or array
        Gauge pressure between the platens [Pa], 0 or more.
    area : float or array
        On which the air works, seen along the draw [m2], 0 or more.

    Returns
    -------
    force : float or array
        [N]

    Raises
    ------
    OutsideRangeError
        The process is not known, or an argument is below 0.
    """
    _known(process)
    return force(pressure, area) * (0.0 if process == "vacuum" else 1.0)


def lock_margin(lock_force: Number, opening_force: Number) -> Number:
    """How many times the opening force a lock holds; without end where nothing opens it.

    Parameters
    ----------
    lock_force : float or array
        [N], 0 or more.
    opening_force : float or array
        [N], 0 or more.

    Returns
    -------
    margin : float or array
        [-]

    Raises
    ------
    OutsideRangeError
        An argument is below 0.

    Examples
    --------
    >>> lock_margin(1.2e6, 1e6), lock_margin(1.2e6, 0.0)
    (1.2, inf)
    """
    not_negative(lock_force=lock_force, opening_force=opening_force)
    opening = np.asarray(opening_force, dtype=float)
    margin = lock_force / np.where(opening > 0, opening, 1.0)
    return as_given(np.where(opening > 0, margin, np.inf))


def highest_pressure(lock_force: Number, area: Number, margin: Number = 1.0) -> Number:
    """Highest gauge pressure that a lock holds on an area: ``p = F/(margin A)``.

    Parameters
    ----------
    lock_force : float or array
        [N], 0 or more.
    area : float or array
        Inside the seal, seen along the draw [m2], above 0.
    margin : float or array, optional
        Lock force over opening force that is kept [-], 1 or more.

    Returns
    -------
    pressure : float or array
        [Pa]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Examples
    --------
    A lock of 900 kN on 1.2 x 0.9 m, at a margin of 1.2, in psi:

    >>> round(highest_pressure(900e3, 1.08, 1.2) / PSI, 1)
    100.7
    """
    not_negative(lock_force=lock_force)
    positive(area=area, margin=margin)
    if not holds(margin >= 1):
        raise OutsideRangeError("margin", margin, "1 or more")
    return lock_force / (margin * area)


def box_volume(area: Number, drawn_depth: Number, head_space: Number = HEAD_SPACE) -> Number:
    """Air in a pressure box once the sheet lies on the tool, at most: ``V = area (drawn depth + head space)``.

    Parameters
    ----------
    area : float or array
        Inside the seal [m2], 0 or more.
    drawn_depth : float or array
        [m], 0 or more.
    head_space : float or array, optional
        Above the clamped sheet [m], 0 or more.

    Returns
    -------
    volume : float or array
        As if the part were as deep over the whole area [m3]; fillers in the box reduce it.

    Raises
    ------
    OutsideRangeError
        An argument is below 0.

    Examples
    --------
    >>> round(box_volume(1.08, 0.4), 3)
    0.54
    """
    not_negative(area=area, drawn_depth=drawn_depth, head_space=head_space)
    return area * (drawn_depth + head_space)


def _known(process: str) -> None:
    if process not in PROCESSES:
        raise OutsideRangeError("process", process, ", ".join(PROCESSES))
