"""How a document writes what the snapshot holds: money, days, sizes, and text that came from outside."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal
from unicodedata import category

from materials.sheet import INCH
from quoting.units import show, spoken_plain

LONGEST_TEXT = 500  # characters of one text field that a document prints
JOINERS = "\u200c\u200d"  # invisible, but some scripts are spelled with them


def legible(value: object, longest: int = LONGEST_TEXT) -> object:
    """The same plain tree with every text made fit to print: one line, no control or direction marks, not endless.

    Direction marks are taken out because one of them in a name could turn the figures that follow it around.

    Parameters
    ----------
    value : object
        Plain tree of dict, list, str and numbers [-].
    longest : int
        Characters after which a text is cut with an ellipsis [count].

    Returns
    -------
    tree : object
        [-]

    Examples
    --------
    >>> legible({"name": "two\\nlines \\u202eback"})
    {'name': 'two lines back'}
    """
    if isinstance(value, Mapping):
        return {key: legible(inner, longest) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [legible(inner, longest) for inner in value]
    return _one_line(value, longest) if isinstance(value, str) else value


def _one_line(text: str, longest: int) -> str:
    begun = text[: 4 * longest]
    plain = begun if begun.isascii() and begun.isprintable() else "".join(_printable(letter) for letter in begun)
    seen = " ".join(plain.split())
    return seen if len(seen) <= longest else seen[: longest - 1] + "…"


def _printable(letter: str) -> str:
    """Line breaks become spaces; control, format, private and half characters vanish."""
    if letter.isspace():
        return " "
    return "" if category(letter).startswith("C") and letter not in JOINERS else letter


def money(amount: str | Decimal) -> str:
    """US dollars with two decimals, or more where the amount has more.

    Examples
    --------
    >>> money("14500"), money("56.4500"), money("0.0123")
    ('$14,500.00', '$56.45', '$0.0123')
    """
    exact = Decimal(amount).normalize()
    decimals = max(2, -exact.as_tuple().exponent)
    return f"${exact:,.{decimals}f}"


def day(on: date | str) -> str:
    """A day as a US reader writes it.

    Examples
    --------
    >>> day("2026-11-05")
    'November 5, 2026'
    """
    known = date.fromisoformat(on) if isinstance(on, str) else on
    return f"{known:%B} {known.day}, {known.year}"


def length(value: float) -> str:
    """One length as the screens show it, a road in miles.

    Examples
    --------
    >>> length(0.0047498), length(1_000_000.0)
    ('0.187 in (4.75 mm)', '621 miles (1000 km)')
    """
    return show(value, "m", "both")


def size(*values: float) -> str:
    """Sides of a thing, inches first, to the hundredth because blanks are cut to the quarter inch.

    Examples
    --------
    >>> size(1.016, 0.7112)
    '40.00 × 28.00 in (1016 × 711 mm)'
    """
    inches = " × ".join(f"{value / INCH:.2f}" for value in values)
    millimetres = " × ".join(f"{value * 1000:.0f}" for value in values)
    return f"{inches} in ({millimetres} mm)"


def count(value: int) -> str:
    """A whole number with thousands apart."""
    return f"{value:,}"


def figure(value: float, unit: str) -> str:
    """Any SI figure in US units with SI in brackets."""
    return show(value, unit, "both")


def weeks(value: float) -> str:
    """Weeks of lead time."""
    return show(value, "weeks")


def sentence(said: Mapping | str) -> str:
    """Stored words as a sentence: figures filled, first letter large, full stop at the end.

    Examples
    --------
    >>> sentence("the sheet is thin")
    'The sheet is thin.'
    """
    text = phrase(said)
    if not text:
        return ""
    return text[0].upper() + text[1:] + ("" if text[-1] in ".!?…" else ".")


def phrase(said: Mapping | str) -> str:
    """Stored words with their figures filled, as they stand."""
    return said if isinstance(said, str) else spoken_plain(said, "both")
