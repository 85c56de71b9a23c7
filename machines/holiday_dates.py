"""Public holidays of a country or part of it as plain dates. The only file that asks the library of holidays."""

from datetime import date

import holidays


def public_holidays(country: str, subdivision: str | None, years: tuple[int, ...]) -> tuple[date, ...]:
    """Days that are public holidays, a weekend's holiday on the weekday that stands for it as well.

    Parameters
    ----------
    country : str
        Two letters, as ``US`` [-].
    subdivision : str or None
        State or province, as ``OH`` [-].
    years : tuple of int
        Calendar years [-].

    Returns
    -------
    days : tuple of date
        In order [-].

    Raises
    ------
    NotImplementedError
        The library does not know the country or its part; its message names it.

    Examples
    --------
    >>> date(2026, 11, 26) in public_holidays("US", "OH", (2026,))
    True
    """
    return tuple(day for day, _ in named_holidays(country, subdivision, years))


def named_holidays(country: str, subdivision: str | None, years: tuple[int, ...]) -> tuple[tuple[date, str], ...]:
    """The same days, each with its name.

    Parameters
    ----------
    country, subdivision, years
        As in ``public_holidays`` [-].

    Returns
    -------
    days : tuple of (date, str)
        In order [-].

    Raises
    ------
    NotImplementedError
        The library does not know the country or its part; its message names it.

    Examples
    --------
    >>> named_holidays("US", "OH", (2026,))[0]
    (datetime.date(2026, 1, 1), "New Year's Day")
    """
    return tuple(sorted(holidays.country_holidays(country, subdiv=subdivision, years=years).items()))
