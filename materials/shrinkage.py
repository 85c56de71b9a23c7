"""How much smaller a part is than its tool, and which parts must be held while they shrink."""

from materials.polymer import Polymer
from materials.ranges import Number, OutsideRangeError, holds, positive


def shrink_allowance(shrinkage: Number, side: Number) -> Number:
    """By how much the tool is cut larger than the part along one side.

    ``allowance = shrinkage * side``

    Parameters
    ----------
    shrinkage : float or array
        Linear, from tool to cold part [-], 0 to below 1.
    side : float or array
        Of the part [m], above 0.

    Returns
    -------
    allowance : float or array
        [m]

    Raises
    ------
    OutsideRangeError
        An argument is out of its range.

    Notes
    -----
    Shrinkage measured on the tool instead of the part gives ``side s/(1 - s)``, which differs by the share ``s``:
    far less than shrinkage itself is known. A male tool holds the part while it cools, which then shrinks less.

    Examples
    --------
    2.5 % over 1.2 m:

    >>> round(shrink_allowance(0.025, 1.2), 6)
    0.03
    """
    if not (holds(shrinkage >= 0) and holds(shrinkage < 1)):
        raise OutsideRangeError("shrinkage", shrinkage, "0 to below 1")
    positive(side=side)
    return shrinkage * side


def needs_cooling_fixture(polymer: Polymer) -> bool:
    """Whether a part goes on shrinking after it has left the tool, so that a fixture holds it to its size.

    Semi-crystalline polymers, polyolefins above all, do; amorphous ones are done when they set: common practice,
    no source.

    Parameters
    ----------
    polymer : Polymer
        [SI]

    Returns
    -------
    needed : bool
        [-]
    """
    return polymer.semicrystalline
