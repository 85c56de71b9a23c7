"""The arithmetic of the cost lines, for exact Decimals and for arrays of floats alike.

The estimate runs it once in Decimals, the range of error on thousands of draws at once; so both cost a part the same
way. What rounds up or looks up a tier is not here: see ``sheet`` and ``freight``, and ``varied`` for many at once.
"""

from decimal import Decimal

import numpy as np

Amount = Decimal | float | np.ndarray


def order_mass(sheets: Amount, blank_mass: Amount, billed: Amount) -> Amount:
    """Mass of an order as the mill bills it [kg]: sheets, mass of one [kg], billed over nominal [-]."""
    return sheets * blank_mass * billed


def hourly(machine: Amount, crew: Amount, labour: Amount) -> Amount:
    """What an hour of a machine with its people costs [$/h].

    >>> hourly(90.0, 1.5, 34.0)
    141.0
    """
    return machine + crew * labour


def work_cost(count: Amount, hour: Amount, per_hour: Amount) -> Amount:
    """So many shots or pieces at so many an hour [$].

    >>> work_cost(316.0, 141.0, 19.0) == 316 * 141 / 19
    True
    """
    return count * hour / per_hour


def setup_cost(press: Amount, trimmer: Amount, inspection: Amount) -> Amount:
    """Set-up of press and trimmer, and the check of the first article [$]."""
    return press + trimmer + inspection


def bench_work(seconds: Amount, efficiency: Amount, labour: Amount, hour: Amount) -> Amount:
    """Hand work of so many standard seconds [$]; ``hour`` is 3600 in the kind of number that is used [s]."""
    return seconds / efficiency * labour / hour


def regrind_credit(returned: Amount, value: Amount) -> Amount:
    """What comes back for regrind that is returned [lb] at so much a pound [$], 0 or below."""
    return -(returned * value)


def surplus_cost(beyond: Amount, price: Amount, nothing: Amount) -> Amount:
    """Sheet bought beyond the need [lb] at so much a pound [$]; ``nothing`` where the need is larger."""
    return np.maximum(beyond, nothing) * price if isinstance(beyond, np.ndarray) else max(beyond, nothing) * price


def handling_cost(share: Amount, sheet: Amount, operations: Amount, packing: Amount) -> Amount:
    """A share of bought material [$]."""
    return share * (sheet + operations + packing)


def per_release(quantity: Amount, work: Amount, material: Amount) -> Amount:
    """Work and material of one part, for all of them [$]."""
    return quantity * (work + material)


def overhead_on(cost: Amount, share: Amount) -> Amount:
    """Overhead as a share of manufacturing cost [$]."""
    return cost * share


def price_of(full_cost: Amount, margin: Amount) -> Amount:
    """The price of which ``margin`` is a share [$].

    >>> price_of(88.0, 0.12)
    100.0
    """
    return full_cost / (1 - margin)
