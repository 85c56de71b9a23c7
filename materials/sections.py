"""Bending stiffness of formed sections, per unit width: flat, grooved, and two skins apart; thin walls, by mid-lines.

A thermoformed rib is no solid bar but a fold of the sheet: a groove on one face is a rib on the other.
"""

from math import sqrt

from materials.ranges import Number, positive

PITCH_OVER_HEIGHT = 4.0  # -, of the grooves compared: each as wide as twice its depth, easy to draw; a choice
# Second moment of such grooves over wall times height squared: (1/2)(1/2) of the flats and 1/(6 x 4) of the webs.
GROOVE_SHAPE = 1 / 4 + 1 / (6 * PITCH_OVER_HEIGHT)  # -


def flat_second_moment(wall: Number) -> Number:
    """Second moment of a flat wall, per unit width.

    ``I = t^3/12``

    Parameters
    ----------
    wall : float or array
        [m], above 0.

    Returns
    -------
    second_moment : float or array
        [m3]

    Raises
    ------
    OutsideRangeError
        The wall is not above 0.

    Examples
    --------
    >>> round(flat_second_moment(0.012) * 1e9, 6)
    144.0
    """
    positive(wall=wall)
    return wall**3 / 12


def plate_stiffness(modulus: Number, wall: Number, poisson: Number) -> Number:
    """Bending stiffness of a flat plate that may not narrow as it bends.

    ``D = E t^3/(12 (1 - nu^2))``

    Parameters
    ----------
    modulus : float or array
        [Pa], above 0.
    wall : float or array
        [m], above 0.
    poisson : float or array
        Poisson's ratio [-], above 0 and below 0.5.

    Returns
    -------
    stiffness : float or array
        [N m]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.

    References
    ----------
    Plate theory, from memory, unverified.
    """
    positive(modulus=modulus, wall=wall, poisson=poisson)
    return modulus * wall**3 / (12 * (1 - poisson**2))


def grooved_second_moment(wall: Number, height: Number, pitch: Number) -> Number:
    """Second moment of a wall folded into square grooves, per unit width.

    ``I = t h^2/4 + t^3/12 + t h^3/(6 p)``: flats at half the height above and below the middle, each half the pitch
    wide, by the parallel-axis theorem; two upright webs in each pitch.

    Parameters
    ----------
    wall : float or array
        As it is after folding [m], above 0 and small beside the height.
    height : float or array
        Between the mid-lines of upper and lower flats [m], above 0.
    pitch : float or array
        From groove to groove [m], above 0.

    Returns
    -------
    second_moment : float or array
        [m3]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.
    """
    positive(wall=wall, height=height, pitch=pitch)
    return wall * height**2 / 4 + wall**3 / 12 + wall * height**3 / (6 * pitch)


def grooved_wall(flat_wall: Number) -> Number:
    """What a flat wall thins to when the same sheet must also cover the webs of the grooves.

    ``t p/(p + 2 h)`` with ``p = 4 h``: two thirds.

    Parameters
    ----------
    flat_wall : float or array
        [m], above 0.

    Returns
    -------
    wall : float or array
        [m]

    Examples
    --------
    >>> round(grooved_wall(0.003), 6)
    0.002
    """
    positive(flat_wall=flat_wall)
    return flat_wall * PITCH_OVER_HEIGHT / (PITCH_OVER_HEIGHT + 2)


def groove_height(second_moment: float, flat_wall: float) -> float:
    """Height of grooves, four times as far apart as they are high, that give a second moment from the same sheet.

    Parameters
    ----------
    second_moment : float
        Wanted, per unit width [m3], above 0.
    flat_wall : float
        The wall before folding [m], above 0.

    Returns
    -------
    height : float
        0 where the flat wall is enough [m].

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.
    """
    positive(second_moment=second_moment, flat_wall=flat_wall)
    if flat_second_moment(flat_wall) >= second_moment:
        return 0.0
    wall = grooved_wall(flat_wall)
    return sqrt((second_moment - flat_second_moment(wall)) / (GROOVE_SHAPE * wall))


def skins_second_moment(wall: Number, apart: Number) -> Number:
    """Second moment of two equal skins that bend as one, per unit width.

    ``I = t d^2/2 + t^3/6``, by the parallel-axis theorem.

    Parameters
    ----------
    wall : float or array
        Of each skin [m], above 0.
    apart : float or array
        Between their mid-lines [m], above 0.

    Returns
    -------
    second_moment : float or array
        [m3]

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.
    """
    positive(wall=wall, apart=apart)
    return wall * apart**2 / 2 + wall**3 / 6


def skin_distance(second_moment: float, wall: float) -> float:
    """How far apart two skins must be to give a second moment.

    Parameters
    ----------
    second_moment : float
        Wanted, per unit width [m3], above 0.
    wall : float
        Of each skin [m], above 0.

    Returns
    -------
    apart : float
        Between their mid-lines; one wall where skins that touch are enough [m].

    Raises
    ------
    OutsideRangeError
        An argument is not above 0.
    """
    positive(second_moment=second_moment, wall=wall)
    return max(wall, sqrt(max(0.0, 2 * (second_moment - wall**3 / 6) / wall)))
