"""Weeks from Monday to Sunday, and the hours below which nothing counts: for all that lays work into weeks."""

from datetime import date, timedelta

DAYS_IN_WEEK = 7
WEEK = timedelta(days=DAYS_IN_WEEK)
HOUR_SLACK = 1e-6  # h that nobody works: what the rounding of floats leaves over or lacks


def monday(day: date) -> date:
    """The Monday of a day's week.

    Parameters
    ----------
    day : date
        [-]

    Returns
    -------
    monday : date
        [-]

    Examples
    --------
    >>> monday(date(2026, 11, 25))
    datetime.date(2026, 11, 23)
    """
    return day - timedelta(days=day.weekday())
