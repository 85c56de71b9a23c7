"""What a formula says when it is asked outside its range."""

from math import inf

import numpy as np

Number = float | np.ndarray  # the formulas take one value or many side by side


class OutsideRangeError(ValueError):
    """An argument lies outside the range in which the formula holds.

    ``name``, ``given`` and ``accepted`` are its parts, for those who would rather act than read.
    """

    def __init__(self, name: str, given: object, accepted: str) -> None:
        super().__init__(name, given, accepted)
        self.name, self.given, self.accepted = name, given, accepted

    def __str__(self) -> str:
        return f"{self.name} must be {self.accepted}; got {self.given}"


def holds(test: bool | np.ndarray) -> bool:
    """Whether a comparison holds, for every element where it was made on arrays [-]."""
    return test if isinstance(test, bool) else bool(np.all(test))


def positive(**arguments: Number) -> None:
    """Refuse any argument that is not above 0 and finite.

    Parameters
    ----------
    **arguments : float or array
        Value by name [any unit].

    Raises
    ------
    OutsideRangeError
        One of them, or one element, is 0, below 0, infinite or not a number.

    Examples
    --------
    >>> positive(depth=0.2)
    >>> positive(depth=0.0)
    Traceback (most recent call last):
    materials.ranges.OutsideRangeError: depth must be above 0; got 0.0
    """
    for name, value in arguments.items():
        if not holds((value > 0) & (value < inf)):
            raise OutsideRangeError(name, value, "finite" if holds(value > 0) else "above 0")


def not_negative(**arguments: Number) -> None:
    """Refuse any argument that is below 0 or infinite.

    Parameters
    ----------
    **arguments : float or array
        Value by name [any unit].

    Raises
    ------
    OutsideRangeError
        One of them, or one element, is below 0, infinite or not a number.
    """
    for name, value in arguments.items():
        if not holds((value >= 0) & (value < inf)):
            raise OutsideRangeError(name, value, "finite" if holds(value >= 0) else "0 or more")


def between(low: float, high: float, **arguments: Number) -> None:
    """Refuse any argument outside two bounds, both of which are accepted.

    Parameters
    ----------
    low, high : float
        Bounds [any unit].
    **arguments : float or array
        Value by name [the same].

    Raises
    ------
    OutsideRangeError
        One of them, or one element, lies outside or is not a number.

    Examples
    --------
    >>> between(0.0, 0.5, poisson=0.7)
    Traceback (most recent call last):
    materials.ranges.OutsideRangeError: poisson must be 0 to 0.5; got 0.7
    """
    for name, value in arguments.items():
        if not holds((value >= low) & (value <= high)):
            raise OutsideRangeError(name, value, f"{low:g} to {high:g}")
