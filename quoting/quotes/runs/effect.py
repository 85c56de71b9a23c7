"""What correction factors would do to one open quote: its choice under both, from what was kept beside its answer."""

from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from quoting.catalog import Catalog, Corrections
from quoting.costing.money import CannotPriceError
from quoting.quotes import selectors
from quoting.quotes.bases import basis_on, physics_of
from quoting.quotes.models import Inquiry
from quoting.quotes.repricing_work import open_book
from quoting.repricing.basis import Basis, StaleBasisError, opened
from quoting.repricing.choice import House, choice


@dataclass(frozen=True)
class Release:
    """The largest release of the choice: press hours with set-up [h], landed price of a part [$], weeks to our dock."""

    machine: str
    process: str
    quantity: int
    press_hours: float
    landed: Decimal
    weeks: float


@dataclass(frozen=True)
class Effect:
    """One open quote answered with the factors that stand and with those that are proposed."""

    inquiry: Inquiry
    now: Release
    then: Release


def effect(now: Corrections | None, then: Corrections | None, on: date) -> Effect | None:
    """On the newest open quote whose kept candidates still hold; None where there is none."""
    inquiry = open_book().select_related("basis").filter(basis__isnull=False).defer("snapshot", "front").last()
    if inquiry is None:
        return None
    catalog = selectors.catalog(on)
    if (inquiry.basis.answer, inquiry.basis.physics) != (inquiry.data_digest, physics_of(catalog, on)):
        return None
    try:
        basis = basis_on(inquiry.basis.candidates, on)
        before, after = (_release(basis, replace(catalog, corrections=one), on) for one in (now, then))
    except (StaleBasisError, CannotPriceError):
        return None  # the page says that no open quote can be shown; re-pricing tells why for each
    return Effect(inquiry, before, after) if before and after else None


def _release(basis: Basis, catalog: Catalog, on: date) -> Release | None:
    house = House.of(catalog, on)
    chosen = choice(opened(basis, house.known), basis.request, house)
    if chosen is None:
        return None
    candidate, last = chosen.judged.planned.candidate, chosen.cost.breaks[-1]
    return Release(
        candidate.machine.code, candidate.process, last.quantity, last.press_hours, last.landed_unit_price,
        last.lead_time_weeks,
    )  # fmt: skip
