"""How a rule turns a measured value and a limit into a verdict. At exactly the limit a candidate fits."""

from math import isclose

import numpy as np

from materials.ranges import Number
from materials.sheet import INCH
from quoting.routing.verdict import FAILS, FITS, FITS_IF, NOT_ASSESSED, Sentences, Verdict

COMMON = "common practice, no source"
LEAST_CHANGE = 0.01 * INCH  # by no less is anybody asked to change a size: our choice
CLOSE, NOUGHT = 1e-9, 1e-12  # relative and absolute; two floats this near are the same length, force or count


def reaches(measured: float, limit: float) -> bool:
    """``measured >= limit``, forgiving the last digits of a float.

    Parameters
    ----------
    measured, limit : float
        In the same unit [any].

    Returns
    -------
    reaches : bool
        [-]

    Examples
    --------
    >>> reaches(0.1 + 0.2, 0.3), reaches(0.3, 0.1 + 0.2), reaches(0.2, 0.3)
    (True, True, False)
    """
    return measured >= limit or isclose(measured, limit, rel_tol=CLOSE, abs_tol=NOUGHT)


def each_reaches(measured: Number, limit: Number) -> np.ndarray:
    """``reaches`` for each of many at once.

    Parameters
    ----------
    measured, limit : float or array
        Finite, in the same unit [any].

    Returns
    -------
    reaches : array of bool
        [-]

    Examples
    --------
    >>> each_reaches(np.array([0.1 + 0.2, 0.3, 0.2]), np.array([0.3, 0.1 + 0.2, 0.3])).tolist()
    [True, True, False]
    """
    close = np.maximum(CLOSE * np.maximum(np.abs(measured), np.abs(limit)), NOUGHT)
    return (measured >= limit) | (np.abs(measured - limit) <= close)


def at_most(rule: str, measured: float, limit: float, unit: str, **said: object) -> Verdict:
    """Verdict that ``measured`` may not exceed ``limit``; ``said`` as in ``verdict``."""
    return verdict(rule, reaches(limit, measured), measured, limit, unit, **said)


def at_least(rule: str, measured: float, limit: float, unit: str, **said: object) -> Verdict:
    """Verdict that ``measured`` may not fall below ``limit``; ``said`` as in ``verdict``."""
    return verdict(rule, reaches(measured, limit), measured, limit, unit, **said)


def verdict(
    rule: str,
    passes: bool,
    measured: float,
    limit: float,
    unit: str,
    *,
    reason: str,
    remedy: str,
    basis: str = COMMON,
    condition: str | None = None,
    referral: str | None = None,
    **figures: tuple[float, str],
) -> Verdict:
    """Build a verdict from its comparison and its words.

    Parameters
    ----------
    rule : str
        Trade name of the rule [-].
    passes : bool
        [-]
    measured, limit : float
        In ``unit`` [any].
    unit : str
        SI unit of both [-].
    reason, remedy : str
        Sentences with {measured}, {limit} and further figures by name [-].
    basis : str
        On what the limit rests [-].
    condition : str or None
        What the quote must say if the candidate passes [-].
    referral : str or None
        Where a part that fails here belongs [-].
    **figures : tuple
        name=(value, unit) of further figures [-].

    Returns
    -------
    verdict : Verdict
        [-]
    """
    status = FAILS if not passes else FITS_IF if condition else FITS
    others = [(name, value, of) for name, (value, of) in figures.items()]
    says = Sentences(
        reason,
        remedy,
        condition if passes else None,
        (("measured", measured, unit), ("limit", limit, unit), *others),
    )
    return Verdict(rule, status, float(measured), float(limit), unit, says, basis, referral)


def either(*ways: str) -> str:
    """Ways out of a failure as one remedy; those that are empty do not help here and are left out.

    Parameters
    ----------
    *ways : str
        At least one that is not empty [-].

    Returns
    -------
    remedy : str
        [-]

    Examples
    --------
    >>> either("a wider frame"), either("a wider frame", "", "a smaller part")
    ('a wider frame', 'a wider frame, or a smaller part')
    """
    *others, last = (way for way in ways if way)
    return f"{', '.join(others)}, or {last}" if others else last


def not_assessed(rule: str, measured: float, limit: float, unit: str, reason: str, remedy: str) -> Verdict:
    """A rule that cannot be computed, with what is missing; never a pass.

    Parameters
    ----------
    rule : str
        [-]
    measured, limit : float
        What there is to show, in ``unit`` [any].
    unit : str
        SI unit [-].
    reason, remedy : str
        What is missing, and how to get it [-].

    Returns
    -------
    verdict : Verdict
        [-]
    """
    says = Sentences(reason, remedy, None, (("measured", measured, unit), ("limit", limit, unit)))
    return Verdict(rule, NOT_ASSESSED, float(measured), float(limit), unit, says, COMMON)


def plain(text: str) -> str:
    """A name from the data without the braces that mark figures in a sentence."""
    return text.replace("{", "(").replace("}", ")")
