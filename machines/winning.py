"""How likely a quote is to be won: the house's record, the customer's, quotes of that size, and how long it has waited.

Each record is a beta-binomial shrunk toward the house rate; their odds are multiplied, and the odds halve with age.
"""

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from math import isfinite
from typing import NamedTuple


class RecordError(ValueError):
    """A record that cannot be: names the field, what was given and what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: got {given}; accepted is {accepted}")


@dataclass(frozen=True)
class Record:
    """Quotes that were decided."""

    won: int
    lost: int

    def __post_init__(self) -> None:
        if self.won < 0 or self.lost < 0:
            raise RecordError("record", f"{self.won} won, {self.lost} lost", "counts of 0 or more")

    @property
    def decided(self) -> int:
        return self.won + self.lost


@dataclass(frozen=True)
class WinningRates:
    """What the model takes as given; dated rates of the house, not literals."""

    prior_rate: float  # share won that is believed before anything was decided
    prior_strength: float  # quotes that this belief is worth
    record_strength: float  # quotes that the house rate is worth against a customer's or a size's own record
    half_life: float  # days in which the odds of a quote without an answer halve
    size_limits: tuple[float, ...]  # $ of the release, ascending, between the bands of size

    def __post_init__(self) -> None:
        if not 0 < self.prior_rate < 1:
            raise RecordError("prior_rate", self.prior_rate, "a share above 0 and below 1")
        for field in ("prior_strength", "record_strength", "half_life"):
            value = getattr(self, field)
            if not (isfinite(value) and value > 0):
                raise RecordError(field, value, "a number above 0")
        if any(low >= high for low, high in pairwise(self.size_limits)):
            raise RecordError("size_limits", self.size_limits, "amounts that ascend")


class Reason(NamedTuple):
    """One step of the basis: what was looked at, its own rate, and by what it multiplies the odds."""

    name: str  # house, customer, size, age
    record: Record | None
    value: float  # share won, shrunk; days for age
    odds_factor: float


class Chance(NamedTuple):
    """The chance with its basis: the product of the odds factors is the odds."""

    chance: float
    basis: tuple[Reason, ...]


def shrunk_rate(record: Record, toward: float, strength: float) -> float:
    """Share won, as if ``strength`` more quotes had been decided at the rate ``toward``.

    ``(won + strength x toward) / (decided + strength)``, the mean of a beta posterior.

    Parameters
    ----------
    record : Record
        [count]
    toward : float
        Rate believed before [-], above 0 and below 1.
    strength : float
        [count], above 0.

    Returns
    -------
    rate : float
        Above 0 and below 1 [-].

    Raises
    ------
    RecordError
        ``toward`` or ``strength`` is out of range.

    Examples
    --------
    >>> round(shrunk_rate(Record(2, 0), 0.3, 8), 9)
    0.44
    """
    if not (0 < toward < 1 and strength > 0):
        raise RecordError("toward, strength", (toward, strength), "a share above 0 and below 1, a number above 0")
    return (record.won + strength * toward) / (record.decided + strength)


def size_band(amount: float, limits: tuple[float, ...]) -> int:
    """Which band of size an amount falls into, from 0; an amount at a limit is in the upper one.

    Parameters
    ----------
    amount : float
        Landed price of the release [$], 0 or above.
    limits : tuple of float
        Ascending [$].

    Returns
    -------
    band : int
        0 to ``len(limits)`` [-].

    Raises
    ------
    RecordError
        The amount is negative or no number.
    """
    if not (isfinite(amount) and amount >= 0):
        raise RecordError("amount", amount, "an amount of 0 or more")
    return bisect_right(limits, amount)


def chance_of_winning(house: Record, customer: Record, size: Record, age: float, rates: WinningRates) -> Chance:
    """Chance that a quote without an answer is won.

    ``odds = odds(house) x odds(customer) / odds(house) x odds(size) / odds(house) x 2^(-age / half_life)``.
    Customer and size are taken as independent given the outcome. The last factor is exact where decisions against us
    and for us wait so that the share of the latter still open halves against the former each half-life.

    Parameters
    ----------
    house, customer, size : Record
        Decided quotes of all, of this customer, and of this band of size [count].
    age : float
        Since it was sent [days], 0 or above; 0 where it is approved and not yet sent.
    rates : WinningRates
        What is taken as given [-].

    Returns
    -------
    chance : Chance
        With its basis [-].

    Raises
    ------
    RecordError
        ``age`` is negative or no number.

    Examples
    --------
    Nothing decided yet, just sent: the belief of the house.

    >>> rates = WinningRates(0.3, 10, 8, 60, (20000, 100000))
    >>> round(chance_of_winning(Record(0, 0), Record(0, 0), Record(0, 0), 0, rates).chance, 9)
    0.3
    """
    if not (isfinite(age) and age >= 0):
        raise RecordError("age", age, "days of 0 or more")
    at_house = shrunk_rate(house, rates.prior_rate, rates.prior_strength)
    basis = [Reason("house", house, at_house, _odds(at_house))]
    for name, record in (("customer", customer), ("size", size)):
        rate = shrunk_rate(record, at_house, rates.record_strength)
        basis.append(Reason(name, record, rate, _odds(rate) / _odds(at_house)))
    basis.append(Reason("age", None, age, 2.0 ** (-age / rates.half_life)))
    odds = 1.0
    for reason in basis:
        odds *= reason.odds_factor
    return Chance(odds / (1 + odds), tuple(basis))


def _odds(rate: float) -> float:
    return rate / (1 - rate)
