"""How a small release of hand work takes longer for each piece: the log-linear learning curve, summed."""

from functools import lru_cache
from math import fsum, log2


def exponent(learning: float) -> float:
    """Slope of the curve: ``b = log2(learning)``, so that twice the number takes ``learning`` times as long.

    Parameters
    ----------
    learning : float
        Time of a repetition over that of half as many [-], above 0 and at most 1.

    Returns
    -------
    exponent : float
        0 or below [-].

    Raises
    ------
    ValueError
        The rate is out of range.

    References
    ----------
    cost.jsc.nasa.gov/learn.html (Wright 1936; the unit curve is Crawford's).

    Examples
    --------
    >>> round(exponent(0.8), 6)
    -0.321928
    """
    if not 0 < learning <= 1:
        raise ValueError(f"learning must be above 0 and at most 1; got {learning}")
    return log2(learning)


def summed(repetitions: int, learning: float) -> float:
    """Time of the first so many repetitions in times of the first one: ``sum of n^b``.

    Parameters
    ----------
    repetitions : int
        [count], 0 or more.
    learning : float
        [-], above 0 and at most 1.

    Returns
    -------
    sum : float
        [-]

    Examples
    --------
    >>> round(summed(5, 0.8), 3)
    3.738
    """
    slope = exponent(learning)
    return fsum(n**slope for n in range(1, repetitions + 1))


@lru_cache(maxsize=1024)  # the same few operations and releases in every candidate
def learning_factor(repetitions: int, learning: float, standard_at: int) -> float:
    """Mean time of an operation in a release over its standard time.

    ``T_n = standard (n/standard_at)^b`` up to the repetition at which the standard holds, and the standard after it: a
    standard is what a practised hand takes, so it is reached and not beaten. Each release starts anew.

    Parameters
    ----------
    repetitions : int
        Of the operation in the release [count], above 0.
    learning : float
        [-], above 0 and at most 1.
    standard_at : int
        Repetition at which the standard time holds [count], above 0.

    Returns
    -------
    factor : float
        1 or more [-].

    Raises
    ------
    ValueError
        A count is not above 0, or the rate is out of range.

    Examples
    --------
    >>> learning_factor(500, 1.0, 100), learning_factor(1, 0.5, 4)
    (1.0, 4.0)
    """
    if repetitions < 1 or standard_at < 1:
        raise ValueError(f"counts must be above 0; got {repetitions} and {standard_at}")
    if learning == 1:
        return 1.0
    learnt = min(repetitions, standard_at)
    early = summed(learnt, learning) * standard_at ** -exponent(learning)
    return (early + repetitions - learnt) / repetitions
