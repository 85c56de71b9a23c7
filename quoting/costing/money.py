"""From float to Decimal, from kilogram to pound, and how money is rounded. The only place where each is done."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from functools import lru_cache

POUND = Decimal("0.45359237")  # kg, exact: international avoirdupois pound
SECONDS_PER_HOUR = Decimal(3600)

CENT = Decimal("0.01")
LINE_STEP = Decimal("0.0001")  # per-part lines are rounded to this, once, when made
DOLLAR = Decimal("1")

COMPUTED = "computed"
PLANT_DATA = "plant data"
INQUIRY = "inquiry"


class CannotPriceError(ValueError):
    """Something without which no price can be worked out is absent: a sheet offer, a trimmer, a rate."""


@lru_cache(maxsize=16384)  # wages, masses and tiers come back for every layout
def exact(number: float) -> Decimal:
    """A float as the Decimal that its shortest text names: ``Decimal(repr(float(x)))``.

    Parameters
    ----------
    number : float
        Any finite number [-].

    Returns
    -------
    number : Decimal
        [-]

    Examples
    --------
    >>> exact(0.1) + exact(0.2)
    Decimal('0.3')
    """
    return Decimal(repr(float(number)))


def loose(amount: Decimal) -> float:
    """An exact amount as a float, for the range of error alone: no price passes here.

    Parameters
    ----------
    amount : Decimal
        Money or rate [any unit].

    Returns
    -------
    amount : float
        [as given]

    Examples
    --------
    >>> loose(Decimal("12.50"))
    12.5
    """
    return float(amount)


def pounds(mass: float | Decimal) -> Decimal:
    """A mass [kg] in pounds [lb].

    Parameters
    ----------
    mass : float or Decimal
        Mass [kg].

    Returns
    -------
    mass : Decimal
        [lb]

    Examples
    --------
    >>> pounds(0.45359237)
    Decimal('1')
    """
    return (mass if isinstance(mass, Decimal) else exact(mass)) / POUND


def to_cent(money: Decimal) -> Decimal:
    """Money rounded to the cent, half a cent up.

    Parameters
    ----------
    money : Decimal
        Money [$].

    Returns
    -------
    money : Decimal
        [$]

    Examples
    --------
    >>> to_cent(Decimal("51.765"))
    Decimal('51.77')
    """
    return money.quantize(CENT, ROUND_HALF_UP)


def up_to_cent(money: Decimal) -> Decimal:
    """Money rounded up to the next whole cent, so that a floor is really reached.

    Parameters
    ----------
    money : Decimal
        Money [$].

    Returns
    -------
    money : Decimal
        [$]

    Examples
    --------
    >>> up_to_cent(Decimal("214.2857"))
    Decimal('214.29')
    """
    return money.quantize(CENT, ROUND_CEILING)


def to_dollar(money: Decimal) -> Decimal:
    """Money rounded to the whole dollar, half a dollar up.

    Parameters
    ----------
    money : Decimal
        Money [$].

    Returns
    -------
    money : Decimal
        [$]

    Examples
    --------
    >>> to_dollar(Decimal("14500.5"))
    Decimal('14501')
    """
    return money.quantize(DOLLAR, ROUND_HALF_UP)


@dataclass(frozen=True)
class Input:
    """One input of a line: a number with its SI unit or money unit, and where it came from.

    Most lines of an answer are never opened, so the number is written when it is asked for.
    """

    name: str
    number: Decimal | float | int
    unit: str  # SI unit, '$', '$/h', '$/lb', '-'
    source: str

    # What is shown and stored of it.
    SHOWN = ("name", "value", "unit", "source")

    @property
    def value(self) -> str:
        """Exact decimal text."""
        number = self.number if isinstance(self.number, Decimal) else exact(self.number)
        return format(number.normalize(), "f") if number else "0"


def given(name: str, value: Decimal | float | int, unit: str, source: str = COMPUTED) -> Input:
    """One input of a line.

    Parameters
    ----------
    name : str
        Name of the input [-].
    value : Decimal, float or int
        Its value [unit].
    unit : str
        SI or money unit [-].
    source : str
        Where the value came from [-].

    Returns
    -------
    record : Input
        [-]

    Examples
    --------
    >>> given("crew", 1.50, "people", "plant data").value
    '1.5'
    """
    return Input(name, value, unit, source)
