"""Paint and shielding coats by the area that they cover: how much is sprayed, masked and dried."""

from dataclasses import dataclass
from decimal import Decimal

from quoting.catalog import CoatingRate, Rates, Sources
from quoting.costing.money import INQUIRY, SECONDS_PER_HOUR, CannotPriceError, Input, exact, given
from quoting.intake.part import Secondary

MIL = Decimal("0.0000254")  # m, exact: a thousandth of an inch, in which films are told
GALLON = Decimal("0.003785411784")  # m3, exact: US gallon of 231 cubic inches


@dataclass(frozen=True)
class CoatWork:
    """All coats of one kind on one part. ``gallons`` as bought; ``drying`` is what the drying room costs [$]."""

    seconds: Decimal
    gallons: Decimal
    material: Decimal
    drying: Decimal


NOTHING = CoatWork(Decimal(0), Decimal(0), Decimal(0), Decimal(0))


def coating_rate(operation: str, rates: Rates) -> CoatingRate:
    """What one kind of coat takes.

    Parameters
    ----------
    operation : str
        paint or emi_coat [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    rate : CoatingRate
        [-]

    Raises
    ------
    CannotPriceError
        None for it.
    """
    for rate in rates.coatings:
        if rate.operation == operation:
            return rate
    raise CannotPriceError(f"no coating rates for the operation {operation}")


def gallons_sprayed(area: Decimal, film: Decimal, solids: Decimal, transfer: Decimal) -> Decimal:
    """Coating that is bought for one coat: ``area x dry film / (solids x transfer)``.

    Parameters
    ----------
    area : Decimal
        Covered [m2], above 0.
    film : Decimal
        Thickness of the dry film [m], above 0.
    solids : Decimal
        Share of the volume that stays when it has dried [-], above 0 and at most 1.
    transfer : Decimal
        Share of what is sprayed that lands on the part [-], above 0 and at most 1.

    Returns
    -------
    volume : Decimal
        US gallons [gal].

    Examples
    --------
    >>> round(gallons_sprayed(Decimal("149.03"), Decimal("25.4e-6"), Decimal(1), Decimal(1)), 3)
    Decimal('1.000')
    """
    return area * film / (solids * transfer) / GALLON


def coat_work(each: Secondary, rates: Rates) -> CoatWork:
    """What the coats of one operation take on one part, beside its handling by the standard time of the operation.

    Masking is done once, spraying and drying for each coat. Drying takes its share of the floor of the drying room:
    ``coats x time x room rate x plan area / floor``.

    Parameters
    ----------
    each : Secondary
        The operation; its count is the number of coats [-].
    rates : Rates
        Rates in force [-].

    Returns
    -------
    work : CoatWork
        Zeros for an operation that covers no area [s, $].
    """
    if each.coat is None:
        return NOTHING
    rate, area = coating_rate(each.operation, rates), exact(each.coat.area)
    gallons = each.count * gallons_sprayed(area, exact(rate.film), rate.solids, rate.transfer)
    masked = exact(each.coat.masked_edge) * rate.mask_seconds_per_metre
    sprayed = each.count * area * rate.spray_seconds_per_square_metre
    floor = exact(each.coat.floor) / exact(rate.dry_floor)
    dried = each.count * rate.dry_time / SECONDS_PER_HOUR * rate.dry_rate * floor
    return CoatWork(masked + sprayed, gallons, gallons * rate.price_per_gallon, dried)


def coat_inputs(each: Secondary, rates: Rates, sources: Sources) -> tuple[Input, ...]:
    """What a coat's figures rest on.

    Parameters
    ----------
    each : Secondary
        The operation with what it covers [-].
    rates : Rates
        Rates in force [-].
    sources : Sources
        Where rates came from [-].

    Returns
    -------
    inputs : tuple of Input
        None for an operation that covers no area [-].
    """
    if each.coat is None:
        return ()
    rate, work = coating_rate(each.operation, rates), coat_work(each, rates)
    name, key_of = each.operation.replace("_", " "), f"coating.{each.operation}"
    told = (
        ("solids", "share of solids by volume", "-"),
        ("transfer", "share of what is sprayed that lands on the part", "-"),
        ("price_per_gallon", "price of a gallon", "$"),
        ("spray_seconds_per_square_metre", "spraying of a square metre", "s"),
        ("mask_seconds_per_metre", "masking of a metre of edge", "s"),
        ("dry_time", "drying of a coat", "s"),
        ("dry_rate", "rate of the drying room", "$/h"),
        ("dry_floor", "floor of the drying room", "m2"),
    )
    return (
        given(f"{name}, area covered", each.coat.area, "m2", INQUIRY),
        given(f"{name}, edge masked", each.coat.masked_edge, "m", INQUIRY),
        given(f"{name}, dry film of a coat, mil", exact(rate.film) / MIL, "-", sources.of(f"{key_of}.film")),
        *(given(f"{name}, {said}", getattr(rate, key), unit, sources.of(f"{key_of}.{key}"))
          for key, said, unit in told),
        given(f"{name}, gallons of all coats on a part", work.gallons, "-"),
        given(f"{name}, masking and spraying of a part", work.seconds, "s"),
        given(f"{name}, coating of a part", work.material, "$"),
        given(f"{name}, drying of a part", work.drying, "$"),
    )  # fmt: skip
