"""What the chance of winning takes as given, rate by rate in words; every value as it stands in the rate table."""

from dataclasses import dataclass
from datetime import date

from quoting.intake.planning_keys import WINNING
from quoting.intake.planning_rates import PlanningRates, bands_of

LABELS = {
    "winning.prior_rate": "Share won before anything was decided",
    "winning.prior_strength": "Decided quotes that this share counts as",
    "winning.record_strength": "Quotes that the house's share is worth against a customer's or a size's own record",
    "winning.half_life": "Odds of a quote without an answer halve in",
    "winning.size_limits": "Limits between bands of size, $, landed price of the release",
    "winning.record": "The record of won and lost goes back",
}


@dataclass(frozen=True)
class Given:
    """One rate as the page shows it."""

    key: str
    label: str
    value: str
    valid_from: date
    source: str


def given(rates: PlanningRates) -> tuple[Given, ...]:
    """Every rate of the chance that is in force, in the order in which they count."""
    by_key = {one.key: one for one in rates.texts}
    rows = [by_key[key] for key in WINNING if key in by_key]
    return tuple(Given(one.key, LABELS[one.key], one.value, one.valid_from, one.source) for one in rows)


def missing(rates: PlanningRates) -> tuple[str, ...]:
    """Rates without which no chance is worked out."""
    known = {one.key for one in rates.texts}
    return tuple(key for key in WINNING if key not in known)


def bands(rates: PlanningRates) -> tuple[str, ...]:
    """What each band of size is called, from its limits."""
    return bands_of(rates.winning.size_limits) if rates.winning else ()
