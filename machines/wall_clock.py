"""A plant's clock on the wall: from what is typed to a moment and back, also where the clock is changed."""

from datetime import UTC, datetime, tzinfo

from machines.calendar import CalendarError

FORM = "%Y-%m-%d %H:%M"
ACCEPTED = "a day and a time on the plant's clock, such as 2026-12-05 06:00"
FIRST, SECOND = "first", "second"


def moment(field: str, text: str, zone: tzinfo) -> datetime:
    """The moment at which the plant's clock shows what is typed.

    An hour that the clock leaps over in spring is refused. One that it shows twice in autumn must be followed by
    ``first`` or ``second``.

    Parameters
    ----------
    field : str
        Name of what is typed, for the error [-].
    text : str
        As ``2026-12-05 06:00``, perhaps followed by ``first`` or ``second`` [-].
    zone : tzinfo
        Of the plant [-].

    Returns
    -------
    moment : datetime
        In UTC [-].

    Raises
    ------
    CalendarError
        It is no such text, the clock never shows it, or shows it twice and neither is said.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> moment("start", "2026-11-01 01:30 second", ZoneInfo("America/Chicago")).isoformat()
    '2026-11-01T07:30:00+00:00'
    """
    words = text.replace("T", " ").split()
    which = words.pop() if words and words[-1] in (FIRST, SECOND) else ""
    given = " ".join(words)
    try:
        wall = datetime.strptime(given, FORM)  # noqa: DTZ007 - a wall has no zone
    except ValueError as error:
        raise CalendarError(field, text, ACCEPTED) from error
    early, late = (wall.replace(tzinfo=zone, fold=fold) for fold in (0, 1))
    if early.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall:
        raise CalendarError(field, text, f"a time that the clock of {zone} shows; it leaps over this one that day")
    if early.utcoffset() == late.utcoffset():
        return early.astimezone(UTC)
    if not which:
        both = f"“{given} {FIRST}” or “{given} {SECOND}”"
        raise CalendarError(field, text, f"{both}, since the clock of {zone} is set back and shows this time twice")
    return (early if which == FIRST else late).astimezone(UTC)


def shown(at: datetime, zone: tzinfo) -> str:
    """What the plant's clock shows at a moment, as it is typed.

    Parameters
    ----------
    at : datetime
        With a time zone [-].
    zone : tzinfo
        Of the plant [-].

    Returns
    -------
    text : str
        To the minute, with ``first`` or ``second`` where the clock shows it twice [-].

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> shown(datetime(2026, 11, 1, 7, 30, tzinfo=UTC), ZoneInfo("America/Chicago"))
    '2026-11-01 01:30 second'
    """
    local = at.astimezone(zone)
    twice = local.replace(fold=0).utcoffset() != local.replace(fold=1).utcoffset()
    return local.strftime(FORM) + (f" {(FIRST, SECOND)[local.fold]}" if twice else "")
