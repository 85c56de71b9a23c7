"""The rates that planning rests on, in force on one day: from dated rows of key, value, first day and source."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from machines.weeks import DAYS_IN_WEEK
from machines.winning import WinningRates
from quoting.intake.catalog_values import Problems, RefusedError, read_value
from quoting.intake.planning_keys import OVERTIME_HOURS, OVERTIME_PREMIUM, PREMIUM_OF_PLANT, WINNING, planning_kind


@dataclass(frozen=True)
class RateText:
    """One rate as it is written down."""

    key: str
    value: str
    valid_from: date
    source: str


@dataclass(frozen=True)
class PlanningRates:
    """What no table says is None: then no chance is worked out, and nothing is proposed for overtime."""

    winning: WinningRates | None = None
    record: float | None = None  # days that the record of won and lost goes back
    overtime_hours: float | None = None  # h a machine a week
    premium: Decimal | None = None  # of the labour rate, of an hour of overtime; of the house
    premiums: Mapping[str, Decimal] = field(default_factory=dict)  # of plants with one of their own
    texts: tuple[RateText, ...] = ()

    def premium_of(self, plant: str) -> Decimal | None:
        """A plant's own premium, otherwise that of the house."""
        return self.premiums.get(plant, self.premium)

    def text_of(self, *keys: str) -> RateText | None:
        """The row of the first of these keys that has one."""
        by_key = {one.key: one for one in self.texts}
        return next((by_key[key] for key in keys if key in by_key), None)


def read_planning_rates(rows: Iterable[tuple[str, str, date, str]], on: date) -> PlanningRates:
    """The planning rates in force on a day: of several rows for one key the newest that has begun.

    Parameters
    ----------
    rows : iterable of (str, str, date, str)
        Key, value, first day and source; of other rates too, which are passed over [-].
    on : date
        [-]

    Returns
    -------
    rates : PlanningRates
        Days, hours, shares [-].

    Raises
    ------
    InputErrors
        Naming every value that is none.
    """
    begun = sorted((RateText(*row) for row in rows if planning_kind(row[0])), key=lambda one: one.valid_from)
    now = {one.key: one for one in begun if one.valid_from <= on}
    problems, values = Problems(), {}
    for key, one in now.items():
        try:
            values[key] = read_value(one.value, planning_kind(key))
        except RefusedError as refused:
            problems.add(f"rates.{key}", one.value, refused.accepted)
    problems.raise_if_any()
    found = ((PREMIUM_OF_PLANT.fullmatch(key), value) for key, value in values.items())
    whole = all(key in values for key in WINNING)
    return PlanningRates(
        _winning(values) if whole else None, _days(values["winning.record"]) if whole else None,
        values.get(OVERTIME_HOURS), values.get(OVERTIME_PREMIUM),
        {match[1]: value for match, value in found if match}, tuple(now[key] for key in sorted(now)),
    )  # fmt: skip


def _winning(values: Mapping) -> WinningRates:
    return WinningRates(
        values["winning.prior_rate"], float(values["winning.prior_strength"]),
        float(values["winning.record_strength"]), _days(values["winning.half_life"]),
        tuple(float(each) for each in values["winning.size_limits"]),
    )  # fmt: skip


def _days(weeks: float) -> float:
    return round(DAYS_IN_WEEK * weeks, 9)  # 60 days are read as 8.571... weeks


def bands_of(limits: tuple[float, ...]) -> tuple[str, ...]:
    """What each band of size is called, the lowest first.

    Parameters
    ----------
    limits : tuple of float
        Ascending [$].

    Returns
    -------
    words : tuple of str
        One more than limits [-].

    Examples
    --------
    >>> bands_of((20000.0, 100000.0))
    ('below $20,000', '$20,000 to $100,000', '$100,000 and above')
    >>> bands_of(())
    ('any size',)
    """
    told = [f"${each:,.2f}".removesuffix(".00") for each in limits]
    if not told:
        return ("any size",)
    between = (f"{low} to {high}" for low, high in zip(told[:-1], told[1:], strict=True))
    return (f"below {told[0]}", *between, f"{told[-1]} and above")
