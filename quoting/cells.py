"""Cells of a table that people open in a spreadsheet: no text of ours may turn into a formula there.

A text that begins with one of ``STARTS`` gets an apostrophe in front; reading takes it back. Numbers are written as
numbers and need none, so that a negative amount stays an amount.
"""

# OWASP Application Security Verification Standard 5.0, 1.2.10, names = + - @ tab NUL; the further ones, from memory,
# unverified: carriage return and line feed, and the full-width forms that some spreadsheets read alike.
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\0", "＝", "＋", "－", "＠")
MARK = "'"


def escaped(value: object) -> object:
    """A cell as it may be written to CSV or XLSX; only texts are changed.

    Parameters
    ----------
    value : object
        Text, number, date or nothing [-].

    Returns
    -------
    value : object
        A dangerous text with an apostrophe in front, anything else as given [-].

    Examples
    --------
    >>> escaped("=1+1"), escaped("2 %"), escaped(-4), escaped("'=x")
    ("'=1+1", '2 %', -4, "''=x")
    """
    if isinstance(value, str) and value.lstrip(MARK).startswith(STARTS):
        return MARK + value
    return value


def unescaped(text: str) -> str:
    """The text as it was before ``escaped``; one that was never escaped comes back as it is.

    Parameters
    ----------
    text : str
        A cell as read [-].

    Returns
    -------
    text : str
        [-]

    Examples
    --------
    >>> unescaped("'=1+1"), unescaped("''=x"), unescaped("'tis"), unescaped("2 %")
    ('=1+1', "'=x", "'tis", '2 %')
    """
    return text[1:] if text.startswith(MARK) and text.lstrip(MARK).startswith(STARTS) else text
