"""What presses the sheet onto the tool, and what must hold the platens shut against it."""

PSI = 6894.757293168361  # Pa, from the exact international pound and inch and standard gravity

# Pressures used on a pressure box: common practice, no source (published working range 20 to 120 psi).
PRESSURE_WITH_TEXTURE = 120 * PSI
PRESSURE_WITHOUT_TEXTURE = 60 * PSI


def forming_pressure(process: str, vacuum_pressure: float, has_texture: bool) -> float:
    """Pressure across the sheet while it is formed.

    Vacuum, and the air blown into a twin-sheet hollow, count as what the vacuum gives; a pressure box
    works at 60 psi, at 120 psi where it must print a texture.

    Parameters
    ----------
    process : str
        vacuum, pressure or twin_sheet [-].
    vacuum_pressure : float
        What the vacuum of the machine really gives [Pa], 0 to 1 atmosphere.
    has_texture : bool
        The tool carries a texture [-].

    Returns
    -------
    pressure : float
        [Pa]

    Examples
    --------
    >>> round(forming_pressure("pressure", 85e3, has_texture=False))
    413685
    """
    if process != "pressure":
        return vacuum_pressure
    return PRESSURE_WITH_TEXTURE if has_texture else PRESSURE_WITHOUT_TEXTURE


def force(pressure: float, area: float) -> float:
    """Force of a pressure on an area seen along the draw: ``force = pressure * area``.

    Parameters
    ----------
    pressure : float
        [Pa], 0 or more.
    area : float
        Projected area, not surface area [m2], 0 or more.

    Returns
    -------
    force : float
        [N]

    Examples
    --------
    60 x 72 in at 50 psi, 216,000 lbf:

    >>> round(force(50 * PSI, 60 * 72 * 0.0254**2) / 4.4482216152605)
    216000
    """
    return pressure * area


def force_on_lock(process: str, pressure: float, area: float) -> float:
    """Force that opens the platens: air between them opens them, a vacuum under the sheet does not.

    Parameters
    ----------
    process : str
        vacuum, pressure or twin_sheet [-].
    pressure : float
        [Pa], 0 or more.
    area : float
        On which the air works, seen along the draw [m2].

    Returns
    -------
    force : float
        [N]
    """
    return 0.0 if process == "vacuum" else force(pressure, area)
