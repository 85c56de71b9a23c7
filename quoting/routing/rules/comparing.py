"""How a rule turns a measured value and a limit into a verdict. At exactly the limit a candidate fits."""

from functools import lru_cache
from math import isclose
from string import Formatter

from quoting.routing.verdict import FAILS, FITS, FITS_IF, NOT_ASSESSED, Verdict
from quoting.words import Figure, Words

COMMON = "common practice, no source"
CLOSE = 1e-9  # relative; two floats this near are the same length, force or count


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
    return measured >= limit or isclose(measured, limit, rel_tol=CLOSE, abs_tol=1e-12)


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
    known = _figures({"measured": (measured, unit), "limit": (limit, unit), **figures})
    status = FAILS if not passes else FITS_IF if condition else FITS
    return Verdict(
        rule,
        status,
        float(measured),
        float(limit),
        unit,
        _say(reason, known),
        _say(remedy, known),
        basis,
        _say(condition, known) if condition and passes else None,
        referral,
    )


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
    known = _figures({"measured": (measured, unit), "limit": (limit, unit)})
    said = _say(reason, known), _say(remedy, known)
    return Verdict(rule, NOT_ASSESSED, float(measured), float(limit), unit, *said, COMMON)


def plain(text: str) -> str:
    """A name from the data without the braces that mark figures in a sentence."""
    return text.replace("{", "(").replace("}", ")")


def _figures(known: dict[str, tuple[float, str]]) -> dict[str, Figure]:
    """Each figure once, for all the sentences of a verdict."""
    return {name: Figure(name, float(value), unit) for name, (value, unit) in known.items()}


def _say(text: str, known: dict[str, Figure]) -> Words:
    return Words(text, tuple([known[name] for name in _names(text)]))


@lru_cache(maxsize=4096)
def _names(text: str) -> tuple[str, ...]:
    """Names of the figures in a sentence, each once; the sentences of all rules are few."""
    return tuple(dict.fromkeys(name for _, name, _, _ in Formatter().parse(text) if name))
