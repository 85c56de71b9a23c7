"""Money as it comes back from a database column."""

from decimal import Decimal

CENT = Decimal("0.01")


def trimmed(amount: Decimal) -> Decimal:
    """The same amount without the column's idle zeros, but never with fewer than two decimals.

    Parameters
    ----------
    amount : Decimal
        Money [$].

    Returns
    -------
    amount : Decimal
        Equal to the given one [$].

    Examples
    --------
    >>> trimmed(Decimal("2.5500")), trimmed(Decimal("0.1250")), trimmed(Decimal("90.0000"))
    (Decimal('2.55'), Decimal('0.125'), Decimal('90.00'))
    """
    shortest = amount.normalize()
    return shortest.quantize(CENT) if -shortest.as_tuple().exponent < 2 else shortest
